"""The pattern of a long slit, from Fresnel's integrals: slit.csv."""

from mpmath import mp

import table

mp.dps = table.WORKING_DIGITS
FRESNEL_NUMBERS = "0.05 0.25 0.5 1 2 4 8".split()
SHADOW_HALF_WIDTHS = "0 0.25 0.5 0.75 1 1.5 2 2.5".split()


def fresnel(x):
    """C(x) + i S(x) with the pi/2 convention."""
    return mp.mpc(mp.fresnelc(x), mp.fresnels(x))


def irradiance(n, t):
    k = mp.sqrt(2 * n)
    return abs(fresnel(k * (1 - t)) + fresnel(k * (1 + t))) ** 2 / 2


def irradiance_by_quadrature(n, t):
    """The same from the diffraction integral: N |integral over -1..1 of exp(i pi N (p - t)^2) dp|^2."""
    nodes = table.gauss(60 + int(8 * n), -1, 1)
    return n * abs(sum(weight * mp.expjpi(n * (p - t) ** 2) for p, weight in nodes)) ** 2


def main():
    rows = []
    for n_text in FRESNEL_NUMBERS:
        for t_text in SHADOW_HALF_WIDTHS:
            n, t = mp.mpf(n_text), mp.mpf(t_text)
            value = irradiance(n, t)
            assert abs(value - irradiance_by_quadrature(n, t)) < mp.mpf("1e-25"), (n_text, t_text)
            rows.append((n_text, t_text, value))
    notes = [
        "Long slit |x| <= b lit along its axis, N = b^2/(lambda z): irradiance relative to the slit removed,",
        "at t shadow half-widths.",
        "irradiance = |F(k(1-t)) + F(k(1+t))|^2 / 2, k = sqrt(2 N), F = C + i S, C(x) = int_0^x cos(pi y^2/2) dy.",
        "Source: Goodman, Introduction to Fourier Optics, ch. 4 (number from memory); C, S: DLMF 7.2(iii).",
        "Each was also computed by Gauss-Legendre quadrature of the diffraction integral, equal to 1e-25.",
    ]
    table.write("slit", notes, ("fresnel_number", "t", "irradiance"), rows)


if __name__ == "__main__":
    main()
