"""Patterns of four holes that are not round, integrated over their area: nonround.csv."""

from mpmath import mp

import table

mp.dps = 34
FRESNEL_NUMBERS = "0.5 1 2".split()
POINTS = [
    ("0", "0"), ("0.5", "0"), ("0", "0.5"), ("1", "0"),
    ("0.7", "0.7"), ("-0.6", "0.3"), ("1.5", "-0.4"), ("0", "2"),
]  # fmt: skip
HALF_TONGUE = mp.mpf("0.15")
APEX = mp.mpf("0.65")
STRETCH = mp.mpf("1.3")


def ellipse(phi):
    return 1 / mp.sqrt(mp.cos(phi) ** 2 / STRETCH + mp.sin(phi) ** 2 * STRETCH)


def lobed(phi):
    return 1 + mp.mpf("0.08") * mp.cos(5 * phi) + mp.mpf("0.03") * mp.sin(2 * phi)


def tongue_side(phi):
    """Distance along phi to the line from the apex (0.65, 0) to (cos 0.15, sin 0.15)."""
    x, y = mp.cos(HALF_TONGUE) - APEX, mp.sin(HALF_TONGUE)
    return APEX * y / (y * mp.cos(phi) - x * mp.sin(abs(phi)))


def closed_curve(radius, count):
    """Angles of a smooth outline: the trapezoidal rule, which converges geometrically there."""
    step = 2 * mp.pi / count
    return [(k * step, step, radius(k * step)) for k in range(count)]


def arcs(pieces, count):
    """Angles of an outline of smooth arcs (from, to, radius): Gauss nodes on each."""
    rules = [(radius, table.gauss(count, low, high)) for low, high, radius in pieces]
    return [(phi, weight, radius(phi)) for radius, rule in rules for phi, weight in rule]


def rays(shape, fine):
    """(angle, weight, radius) of an outline, star-shaped about the origin."""
    if shape == "E":
        return closed_curve(ellipse, 176 if fine else 160)
    if shape == "L":
        return closed_curve(lobed, 400 if fine else 360)
    if shape == "S":
        half = mp.pi / 4
        middles = mp.linspace(0, 6 * half, 4)
        sides = [(at - half, at + half, lambda phi, at=at: 1 / mp.cos(phi - at)) for at in middles]
        return arcs(sides, 56 if fine else 48)
    round_part = mp.linspace(HALF_TONGUE, 2 * mp.pi - HALF_TONGUE, 5)
    pieces = [(-HALF_TONGUE, mp.mpf(0), tongue_side), (mp.mpf(0), HALF_TONGUE, tongue_side)]
    pieces += [(low, high, lambda p: mp.mpf(1)) for low, high in zip(round_part, round_part[1:])]
    return arcs(pieces, 48 if fine else 40)


def energy_density(shape, n, x, y, fine):
    """N^2 |F|^2 / area, F = int int exp(i pi N (rho^2 - 2 t . rho)) rho d rho d phi."""
    radial = table.gauss(44 if fine else 38, 0, 1)
    total, area = mp.mpc(0), mp.mpf(0)
    for phi, weight, radius in rays(shape, fine):
        along = 2 * radius * (x * mp.cos(phi) + y * mp.sin(phi))
        square = radius * radius
        ray = sum(w * p * mp.expjpi(n * p * (square * p - along)) for p, w in radial)
        total += weight * square * ray
        area += weight * square / 2
    return n * n * abs(total) ** 2 / area


def main():
    rows = []
    for shape in "EBSL":
        for n_text in FRESNEL_NUMBERS:
            for x_text, y_text in POINTS:
                n, x, y = mp.mpf(n_text), mp.mpf(x_text), mp.mpf(y_text)
                value = energy_density(shape, n, x, y, fine=True)
                coarse = energy_density(shape, n, x, y, fine=False)
                assert abs(value - coarse) < mp.mpf("1e-19"), (shape, n_text, x_text, y_text)
                rows.append((shape, n_text, x_text, y_text, value))
    notes = [
        "Holes that are not round, lit along the axis; lengths in units of a, N = a^2/(lambda z); (x, y) in",
        "shadow units (film position times z/(v a)); energy density in units of (z/(v a))^2:",
        "density = N^2 |F|^2 / (area/a^2), F = int int exp(i pi N (rho^2 - 2 t . rho)) d^2rho, t = (x, y).",
        "E: ellipse, semi-axes sqrt(1.3) along x and 1/sqrt(1.3) along y. S: square |x|, |y| <= 1.",
        "B: unit disc less a tongue with straight sides from (cos 0.15, +-sin 0.15) to the apex (0.65, 0).",
        "L: r(phi) = 1 + 0.08 cos 5 phi + 0.03 sin 2 phi.",
        "By quadrature over the area: Gauss along each ray; around, trapezoid (E, L) or Gauss per arc (B, S);",
        "two node counts agree to 1e-19 or better.",
        "Source: Goodman, Introduction to Fourier Optics, ch. 4 (Fresnel; number from memory); areal quadrature:",
        "A. H. Barnett, J. Astron. Telesc. Instrum. Syst. 7(2), 021211 (2021); DLMF 3.5(v).",
    ]
    table.write("nonround", notes, ("shape", "fresnel_number", "x", "y", "density"), rows)


if __name__ == "__main__":
    main()
