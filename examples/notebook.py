# %% [markdown]
# # A class sheet of one camera
# Opens as a notebook (percent format), or runs as it is: `python examples/notebook.py [foramen] [camera.toml]`.
# It asks the program for JSON and NPY, and draws a sheet with matplotlib.

# %%
import json
import pathlib
import subprocess
import sys
import tempfile

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np

given = [word for word in sys.argv[1:] if not word.startswith("-")]
program = given[0] if given else "foramen"
camera = ["--camera", given[1]] if len(given) > 1 else []
place = pathlib.Path(tempfile.mkdtemp())


def ask(*words):
    """What the program answers, as one JSON document."""
    done = subprocess.run([program, *words, "--json"], capture_output=True, text=True, check=True)
    document = json.loads(done.stdout)
    assert document["schema"]["version"] == 1, document["schema"]
    return document


# %% [markdown]
# ## The best hole, and three others

# %%
target = ask("target", *camera)
best_mm = target["diameter_mm"]
holes = {
    "best": f"round {best_mm:.4f} mm",
    "half as wide": f"round {best_mm / 2:.4f} mm",
    "oval": f"oval {1.3 * best_mm:.4f} x {best_mm / 1.3:.4f} mm",
    "with a burr": f"round {best_mm:.4f} mm, burr {0.3 * best_mm:.4f} mm deep, {0.1 * best_mm:.4f} mm wide at 40 deg",
}
points = {}
for name, hole in holes.items():
    samples = place / "point.npy"
    answer = ask("psf", "--hole", hole, *camera, "--size", "129", "--pitch", "10 um", "--samples", str(samples))
    points[name] = (np.load(samples), answer)

# %% [markdown]
# ## One hole at many distances: a stack

# %%
stack_file = place / "stack.npy"
stack = ask("psf", "--hole", holes["best"], *camera, "--stack", "40 mm to 200 mm", "--count", "9", "--size", "65", "--samples", str(stack_file))
density = np.load(stack_file)
assert density.shape == tuple(stack["shape"])

# %%
figure, axes = plt.subplots(3, 4, figsize=(12, 8.5), layout="constrained")
for column, (name, (light, answer)) in enumerate(points.items()):
    half = answer["pitch_um"] * light.shape[0] / 2000
    # Rows run from low y to high.
    axes[0, column].imshow(light, origin="lower", extent=[-half, half, -half, half], cmap="inferno")
    axes[0, column].set_title(name)
    axes[0, column].set_xlabel("mm on the film")
    mtf = answer["mtf"]
    axes[1, column].plot(mtf["frequency_lp_per_mm"], mtf["tangential"], label="tangential")
    axes[1, column].plot(mtf["frequency_lp_per_mm"], mtf["sagittal"], "--", label="sagittal")
    axes[1, column].set(xlim=(0, 8), ylim=(0, 1), xlabel="line pairs per mm", ylabel="contrast")
axes[1, 0].legend()
for column, member in enumerate(np.linspace(0, len(density) - 1, 4).astype(int)):
    axes[2, column].imshow(density[member], origin="lower", cmap="inferno")
    axes[2, column].set_title(f"film at {stack['film_distances_mm'][member]:.0f} mm")
figure.suptitle(f"Best hole {best_mm:.3f} mm, f/{target['f_number']:.0f}")
sheet = place / "sheet.png"
figure.savefig(sheet, dpi=100)
print(sheet)
