"""Makes the pictures of README.md and of the README beside this script again: `python examples/pictures/make.py` after `cargo build --release`.

The program draws each; Pillow makes it smaller and gives it a palette, so that all together stay below 3 MB (`make_page.py` adds those of the page).
"""

import pathlib
import subprocess
import tempfile

from PIL import Image

HERE = pathlib.Path(__file__).resolve().parent
PROGRAM = HERE.parents[1] / "target" / "release" / "foramen"
TUBE = ["--camera", HERE.parent / "biscuit_tube.toml"]

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)

    def run(*words):
        subprocess.run([PROGRAM, *words], check=True, cwd=folder, stdout=subprocess.DEVNULL)

    run("appraise", "--demo", "--out", ".")
    run("preview", "--demo", "--compare", *TUBE, "--out", "tube.png")
    run("psf", "--demo", "--map", "map.png", *TUBE)
    run("gauge", "--demo", "--every", "--out", "sheet.png")
    run("figure", "--all", "--out", "figures")
    plates = ["outline", "psf", "preview", "tube", "map", "sheet"]
    made = [(folder / f"{name}.png", 620) for name in plates]
    made += [(path, 640) for path in sorted((folder / "figures").glob("*.png")) if "still" not in path.stem]
    for path, width in made:
        picture = Image.open(path)
        if getattr(picture, "is_animated", False):
            # Every other frame, for its size.
            size = (400, round(picture.height * 400 / picture.width))
            frames = []
            for frame in range(0, picture.n_frames, 2):
                picture.seek(frame)
                shown = picture.convert("RGB").resize(size, Image.Resampling.LANCZOS)
                frames.append(shown.quantize(48, dither=Image.Dither.NONE))
            frames[0].save(
                HERE / path.name,
                save_all=True,
                append_images=frames[1:],
                duration=500,
                loop=0,
                optimize=True,
            )
            continue
        size = (width, round(picture.height * width / picture.width))
        small = picture.convert("RGB").resize(size, Image.Resampling.LANCZOS)
        small.quantize(256, dither=Image.Dither.NONE).save(HERE / path.name, optimize=True)
    print(sum(path.stat().st_size for path in HERE.glob("*.png")) // 1000, "kB")
