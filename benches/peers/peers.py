"""pip install -r requirements.txt; python peers.py [T1 T2 T4] > peers.json   (Linux, half a minute, 2 GB).

How long general-purpose numerical libraries take for three of the project's tasks, on one thread:

    T1  512 x 512 PSF of a disc (0.30 mm, 550 nm, 80 mm) over +-6 Airy radii
    T2  the same for a lobed, burred outline of 1,440 vertices (a polygon)
    T4  4000 x 3000 RGB float32 picture convolved with three 257 x 257 PSFs, mirrored at the borders

Prints one JSON document: task, route, best and median seconds, largest error relative to the peak, and
how far the first run raised the process's memory. Only ratios of one run on one machine mean anything.
A route's time holds everything from the outline (or picture and PSFs) to the result, but not FFTW's planning.
"""

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"
# Set on some machines for old builds of OpenBLAS; they slow a current numpy.
for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)

import json
import platform
import statistics
import sys
import time
from functools import partial
from pathlib import Path

import cv2
import finufft
import numpy as np
import pyfftw
import scipy.fft
import scipy.signal
import scipy.special
import threadpoolctl

cv2.setNumThreads(1)

WAVELENGTH, DISTANCE, DIAMETER = 550e-6, 80.0, 0.30  # mm
SAMPLES = 512
AIRY_RADIUS = scipy.special.jn_zeros(1, 1)[0] / np.pi * WAVELENGTH * DISTANCE / DIAMETER
PITCH = 12 * AIRY_RADIUS / SAMPLES
FILM = (np.arange(SAMPLES) - SAMPLES // 2) * PITCH
LZ = WAVELENGTH * DISTANCE


# ---- T1 and T2: from quadrature nodes over the hole to the field ----


def gauss(count, low, high):
    x, w = np.polynomial.legendre.leggauss(count)
    return (low + high) / 2 + (high - low) / 2 * x, (high - low) / 2 * w


def disc_nodes(radial=22, around=96):
    """Nodes (x, y) and weights, with Fresnel's phase in them: Gauss in r, trapezoid around."""
    r, w = gauss(radial, 0, DIAMETER / 2)
    phi = np.arange(around) * (2 * np.pi / around)
    strengths = w * r * np.exp(1j * np.pi * r**2 / LZ) * (2 * np.pi / around)
    x, y = np.outer(r, np.cos(phi)), np.outer(r, np.sin(phi))
    return x.ravel(), y.ravel(), np.repeat(strengths, around)


def lobed_outline():
    phi = np.arange(1440) * (2 * np.pi / 1440)
    r = 0.15 * (1 + 0.05 * np.cos(5 * phi) + 0.03 * np.sin(2 * phi))
    r -= 0.06 * np.maximum(0, 1 - np.abs(phi - 0.7) / 0.12)
    return r * np.cos(phi), r * np.sin(phi)


def polygon_nodes(radial=18, along=1):
    """A fan of triangles from the origin, one an edge: Gauss out along s and across the edge q."""
    vx, vy = lobed_outline()
    dx, dy = np.roll(vx, -1) - vx, np.roll(vy, -1) - vy
    s, ws = gauss(radial, 0, 1)
    q, wq = gauss(along, 0, 1)
    rim_x, rim_y = (vx[:, None] + dx[:, None] * q).ravel(), (vy[:, None] + dy[:, None] * q).ravel()
    cross = ((vx * dy - vy * dx)[:, None] * wq).ravel()
    x, y = np.outer(s, rim_x), np.outer(s, rim_y)
    strengths = np.outer(ws * s, cross) * np.exp(1j * np.pi * (x * x + y * y) / LZ)
    return x.ravel(), y.ravel(), strengths.ravel()


def energy_density(field, area):
    """|U|^2 / (lambda^2 z^2 A), per mm^2: adds up to 1 over the film."""
    return (field.real**2 + field.imag**2) / (LZ**2 * area)


def nufft(nodes, eps):
    """Non-uniform FFT straight to the 512 x 512 film."""
    x, y, strengths = nodes
    step = 2 * np.pi * PITCH / LZ
    return finufft.nufft2d1(x * step, y * step, strengths, (SAMPLES, SAMPLES), eps=eps, isign=-1, nthreads=1)


def chebyshev(count):
    """Chebyshev points over the film and the matrix from values there to the 512 samples."""
    edge = -FILM[0]
    points = edge * np.cos(np.pi * (np.arange(count) + 0.5) / count)
    vander = np.polynomial.chebyshev.chebvander
    return points, vander(FILM / edge, count - 1) @ np.linalg.inv(vander(points / edge, count - 1))


def through_chebyshev(nodes, count, eps=None):
    """The field is smooth: to a few points by NUFFT (no eps: a matrix product), then two products to the film."""
    x, y, strengths = nodes
    points, spread = chebyshev(count)
    turn = (2 * np.pi / LZ) * points
    if eps:
        targets = np.repeat(turn, count), np.tile(turn, count)
        few = finufft.nufft2d3(x, y, strengths, *targets, eps=eps, isign=-1, nthreads=1).reshape(count, count)
    else:
        few = (np.exp(-1j * np.outer(turn, x)) * strengths) @ np.exp(-1j * np.outer(turn, y)).T
    # spread @ few @ spread.T, real times complex by parts.
    half = spread @ np.concatenate([few.real, few.imag], axis=1)
    field = np.empty((SAMPLES, SAMPLES), complex)
    field.real, field.imag = half[:, :count] @ spread.T, half[:, count:] @ spread.T
    return field


def zoomed_fft(cells):
    """A grey grid over the disc, each cell open by the share it covers, and SciPy's zoom FFT along each axis."""
    side = DIAMETER / cells
    centre = (np.arange(cells) - (cells - 1) / 2) * side
    r = np.hypot(centre[:, None], centre)
    across = side * np.maximum(np.abs(centre[:, None]), np.abs(centre)) / r
    cover = np.clip((DIAMETER / 2 - r) / across + 0.5, 0, 1)
    pupil = cover * np.exp(1j * np.pi * r**2 / LZ) * side**2
    ends = [FILM[0] * side / LZ, -FILM[0] * side / LZ]
    for axis in (1, 0):
        pupil = scipy.signal.zoom_fft(pupil, ends, m=SAMPLES, fs=1, axis=axis)
    return pupil


def disc_by_lommel():
    """Born & Wolf 8.8.1 (number from memory): U series outside the shadow, V series inside."""
    a = DIAMETER / 2
    u = 2 * np.pi * a * a / LZ
    w = 2 * np.pi * a / LZ * np.hypot(FILM[:, None], FILM)
    outer = np.maximum(w, u)
    u1, u2, v0, v1 = np.zeros((4, *w.shape))
    for s in range(24):
        sign = (-1) ** s
        u1 += sign * (u / outer) ** (1 + 2 * s) * scipy.special.jv(1 + 2 * s, w)
        u2 += sign * (u / outer) ** (2 + 2 * s) * scipy.special.jv(2 + 2 * s, w)
        inner = np.minimum(w, u) / u
        v0 += sign * inner ** (2 * s) * scipy.special.jv(2 * s, w)
        v1 += sign * inner ** (1 + 2 * s) * scipy.special.jv(1 + 2 * s, w)
    turn = (u + w * w / u) / 2
    inside = 1 + v0**2 + v1**2 - 2 * v0 * np.cos(turn) - 2 * v1 * np.sin(turn)
    return (2 / u) ** 2 * np.where(w >= u, u1**2 + u2**2, inside) * (np.pi * a * a / LZ**2)


def psf_routes(nodes, fine_nodes, area):
    """Ways from the outline to the energy density on the film; the nodes are made in each."""
    yield "finufft type 1, eps 1e-6", lambda: energy_density(nufft(nodes(), 1e-6), area)
    yield "finufft type 1, eps 1e-9, finer nodes", lambda: energy_density(nufft(fine_nodes(), 1e-9), area)
    yield "finufft type 3 to 38 x 38, numpy", lambda: energy_density(through_chebyshev(nodes(), 38, 1e-7), area)
    yield "numpy through 38 x 38 points", lambda: energy_density(through_chebyshev(nodes(), 38), area)


def task_disc():
    area, truth = np.pi * DIAMETER**2 / 4, disc_by_lommel()
    for route, job in psf_routes(disc_nodes, partial(disc_nodes, 26, 112), area):
        yield route, job, truth
    yield "scipy zoom_fft, grey grid of 256", lambda: energy_density(zoomed_fft(256), area), truth


def task_outline():
    vx, vy = lobed_outline()
    area = np.sum(vx * np.roll(vy, -1) - vy * np.roll(vx, -1)) / 2
    truth = energy_density(nufft(polygon_nodes(60, 6), 1e-14), area)
    for route, job in psf_routes(polygon_nodes, partial(polygon_nodes, 22, 2), area):
        yield route, job, truth


# ---- T4: a picture through three PSFs ----

HEIGHT, WIDTH, KERNEL = 3000, 4000, 257
EDGE = KERNEL // 2


def picture_and_kernels():
    """A picture of noise and bars, plane after plane (which favours these libraries), and off-centre PSFs."""
    picture = np.random.default_rng(1891).random((3, HEIGHT, WIDTH), dtype=np.float32)
    picture[:, 500:2500, 1000:3000:200] += 1
    place = np.arange(KERNEL) - EDGE
    kernels = []
    for scale in (0.11, 0.13, 0.155):
        w = scale * np.hypot(place[:, None] - 3.3, place + 7.1)
        psf = (2 * scipy.special.j1(w) / w) ** 2
        kernels.append(psf / psf.sum())
    return picture, np.array(kernels)


def mirrored(plane):
    return cv2.copyMakeBorder(plane, EDGE, EDGE, EDGE, EDGE, cv2.BORDER_REFLECT_101)


def whole_fft(picture, kernels):
    """SciPy, one transform a plane."""
    result = np.empty(picture.shape, picture.dtype)
    size = [scipy.fft.next_fast_len(n + 2 * EDGE, real=True) for n in picture.shape[1:]]
    for out, plane, kernel in zip(result, picture, kernels.astype(picture.dtype)):
        spectrum = scipy.fft.rfft2(mirrored(plane), size, workers=1)
        spectrum *= scipy.fft.rfft2(kernel, size, workers=1)
        full = scipy.fft.irfft2(spectrum, size, workers=1, overwrite_x=True)
        out[:] = full[2 * EDGE : 2 * EDGE + HEIGHT, 2 * EDGE : 2 * EDGE + WIDTH]
    return result


class TiledFftw:
    """Overlap-save in float32 tiles small enough to stay near the processor."""

    def __init__(self, rows, columns):
        self.real = pyfftw.zeros_aligned((rows, columns), "float32")
        self.spectrum = pyfftw.zeros_aligned((rows, columns // 2 + 1), "complex64")
        options = {"axes": (0, 1), "flags": ("FFTW_MEASURE", "FFTW_DESTROY_INPUT"), "threads": 1}
        self.forward = pyfftw.FFTW(self.real, self.spectrum, **options)
        self.back = pyfftw.FFTW(self.spectrum, self.real, direction="FFTW_BACKWARD", **options)

    def __call__(self, picture, kernels):
        result = np.empty_like(picture)
        rows, columns = self.real.shape
        for out, plane, kernel in zip(result, picture, kernels):
            self.real[:] = 0
            self.real[:KERNEL, :KERNEL] = kernel
            self.forward.execute()
            transfer = self.spectrum / np.float32(rows * columns)
            source = mirrored(plane)
            for top in range(0, HEIGHT, rows - 2 * EDGE):
                for left in range(0, WIDTH, columns - 2 * EDGE):
                    tile = source[top : top + rows, left : left + columns]
                    if tile.shape != self.real.shape:
                        self.real[:] = 0
                    self.real[: tile.shape[0], : tile.shape[1]] = tile
                    self.forward.execute()
                    np.multiply(self.spectrum, transfer, out=self.spectrum)
                    self.back.execute()
                    target = out[top : top + rows - 2 * EDGE, left : left + columns - 2 * EDGE]
                    target[:] = self.real[2 * EDGE :, 2 * EDGE :][: target.shape[0], : target.shape[1]]
        return result


def opencv(picture, kernels):
    """filter2D correlates, so the kernel is turned; it goes through tiled DFTs of its own at this size."""
    result = np.empty_like(picture)
    for out, plane, kernel in zip(result, picture, kernels.astype(np.float32)):
        cv2.filter2D(plane, -1, kernel[::-1, ::-1], dst=out, borderType=cv2.BORDER_REFLECT_101)
    return result


def task_picture():
    picture, kernels = picture_and_kernels()
    truth = whole_fft(picture.astype(float), kernels)
    yield "pyfftw tiles of 1024 x 1280", partial(TiledFftw(1024, 1280), picture, kernels), truth
    yield "scipy whole picture", partial(whole_fft, picture, kernels), truth
    yield "opencv filter2D", partial(opencv, picture, kernels), truth


# ---- timing ----


def status_kib(field):
    return int(Path("/proc/self/status").read_text().split(field + ":")[1].split()[0])


def first_run(job):
    """The result, and how many MB the run added at its highest (Linux)."""
    Path("/proc/self/clear_refs").write_text("5")
    before, result = status_kib("VmRSS"), job()
    return result, round((status_kib("VmHWM") - before) / 1024, 1)


def measure(task, route, job, truth):
    result, added_mb = first_run(job)
    error, seconds = float(np.max(np.abs(result - truth)) / np.max(truth)), []
    del result
    while len(seconds) < 4 or (sum(seconds) < 1.5 and len(seconds) < 60):
        start = time.perf_counter()
        job()
        seconds.append(time.perf_counter() - start)
    times = {"seconds": round(min(seconds), 5), "median": round(statistics.median(seconds), 5), "runs": len(seconds)}
    return {"task": task, "route": route, **times, "error": float(f"{error:.2g}"), "added_mb": added_mb}


def main():
    tasks = {"T1": task_disc, "T2": task_outline, "T4": task_picture}
    results = [measure(name, *case) for name in sys.argv[1:] or tasks for case in tasks[name]()]
    versions = {library.__name__: library.__version__ for library in (np, scipy, finufft, pyfftw, cv2)}
    kernels = {pool["architecture"] for pool in threadpoolctl.threadpool_info() if "architecture" in pool}
    document = {"python": platform.python_version(), **versions, "openblas": sorted(kernels), "results": results}
    print(json.dumps(document, indent=1))


if __name__ == "__main__":
    main()
