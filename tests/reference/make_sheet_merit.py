"""What an eye sees of a disc's picture over the whole sheet: sheet_merit.csv (numpy, scipy)."""

import datetime
import pathlib
import sys

import numpy as np
import scipy.special

WAVELENGTH = 550e-6
FINEST_SEEN = 100.0
# name, film distance, width, height, tube radius (0: flat), subject distance, plate, lp/mm a cycle, diameters
CASES = [
    ("flat", 120, 127, 102, 0, "inf", 0, 0.327, (0.25, 0.38, 0.55)),
    ("thick", 120, 127, 102, 0, "inf", 0.15, 0.327, (0.25, 0.38, 0.55)),
    ("tube", 100, 150, 90, 50, "inf", 0.05, 0.4, (0.25, 0.36, 0.5)),
    ("near", 60, 60, 60, 0, "200", 0.05, 0.7, (0.18, 0.25, 0.35)),
]
STRIPS, FREQUENCIES, DIRECTIONS, PLACES = 160, 90, 24, 10


def place(x, y, v, radius):
    """The place in space, and the sheet's own two directions there."""
    if radius == 0:
        return np.array([x, y, v]), np.array([[1, 0, 0], [0, 1, 0.0]])
    angle = x / radius
    at = np.array([radius * np.sin(angle), y, v - radius + radius * np.cos(angle)])
    return at, np.array([[np.cos(angle), 0, -np.sin(angle)], [0, 1, 0.0]])


def transfer(d, apart, cos, distance, subject, wave, f):
    """The OTF at frequencies f along `wave`, a unit vector across the ray (tangential, sagittal).

    The open hole is the lens of two discs `apart` along the tangent, squeezed by cos along it. In strips along the
    wave, found by cutting both ellipses; the overlap with itself is a chord less the shift.
    """
    a = d / 2
    # Chords of the ellipse (x/(a cos))² + (y/a)² < 1 along the wave at p across it.
    c, s = wave
    squeeze = (c / cos) ** 2 + s**2
    reach = a * np.sqrt((s * cos) ** 2 + c**2)
    node, weight = np.polynomial.legendre.leggauss(STRIPS)
    half_apart = np.array([apart / 2 * cos, 0.0])
    # The lens lies within both ellipses' reach across the wave.
    offset = abs(half_apart @ np.array([-s, c]))
    top = lens_top(a, apart, cos, wave, reach - offset)
    p = top * np.sin(np.pi / 2 * node)
    step = top * np.cos(np.pi / 2 * node) * np.pi / 2 * weight

    def ends(centre):
        q = p - centre @ np.array([-s, c])
        # Points q (-s, c) + t (c, s): a quadratic in t.
        b = q * c * s * (1 - 1 / cos**2)
        k = q * q * ((s / cos) ** 2 + c * c) - a * a
        root = np.sqrt(np.maximum(b * b - squeeze * k, 0)) / squeeze
        middle = -b / squeeze + centre @ np.array([c, s])
        return middle - root, middle + root

    low1, high1 = ends(half_apart)
    low2, high2 = ends(-half_apart)
    low, high = np.maximum(low1, low2), np.maximum(np.minimum(high1, high2), np.maximum(low1, low2))
    area = step @ (high - low)
    shift = WAVELENGTH * distance * f[:, None]
    length = np.maximum(high - low - shift, 0)
    turn = (1 + distance / subject) * f[:, None]
    phase = np.cos(2 * np.pi * turn * (low + high) / 2)
    return (length * np.sinc(turn * length) * phase) @ step / area, np.max(high - low)


def lens_top(a, apart, cos, wave, limit):
    """The largest reach across the wave of the lens: on an arc, or in its corner."""
    if apart == 0:
        return limit
    c, s = wave
    # The rim of one disc, moved half the way, where it lies inside the other; both are mirror images.
    t = np.linspace(0, 2 * np.pi, 20001)
    x, y = a * np.cos(t) - apart / 2, a * np.sin(t)
    inside = (x - apart / 2) ** 2 + y**2 <= a * a * (1 + 1e-12)
    return np.max(np.abs(-s * x[inside] * cos + c * y[inside]))


def merit_at(at, along, d, plate, subject, per_cycle):
    distance = np.linalg.norm(at)
    ray = at / distance
    cos = ray[2]
    aside = np.hypot(ray[0], ray[1])
    apart = plate * aside / cos
    if apart >= d:
        return 0.0
    tilt = np.array([ray[0], ray[1]]) / aside
    tangential = np.array([tilt[0] * cos, tilt[1] * cos, -aside])
    sagittal = np.array([-tilt[1], tilt[0], 0])
    across = np.array([along @ tangential, along @ sagittal])  # a step on the sheet to one across the ray
    node, weight = np.polynomial.legendre.leggauss(FREQUENCIES)
    total = 0.0
    for i in range(DIRECTIONS):
        angle = np.pi * (i + 0.5) / DIRECTIONS
        covector = np.linalg.inv(across).T @ np.array([np.cos(angle), np.sin(angle)])
        stretch = np.linalg.norm(covector)
        root = np.sqrt(min(d / (WAVELENGTH * distance * stretch * per_cycle), FINEST_SEEN)) / 2 * (1 + node)
        nu = root * root
        otf, _ = transfer(d, apart, cos, distance, subject / cos, covector / stretch, nu * per_cycle * stretch)
        scale = root[-1] / (1 + node[-1])
        total += scale * (weight @ (2 * root * nu**0.8 * np.exp(-0.2 * nu) * np.maximum(otf, 0)))
    return total / DIRECTIONS * 0.2**1.8 / scipy.special.gamma(1.8)


def merit(v, width, height, radius, subject, plate, per_cycle, d):
    node, weight = np.polynomial.legendre.leggauss(PLACES)
    weight = weight * 2.0 ** -(node**2)
    weight /= weight.sum()
    total = 0.0
    for x, wx in zip(node, weight):
        for y, wy in zip(node, weight):
            at, along = place(x * width / 2, y * height / 2, v, radius)
            total += wx * wy * merit_at(at, along, d, plate, subject, per_cycle)
    return total


def main():
    rows = []
    for name, v, width, height, radius, subject, plate, per_cycle, diameters in CASES:
        for d in diameters:
            found = merit(v, width, height, radius, float(subject), plate, per_cycle, d)
            rows.append(f"{name},{v},{width},{height},{radius},{subject},{plate},{per_cycle},{d},{found:.6f}")
            print(rows[-1], flush=True)
    notes = [
        "The eye's weight v^0.8 exp(-0.2 v) over max(0, OTF) of a disc in 550 nm, mean over the sheet with the weight",
        "2^-(x² + y²), x and y from -1 to 1; nothing where the plate closes the hole.",
        f"{PLACES} x {PLACES} places all over the sheet, {DIRECTIONS} directions, {FREQUENCIES} frequencies, {STRIPS} strips",
        "of the lens that the plate leaves of the disc, its chords from both ellipses in closed form.",
        f"Tool: scipy {scipy.__version__}, numpy {np.__version__}, Python {sys.version.split()[0]}.",
        f"Made by {pathlib.Path(__file__).name} on {datetime.date.today().isoformat()}.",
    ]
    head = "case,film_mm,width_mm,height_mm,radius_mm,subject_mm,plate_mm,lp_per_mm_a_cycle,diameter_mm,merit"
    lines = [f"# {note}" for note in notes] + [head] + rows
    pathlib.Path(__file__).with_name("sheet_merit.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
