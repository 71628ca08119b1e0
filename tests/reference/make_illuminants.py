"""Standard tables of light and eye, and what daylights and glowing bodies come to.

Run `python make_illuminants.py` in this folder (needs colour-science and scipy) to write again

- ../../src/camera/spectrum/daylight.csv and luminosity.csv, which the program reads;
- observer_1931.csv and illuminants.csv, which only its tests read.
"""

import pathlib
import sys
import warnings

import numpy as np
import scipy

warnings.filterwarnings("ignore")
import colour  # noqa: E402  (importing it warns of parts that are not installed)

HERE = pathlib.Path(__file__).parent
PROGRAM = HERE / "../../src/camera/spectrum"
WAVELENGTHS = np.arange(320, 781, 20)
# Published to five digits in CIE 15:2004, table T.3.
D65_XY = (0.31272, 0.32903)


def write(path, notes, columns, rows):
    made = f"Made by {pathlib.Path(__file__).name}; colour-science {colour.__version__}, scipy {scipy.__version__}."
    lines = [f"# {line}" for line in [*notes, made]] + [",".join(columns)]
    lines += [",".join(value if isinstance(value, str) else f"{value:.10g}" for value in row) for row in rows]
    path.write_text("\n".join(lines) + "\n")


def daylight(kelvin):
    """The D series at a temperature, by the package's own formula: 100 at 560 nm."""
    return colour.sd_CIE_illuminant_D_series(colour.temperature.CCT_to_xy_CIE_D(kelvin))


def blackbody(kelvin):
    """Planck's law with CODATA's h, c and k, 100 at 560 nm."""
    second = scipy.constants.h * scipy.constants.c / scipy.constants.k

    def power(nm):
        return nm**-5.0 / np.expm1(second / (nm * 1e-9 * kelvin))

    return {nm: 100 * power(float(nm)) / power(560.0) for nm in WAVELENGTHS}


def main():
    base = colour.colorimetry.SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    steps = range(300, 831, 10)
    write(
        PROGRAM / "daylight.csv",
        ["Components of daylight S0, S1, S2: CIE 15, ISO 11664-2. Between rows: linearly, as the CIE prescribes."],
        ("nm", "s0", "s1", "s2"),
        [(nm, base["S0"][nm], base["S1"][nm], base["S2"][nm]) for nm in steps],
    )
    eye = colour.colorimetry.SDS_LEFS_PHOTOPIC["CIE 1924 Photopic Standard Observer"]
    write(
        PROGRAM / "luminosity.csv",
        ["The eye's response to energy by day, V(lambda): CIE 1924."],
        ("nm", "v"),
        [(nm, eye[nm]) for nm in range(360, 831, 10)],
    )
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    write(
        HERE / "observer_1931.csv",
        ["Colour matching functions of the CIE 1931 observer, 2 degrees."],
        ("nm", "x", "y", "z"),
        [(nm, *observer[nm]) for nm in range(360, 831, 10)],
    )
    published = colour.SDS_ILLUMINANTS
    tried = np.array([observer[nm] * np.interp(nm, published["D65"].wavelengths, published["D65"].values) for nm in range(360, 781)])
    total = tried.sum(axis=0)
    assert np.abs(total[:2] / total.sum() - D65_XY).max() < 1e-5, total[:2] / total.sum()
    lights = {
        "D55": published["D55"],
        "D65": published["D65"],
        "4500 K": daylight(4500),
        "10000 K": daylight(10000),
        "2856 K": blackbody(2856),
        "6500 K glowing": blackbody(6500),
    }
    write(
        HERE / "illuminants.csv",
        [
            "Relative power of lights, 100 at 560 nm. D55 and D65: the published tables (CIE 15), rounded as they are;",
            "4500 K and 10000 K: the D series by an independent program; 2856 K and 6500 K glowing: Planck's law.",
            f"D65 seen by the CIE 1931 observer: x = {D65_XY[0]}, y = {D65_XY[1]}, summed here to 1e-5 every 1 nm.",
        ],
        ("light", "nm", "power"),
        [(name, int(nm), power[nm]) for name, power in lights.items() for nm in WAVELENGTHS],
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
