"""The eye's contrast sensitivity by Barten's full model: barten.csv (colour-science)."""

import datetime
import pathlib
import sys
import warnings

warnings.filterwarnings("ignore")
import colour
import numpy as np
from colour.contrast import (
    contrast_sensitivity_function_Barten1999,
    pupil_diameter_Barten1999,
    retinal_illuminance_Barten1999,
    sigma_Barten1999,
)

LUMINANCES = (20, 100, 300)
SIZES_DEG = (10, 20, 40)
FREQUENCIES = (0.5, 1, 2, 4, 8, 16, 32)


def sensitivity(u, luminance, size):
    pupil = pupil_diameter_Barten1999(luminance, size, size)
    return float(
        contrast_sensitivity_function_Barten1999(
            u=u,
            sigma=sigma_Barten1999(0.5 / 60, 0.08 / 60, pupil),
            E=retinal_illuminance_Barten1999(luminance, pupil),
            X_0=size,
            Y_0=size,
            X_max=12,
            Y_max=12,
            k=3,
            T=0.1,
            N_max=15,
            n=0.03,
            p=1.2274e6,
            phi_0=3e-8,
            u_0=7,
        )
    )


def main():
    rows = [
        f"{luminance},{size},{u},{sensitivity(u, luminance, size):.6f}"
        for luminance in LUMINANCES
        for size in SIZES_DEG
        for u in FREQUENCIES
    ]
    notes = [
        "Contrast sensitivity of the eye by the full model of P. G. J. Barten (1999), for a square of size_deg at",
        "luminance_cd_m2: k = 3, T = 0.1 s, X_max = 12 deg, N_max = 15, n = 0.03, p = 1.2274e6, Phi_0 = 3e-8, u_0 = 7,",
        "with the package's own pupil, optical spread and retinal illuminance.",
        f"Tool: colour-science {colour.__version__}, numpy {np.__version__}, Python {sys.version.split()[0]}.",
        f"Made by {pathlib.Path(__file__).name} on {datetime.date.today().isoformat()}.",
    ]
    lines = [f"# {note}" for note in notes] + ["luminance_cd_m2,size_deg,cycles_per_degree,sensitivity"] + rows
    pathlib.Path(__file__).with_name("barten.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
