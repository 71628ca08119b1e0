"""Energy inside a circle around a disc's image, from its pattern: disc_encircled.csv."""

from mpmath import mp

import table
from make_lommel import intensity, nodes_for

mp.dps = table.WORKING_DIGITS
FRESNEL_NUMBERS = "0.25 0.5 1 2 3.6 6".split()
SHADOW_RADII = "0.25 0.5 0.75 1 1.5 2 3".split()


def ring_energy(n, inner, outer, radial, spare):
    """2 pi^2 N^2 * integral over inner..outer of i(N, 2 pi N t) t dt."""
    count = int(24 + 10 * n * (outer - inner)) + spare
    rings = table.gauss(count, inner, outer)
    return 2 * (mp.pi * n) ** 2 * sum(weight * intensity(n, t, radial) * t for t, weight in rings)


def main():
    rows = []
    for n_text in FRESNEL_NUMBERS:
        n = mp.mpf(n_text)
        radial = nodes_for(n, 3)
        inner, energy, coarse = mp.mpf(0), mp.mpf(0), mp.mpf(0)
        for t_text in SHADOW_RADII:
            outer = mp.mpf(t_text)
            energy += ring_energy(n, inner, outer, radial, 8)
            coarse += ring_energy(n, inner, outer, radial, 0)
            assert abs(energy - coarse) < mp.mpf("1e-20"), (n_text, t_text, energy - coarse)
            rows.append((n_text, t_text, energy))
            inner = outer
    notes = [
        "Disc lit along its axis, Fresnel number N: share of the light inside t shadow radii.",
        "E(t) = 2 pi^2 N^2 int_0^t i(N, 2 pi N t') t' dt', i as in lommel.csv: both integrals by Gauss-Legendre",
        "quadrature over the pattern, without the transfer function; two node counts agree to 1e-20.",
        "Source: the energy density |U|^2/(lambda^2 v^2 A) integrates to 1 (Parseval); Born & Wolf, Principles",
        "of Optics, 8.8 (number from memory); quadrature: DLMF 3.5(v).",
    ]
    table.write("disc_encircled", notes, ("fresnel_number", "t", "energy"), rows)


if __name__ == "__main__":
    main()
