"""T1 and T2: one PSF, of a disc and of a lobed, burred outline."""

from functools import partial

import finufft
import numpy as np
import scipy.signal
import scipy.special

WAVELENGTH, DISTANCE, DIAMETER = 550e-6, 80.0, 0.30  # mm
SAMPLES = 512
AIRY_RADIUS = scipy.special.jn_zeros(1, 1)[0] / np.pi * WAVELENGTH * DISTANCE / DIAMETER
PITCH = 12 * AIRY_RADIUS / SAMPLES
FILM = (np.arange(SAMPLES) - SAMPLES // 2) * PITCH
LZ = WAVELENGTH * DISTANCE


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


def outline_nodes(radial, along):
    """A fan of triangles from the origin, one an edge: Gauss out along s and across the edge q."""
    vx, vy = lobed_outline()
    dx, dy = np.roll(vx, -1) - vx, np.roll(vy, -1) - vy
    s, ws = gauss(radial, 0, 1)
    q, wq = gauss(along, 0, 1)
    rim_x, rim_y = (vx[:, None] + dx[:, None] * q).ravel(), (vy[:, None] + dy[:, None] * q).ravel()
    cross = ((vx * dy - vy * dx)[:, None] * wq).ravel()
    return np.outer(s, rim_x).ravel(), np.outer(s, rim_y).ravel(), np.outer(ws * s, cross).ravel()


def outline_area():
    vx, vy = lobed_outline()
    return np.sum(vx * np.roll(vy, -1) - vy * np.roll(vx, -1)) / 2


def polygon_nodes(radial=18, along=1):
    x, y, weights = outline_nodes(radial, along)
    return x, y, weights * np.exp(1j * np.pi * (x * x + y * y) / LZ)


def energy_density(field, area):
    """|U|^2 / (lambda^2 z^2 A), per mm^2: adds up to 1 over the film."""
    return (field.real**2 + field.imag**2) / (LZ**2 * area)


def nufft(nodes, eps):
    """Non-uniform FFT straight to the 512 x 512 film."""
    x, y, strengths = nodes
    step = 2 * np.pi * PITCH / LZ
    return finufft.nufft2d1(x * step, y * step, strengths, (SAMPLES, SAMPLES), eps=eps, isign=-1, nthreads=1)


def chebyshev(count, edge, targets):
    """Chebyshev points between -edge and edge, and the matrix from values there to values at the targets."""
    points = edge * np.cos(np.pi * (np.arange(count) + 0.5) / count)
    vander = np.polynomial.chebyshev.chebvander
    return points, vander(targets / edge, count - 1) @ np.linalg.inv(vander(points / edge, count - 1))


def through_chebyshev(nodes, count, eps=None):
    """The field is smooth: to a few points by NUFFT (no eps: a matrix product), then two products to the film."""
    x, y, strengths = nodes
    points, spread = chebyshev(count, -FILM[0], FILM)
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
    area = outline_area()
    truth = energy_density(nufft(polygon_nodes(60, 6), 1e-14), area)
    for route, job in psf_routes(polygon_nodes, partial(polygon_nodes, 22, 2), area):
        yield route, job, truth
