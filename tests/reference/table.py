"""Writes the reference tables: comment lines, one line of column names, plain CSV.

Run `python make_NAME.py` in this folder (needs mpmath only) to make NAME.csv again.
Numbers given by hand are kept as text, so that 0.742 means exactly that; computed
ones are written with 17 significant digits.
"""

import datetime
import pathlib
import sys

import mpmath
from mpmath import mp

WORKING_DIGITS = 40
# Below this a value is a zero of the pattern seen through rounding, and is written as 0.
ZERO = mpmath.mpf("1e-25")


def number(value):
    if isinstance(value, (str, int)):
        return str(value)
    return "0" if abs(value) < ZERO else mp.nstr(value, 17, strip_zeros=False)


def write(name, notes, columns, rows):
    """Write NAME.csv beside this file; `notes` is the text of the header, one line an entry."""
    made = [
        f"Tool: mpmath {mpmath.__version__}, Python {sys.version.split()[0]}; {mp.dps} digits carried, 17 written.",
        f"Made by {pathlib.Path(sys.argv[0]).name} on {datetime.date.today().isoformat()}.",
    ]
    lines = [f"# {line}" for line in [*notes, *made]]
    lines.append(",".join(columns))
    lines += [",".join(number(value) for value in row) for row in rows]
    pathlib.Path(__file__).with_name(f"{name}.csv").write_text("\n".join(lines) + "\n")


def gauss(count, low=-1, high=1):
    """Nodes and weights of Gauss-Legendre quadrature on [low, high] (DLMF 3.5(v))."""
    low, high = mp.mpf(low), mp.mpf(high)
    middle, half = (low + high) / 2, (high - low) / 2
    return [(middle + half * x, half * weight) for x, weight in _unit_rule(count, mp.dps)]


_rules = {}


def _unit_rule(count, digits):
    """Zeros of the Legendre polynomial by Newton's method, weights 2/((1 - x²) P'(x)²)."""
    if (count, digits) not in _rules:
        rule = []
        for k in range(count):
            x = mp.cos(mp.pi * (k + mp.mpf(3) / 4) / (count + mp.mpf(1) / 2))
            for _ in range(100):
                before, here = mp.mpf(1), x
                for n in range(2, count + 1):
                    before, here = here, ((2 * n - 1) * x * here - (n - 1) * before) / n
                slope = count * (x * here - before) / (x * x - 1)
                x, step = x - here / slope, here / slope
                if abs(step) < mp.mpf(10) ** (3 - digits):
                    break
            rule.append((x, 2 / ((1 - x * x) * slope * slope)))
        _rules[count, digits] = rule
    return _rules[count, digits]
