"""Writes moving.csv: the best constant c of d = c sqrt(lambda v) when the image moves or the emulsion
spreads it, by SciPy from the definition of a disc's OTF in Fresnel's approximation.

The OTF is the integral of cos(2 pi N delta x) over the lens that a disc and the same disc moved by delta
radii share, over the disc's area. Merit: the integral of max(0, OTF times factor) over frequencies up to
1.3/sqrt(lambda v). 550 nm, 100 mm. Amounts are of a hole of 0.34 mm; what grows with the exposure does so
as 1/d^2, a walk's mean square too. Factors: sinc for a drift, J0 for a sway, the Gaussian of an
emulsion, and for a random walk of mean square m^2 the root mean square modulus sqrt(2(y - 1 + exp(-y)))/y,
y = 2 pi^2 f^2 m^2.
"""

import pathlib

import numpy as np
import scipy
from scipy.optimize import minimize_scalar
from scipy.special import j0

UNIT = np.sqrt(550e-6 * 100)
X, W = np.polynomial.legendre.leggauss(400)


def otf(c, s):
    number, delta = c * c / 4, 2 * s / c
    if delta >= 2:
        return 0.0
    half = 1 - delta / 2
    angle = X * np.pi / 2  # x = half sin(angle): smooth at the ends of the lens
    x, w = half * np.sin(angle), W * np.pi / 2 * half * np.cos(angle)
    height = 2 * np.sqrt(np.maximum(0, 1 - (np.abs(x) + delta / 2) ** 2))
    return np.sum(w * height * np.cos(2 * np.pi * number * delta * x)) / np.pi


def walk(y):
    return np.sqrt(2 * (y - 1 + np.exp(-y))) / y if y > 1e-4 else 1 - y / 6


def factor(kind, amount, f, c):
    times = (0.34 / (c * UNIT)) ** 2
    if kind == "drift":
        return np.sinc(f * amount * times)
    if kind == "sway":
        return j0(2 * np.pi * f * amount)
    if kind == "emulsion":
        return np.exp(-2 * (np.pi * f * amount) ** 2)
    if kind == "walk":
        return walk(2 * np.pi**2 * f * f * amount**2 * times)
    return 1.0


def best(kind, amount):
    def loss(c):
        end = min(1.3, c)
        s, w = (X + 1) / 2 * end, W / 2 * end
        return -sum(wi * max(0, otf(c, si) * factor(kind, amount, si / UNIT, c)) for si, wi in zip(s, w))

    return minimize_scalar(loss, bounds=(1.2, 2.4), method="bounded", options={"xatol": 1e-6}).x


CASES = [("still", 0), ("drift", 0.1), ("drift", 0.2), ("sway", 0.05), ("emulsion", 0.02)]
CASES += [("walk", amount) for amount in (0.05, 0.1, 0.2)]

lines = [
    "# Best constants of d = c sqrt(lambda v) with movement; see make_moving.py for the definitions.",
    f"# Tool: SciPy {scipy.__version__}, NumPy {np.__version__}.",
    "movement,amount_mm,best_constant",
]
lines += [f"{kind},{amount},{best(kind, amount):.5f}" for kind, amount in CASES]
pathlib.Path(__file__).with_name("moving.csv").write_text("\n".join(lines) + "\n")
