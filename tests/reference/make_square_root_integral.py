"""Barten's square-root integral of discs by adaptive quadrature: square_root_integral.csv (numpy, scipy)."""

import datetime
import pathlib
import sys

import numpy as np
import scipy
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

LUMINANCE, SIZE_DEG = 100.0, 20.0
LOWEST, HIGHEST = 1.0 / SIZE_DEG, 60.0
KAPPAS = (0.05, 0.1, 0.2)
CONSTANTS = (0.5, 0.85, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 3.5)
LOSSES = (1.0, 3.0, 10.0)
NODE, WEIGHT = np.polynomial.legendre.leggauss(96)


def sensitivity(u):
    """The short formula of Barten (2004)."""
    optics = 5200 * np.exp(-0.0016 * u**2 * (1 + 100 / LUMINANCE) ** 0.08)
    size = 1 + 144 / SIZE_DEG**2 + 0.64 * u**2
    return optics / np.sqrt(size * (63 / LUMINANCE**0.83 - 1 / np.expm1(-0.02 * u**2)))


def transfer(c, s):
    """The OTF of a disc d = c sqrt(lambda z) at the reduced frequency s: strip by strip, the closed form."""
    sigma = s / c
    if sigma >= 1:
        return 0.0
    top = np.arccos(sigma)
    p = top * (NODE + 1) / 2
    phase = np.pi * c * c * sigma * (np.cos(p) - sigma)
    return 4 / np.pi * top / 2 * np.sum(WEIGHT * np.sin(p) ** 2 * np.cos(phase))


def merit(c, kappa):
    """(1/ln 2) int sqrt(max(0, H) S) du/u, from zero to zero of H, each piece smooth at its ends in an angle."""
    top = np.log(min(HIGHEST, c / kappa))
    low = np.log(LOWEST)
    look = np.linspace(low, top, 1200)
    of = lambda x: transfer(c, kappa * np.exp(x))
    value = [of(x) for x in look]
    cuts = [low]
    for a, b, va, vb in zip(look, look[1:], value, value[1:]):
        if va * vb < 0:
            cuts.append(brentq(of, a, b, xtol=1e-13))
    cuts.append(top)
    total = 0.0
    for a, b in zip(cuts, cuts[1:]):
        middle, half = (a + b) / 2, (b - a) / 2
        if of(middle + 0.01 * half) <= 0:
            continue
        # x = middle + half sin t takes the square roots out of both ends.
        piece = lambda t: half * np.cos(t) * np.sqrt(
            max(0.0, of(middle + half * np.sin(t))) * sensitivity(np.exp(middle + half * np.sin(t)))
        )
        total += quad(piece, -np.pi / 2, np.pi / 2, limit=400, epsabs=1e-7, epsrel=1e-9)[0]
    return total / np.log(2)


def main():
    rows = []
    for kappa in KAPPAS:
        found = minimize_scalar(lambda c: -merit(c, kappa), bounds=(1.3, 1.9), method="bounded", options={"xatol": 1e-6})
        best = -found.fun
        rows.append(f"{kappa},best,{found.x:.5f},{best:.5f}")
        for c in CONSTANTS:
            rows.append(f"{kappa},merit,{c},{merit(c, kappa):.5f}")
        for loss in LOSSES:
            low = brentq(lambda c: best - merit(c, kappa) - loss, 0.3, found.x, xtol=1e-6)
            high = brentq(lambda c: best - merit(c, kappa) - loss, found.x, 3.4, xtol=1e-6)
            rows.append(f"{kappa},low of {loss:g} jnd,{low:.5f},{best - loss:.5f}")
            rows.append(f"{kappa},high of {loss:g} jnd,{high:.5f},{best - loss:.5f}")
        print("\n".join(rows[-18:]), flush=True)
    notes = [
        "Barten's square-root integral J in jnd of discs d = constant sqrt(lambda z) in one wavelength; kappa: reduced",
        f"frequency of one cycle per degree. Luminance {LUMINANCE:g} cd/m2, print of {SIZE_DEG:g} degrees, from "
        f"{LOWEST:g} to {HIGHEST:g} cycles per degree.",
        "J = (1/ln 2) int sqrt(max(0, H) S) du/u: H in closed form, between its zeros by adaptive quadrature (QUADPACK).",
        f"Tool: scipy {scipy.__version__}, numpy {np.__version__}, Python {sys.version.split()[0]}.",
        f"Made by {pathlib.Path(__file__).name} on {datetime.date.today().isoformat()}.",
    ]
    lines = [f"# {note}" for note in notes] + ["kappa,what,constant,jnd"] + rows
    pathlib.Path(__file__).with_name("square_root_integral.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
