"""Writes line_spread.csv: the images of a line and an edge by a disc far away; see its header."""

from mpmath import mp

import table

mp.dps = 30
PLACES = ["0", "0.5", "1", "2", "3", "4", "5", "8", "12"]


def line(w):
    """d/(lambda v) times H1(2w)/w^2, here without the factor; 8/(3 pi) in the middle."""
    return 8 / (3 * mp.pi) if w == 0 else mp.struveh(1, 2 * w) / w**2


def main():
    rows = []
    for text in PLACES:
        w = mp.mpf(text)
        # dX = lambda v/(pi d) dw.
        edge = mp.mpf(1) / 2 + mp.quad(line, mp.linspace(0, w, 9)) / mp.pi if w else mp.mpf(1) / 2
        rows.append((text, line(w), edge))
    # The whole line adds up to 1: its tail beyond w is 2/(pi^2 w) and less.
    assert abs(1 - rows[-1][2] - 2 / (mp.pi**2 * 12)) < mp.mpf("1e-3")
    notes = [
        "Disc of diameter d far away (N -> 0): line spread in units of d/(lambda v), and edge spread, at",
        "w = pi d X/(lambda v) from the middle.",
        "line = H1(2w)/w^2, H1 Struve's function (DLMF 11.2.1); edge = 1/2 + its integral, by quadrature.",
        "Source: Struve 1882; Born & Wolf, Principles of Optics, 8.5 (numbers from memory).",
    ]
    table.write("line_spread", notes, ("w", "line", "edge"), rows)


if __name__ == "__main__":
    main()
