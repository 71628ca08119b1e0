"""T3: 775 PSFs of one outline: 31 wavelengths by 25 distances, on one film grid.

With a distant subject a field depends on wavelength x distance alone, and smoothly. The last routes use
that: they would not do for a near subject. The others work out every member.
"""

from functools import partial

import finufft
import numpy as np

from psf_tasks import AIRY_RADIUS, chebyshev, outline_area, outline_nodes

SAMPLES = 256
PITCH = 12 * AIRY_RADIUS / SAMPLES
FILM = (np.arange(SAMPLES) - SAMPLES // 2) * PITCH
WAVELENGTHS = np.arange(400, 701, 10) * 1e-6  # mm
DISTANCES = np.linspace(70, 150, 25)
LZS = np.outer(WAVELENGTHS, DISTANCES).ravel()
CHECKED = [*range(0, LZS.size, 37), LZS.size - 1]
AREA = outline_area()
EDGE = 0.158  # half the side of a square around the outline, mm


def stack(make_member, kind=float):
    """Member after member into one array, of fresh memory each run, as for a caller.

    On a virtual machine that memory was seen to cost routes of seconds up to one second, the quick ones 0.1 s.
    """
    psfs, member = np.empty((LZS.size, SAMPLES, SAMPLES), kind), make_member()
    for psf, lz in zip(psfs, LZS):
        member(lz, psf)
    return psfs.reshape(WAVELENGTHS.size, DISTANCES.size, SAMPLES, SAMPLES)


def tensor(count, radial, along):
    """count x count Chebyshev points over the square and their weights: integrals over the outline."""
    x, y, weights = outline_nodes(radial, along)
    points, to_x = chebyshev(count, EDGE, x)
    return points, (to_x.T * weights) @ chebyshev(count, EDGE, y)[1]


def tensor_nodes(*size):
    points, weights = tensor(*size)
    x, y = np.meshgrid(points, points, indexing="ij")
    return x.ravel(), y.ravel(), weights.ravel()


def by_nufft(nodes, eps, kind="complex128", **options):
    """One plan; each member sets its points and strengths."""
    x, y, weights = nodes()
    strengths, field = np.empty(x.size, kind), np.empty((SAMPLES, SAMPLES), kind)
    plan = finufft.Plan(1, field.shape, eps=eps, isign=-1, dtype=kind, nthreads=1, **options)
    real = strengths.real.dtype
    weights, chirp, x, y = (a.astype(real) for a in (weights, np.pi * (x * x + y * y), x, y))

    def member(lz, psf):
        step = real.type(2 * np.pi * PITCH / lz)
        plan.setpts(x * step, y * step)
        phase = chirp * real.type(1 / lz)
        strengths.real, strengths.imag = weights * np.cos(phase), weights * np.sin(phase)
        plan.execute(strengths, out=field)
        np.multiply(field.real**2 + field.imag**2, real.type(1 / (lz**2 * AREA)), out=psf)

    return member


def by_products(count, radial, along, kind=float):
    """Real matrix products. An even count of points lies evenly about 0: cosines see even parts, sines odd ones."""
    points, weights = tensor(count, radial, along)
    half = count // 2
    points = points[:half]
    for axis in (0, 1):
        one, other = np.split(weights, 2, axis)
        other = np.flip(other, axis)
        weights = np.concatenate([one + other, -1j * (one - other)], axis)
    weights = weights / np.sqrt(AREA)
    chirp = np.tile(np.pi * (points[:, None] ** 2 + points**2), (2, 2))
    turn = np.outer(2 * np.pi * FILM, points)
    waves = np.empty((SAMPLES, count), kind)

    def member(lz, psf):
        phase = turn / lz
        waves[:, :half], waves[:, half:] = np.cos(phase), np.sin(phase)
        pupil = weights * np.exp(chirp * (1j / lz)) / lz
        lines = np.concatenate([pupil.real, pupil.imag]).astype(kind) @ waves.T
        real, imaginary = waves @ lines[:count], waves @ lines[count:]
        np.multiply(real, real, out=psf)
        imaginary *= imaginary
        psf += imaginary

    return member


def between_products(knots, count, radial, along, kind=float):
    """A few PSFs at Chebyshev points of 1 / (wavelength x distance), and one product to all members."""
    low, high = 1 / LZS.max(), 1 / LZS.min()
    points, spread = chebyshev(knots, (high - low) / 2, 1 / LZS - (low + high) / 2)
    few, member = np.empty((knots, SAMPLES, SAMPLES)), by_products(count, radial, along)
    for psf, point in zip(few, points):
        member(1 / (point + (low + high) / 2), psf)
    psfs = spread.astype(kind) @ few.reshape(knots, -1).astype(kind)
    return psfs.reshape(WAVELENGTHS.size, DISTANCES.size, SAMPLES, SAMPLES)


def largest_error(truths, psfs):
    """Over the checked members, relative to the peak of each."""
    members = psfs.reshape(LZS.size, SAMPLES, SAMPLES)
    return max(np.max(np.abs(members[i] - truth)) / np.max(truth) for i, truth in zip(CHECKED, truths))


def task_stack():
    truths = np.empty((len(CHECKED), SAMPLES, SAMPLES))
    accurate = by_nufft(partial(outline_nodes, 60, 6), 1e-14)
    for truth, i in zip(truths, CHECKED):
        accurate(LZS[i], truth)
    error = partial(largest_error, truths)

    def nufft(nodes, eps, kind="complex128", **options):
        real = np.empty(0, kind).real.dtype
        return lambda: stack(lambda: by_nufft(nodes, eps, kind, **options), real)

    def products(*size, kind=float):
        return lambda: stack(lambda: by_products(*size, kind), kind)

    coarse, fine = partial(outline_nodes, 18, 1), partial(outline_nodes, 22, 2)
    few, fewer = partial(tensor_nodes, 52, 22, 2), partial(tensor_nodes, 46, 18, 1)
    small = {"kind": "complex64", "upsampfac": 1.25}
    yield "finufft type 1, eps 1e-6", nufft(coarse, 1e-6), error
    yield "finufft type 1, eps 1e-9, finer nodes", nufft(fine, 1e-9, upsampfac=1.25), error
    yield "finufft type 1, complex64, eps 1e-4", nufft(coarse, 1e-4, spread_sort=0, **small), error
    yield "finufft type 1 from 52 x 52 nodes, eps 1e-7", nufft(few, 1e-7), error
    yield "finufft type 1 from 46 x 46 nodes, complex64, eps 3e-5", nufft(fewer, 3e-5, **small), error
    yield "numpy products, 64 x 64 nodes", products(64, 28, 3), error
    yield "numpy products, 52 x 52 nodes", products(52, 22, 2), error
    yield "numpy products, 46 x 46 nodes, float32", products(46, 18, 1, kind=np.float32), error
    yield "numpy between 68 PSFs (distant subject)", partial(between_products, 68, 64, 28, 3), error
    yield "numpy between 56 PSFs (distant subject)", partial(between_products, 56, 52, 22, 2), error
    yield "numpy between 44 PSFs (distant subject)", partial(between_products, 44, 44, 18, 1), error
    single = partial(between_products, 44, 44, 18, 1, np.float32)
    yield "numpy between 44 PSFs (distant subject), float32", single, error
