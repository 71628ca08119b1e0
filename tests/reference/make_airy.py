"""The Airy pattern and the energy inside a radius: airy.csv and airy_dark_rings.csv."""

from mpmath import mp

import table

mp.dps = table.WORKING_DIGITS
ANGLES = (
    "0 0.25 0.5 1 1.5 2 2.5 3 3.5 4 4.5 5 6 7 8 9 10 12 14 16 18 20 22.5 25 27.5 30".split()
)


def intensity(w):
    return (2 * mp.besselj(1, w) / w) ** 2 if w else mp.mpf(1)


def energy_within(w):
    return 1 - mp.besselj(0, w) ** 2 - mp.besselj(1, w) ** 2


def energy_by_quadrature(w):
    """The same energy from the pattern itself: half the integral of i(w) w dw."""
    pieces = mp.linspace(0, w, int(w) + 2)
    return mp.quad(lambda x: intensity(x) * x / 2, pieces)


def main():
    rows = []
    for text in ANGLES:
        w = mp.mpf(text)
        assert not w or abs(energy_within(w) - energy_by_quadrature(w)) < mp.mpf("1e-25")
        rows.append((text, intensity(w), energy_within(w)))
    notes = [
        "Airy pattern of a disc far away (N -> 0): w = pi d R / (lambda v).",
        "intensity = (2 J1(w)/w)^2, 1 in the middle; energy = 1 - J0(w)^2 - J1(w)^2, the share inside w.",
        "Source: Born & Wolf, Principles of Optics, 8.5.2 (number from memory); Bessel functions: DLMF 10.2(ii).",
        "Each energy was also integrated from the pattern, equal to 1e-25.",
    ]
    table.write("airy", notes, ("w", "intensity", "energy"), rows)

    zeros = [mp.besseljzero(1, ring) for ring in (1, 2, 3)]
    rows = [(ring, w, w / mp.pi, energy_within(w)) for ring, w in enumerate(zeros, 1)]
    notes = [
        "The first three dark rings of the Airy pattern: zeros of J1, w = pi d R / (lambda v).",
        "w_over_pi = R d / (lambda v); energy = 1 - J0(w)^2, the share inside the ring.",
        "Source: Born & Wolf, Principles of Optics, 8.5.2 (number from memory); zeros of J1: DLMF 10.21.",
    ]
    table.write("airy_dark_rings", notes, ("ring", "w", "w_over_pi", "energy"), rows)


if __name__ == "__main__":
    main()
