#!/usr/bin/env python3
"""What a run takes as its input grows: python benches/costs.py target/release/foramen

Prints processor time and peak memory of each run (both cores, from the system's account of the process), and how
often the time grows where the input grows tenfold. Needs pillow and numpy."""
import json
import math
import multiprocessing
import os
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
SCALE = ["--scale", "1000 px = 1 mm"]


def run(words):
    """Exit code, seconds of processor time, MB at most."""
    child = subprocess.Popen([PROGRAM, *words], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    return child.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def table(points):
    return "x_mm,y_mm\n" + "".join(f"{x:.9f},{y:.9f}\n" for x, y in points)


def rim(count):
    turns = (2 * math.pi * i / count for i in range(count))
    return table((0.15 * (1 + 0.02 * math.sin(9 * t)) * math.cos(t), 0.15 * math.sin(t)) for t in turns)


def strokes(count):
    """Long strokes that all cross."""
    return table((i * 1e-5, 0.3 * (i % 2)) for i in range(count))


def rings(count):
    """Rings in each other, of 24 points."""
    def ring(radius):
        return "".join(f"{radius * math.cos(k * math.pi / 12):.9f},{radius * math.sin(k * math.pi / 12):.9f}\n" for k in range(24))
    return "x_mm,y_mm\n" + "\n".join(ring(0.2 * (i + 1) / count) for i in range(count))


def photo(megapixels, noise_alone=False):
    import numpy
    from PIL import Image

    rows, columns = int(1000 * math.sqrt(megapixels * 3 / 4)), int(1000 * math.sqrt(megapixels * 4 / 3))
    random = numpy.random.default_rng(1)
    noise = random.integers(0, 9, (rows, columns), dtype=numpy.uint8)
    if noise_alone:
        return Image.fromarray(noise * 3)
    y, x = numpy.ogrid[:rows, :columns]
    away = numpy.hypot(x - columns / 2, y - rows / 2) - rows / 5
    light = 20 + 170 / (1 + numpy.exp(numpy.clip(away / 1.5, -40, 40)))
    return Image.fromarray(light.astype(numpy.uint8) + noise)


def sheet(count):
    """So many round holes of about 30 px, in rows."""
    import numpy
    from PIL import Image

    pitch, columns = 60, math.ceil(math.sqrt(1.4 * count))
    random = numpy.random.default_rng(3)
    light = numpy.full((-(-count // columns) * pitch, columns * pitch), 18.0, numpy.float32)
    y, x = numpy.mgrid[0:pitch, 0:pitch]
    for i in range(count):
        row, column = divmod(i, columns)
        middle, radius = pitch / 2 + random.uniform(-2, 2, 2), random.uniform(13, 18)
        away = numpy.hypot(x - middle[0], y - middle[1]) - radius
        cell = light[row * pitch : (row + 1) * pitch, column * pitch : (column + 1) * pitch]
        cell += 170 / (1 + numpy.exp(away / 1.2))
    light += random.normal(0, 2, light.shape)
    return Image.fromarray(light.clip(0, 255).astype(numpy.uint8))


def camera(moves):
    return f'''[film]
distance = "100 mm"
width = "60 mm"
height = "60 mm"
[light]
illuminant = "daylight"
medium = "colour"
[support]
{moves}
'''


def log(count):
    entry = {"format": 1, "time": "2026-03-01T18:04:05Z", "camera": "Cedar box", "diameter_mm": 0.3,
             "diameter_uncertainty_mm": 0.004, "target_mm": 0.38, "band_low_mm": 0.32, "band_high_mm": 0.44,
             "loss": 0.1, "action": "enlarge"}
    return "".join(json.dumps({**entry, "hole": f"hole {i}"}, separators=(",", ":")) + "\n" for i in range(count))


def make(name, maker, arguments):
    content = maker(*arguments)
    if isinstance(content, str):
        with open(name, "w") as file:
            file.write(content)
    else:
        content.save(name, compress_level=1)


def written(name, maker, *arguments):
    """Made by a process of its own: the memory of this one counts as the least of its children."""
    maker = multiprocessing.Process(target=make, args=(name, maker, arguments))
    maker.start()
    maker.join()
    return name


def lines():
    """Each line: what grows, and the runs with their sizes."""
    yield "points of a rim", [(n, ["gauge", "--hole", written(f"rim{n}.csv", rim, n)]) for n in (1000, 10_000, 100_000, 1_000_000)]
    yield "strokes that cross", [(n, ["gauge", "--hole", written(f"s{n}.csv", strokes, n)]) for n in (100, 1000, 10_000, 100_000)]
    yield "rings in each other", [(n, ["gauge", "--hole", written(f"r{n}.csv", rings, n)]) for n in (10, 100, 1000)]
    yield "megapixels of a photo", [(n, ["gauge", "--hole", written(f"p{n}.png", photo, n), *SCALE]) for n in (0.1, 1, 10, 100)]
    yield "megapixels of noise", [(n, ["gauge", "--hole", written(f"n{n}.png", photo, n, True), *SCALE]) for n in (0.1, 1, 10, 100)]
    one = ["--hole", "p10.png"]
    yield "photos of 10 megapixels", [(n, ["gauge", *one * n, *SCALE]) for n in (1, 2, 4, 10)]
    yield "names in a log", [(n, ["log", written(f"l{n}.jsonl", log, n)]) for n in (200, 2000, 20_000, 200_000)]
    yield "pixels along a preview", [(n, ["preview", "--hole", "0.3 mm", "--out", "a.png", "--pixels", str(n)]) for n in (500, 1000, 2000, 4000)]
    yield "holes of a sheet", [(n, ["gauge", "--every", "--hole", written(f"h{n}.png", sheet, n), "--scale", "2400 dpi", "--out", "a.png"]) for n in (5, 50, 500, 5000)]
    sway = lambda um: ["--camera", written(f"c{um}.toml", camera, f'sway = "{um} um"\nsway-period = "2 s"')]
    yield "µm that a camera sways", [(n, ["appraise", "--hole", "0.35 mm", *sway(n)]) for n in (1, 10, 100, 1000)]
    walk = ["--camera", written("walk.toml", camera, 'walk = "0.3 mm in 1 s"')]
    yield "samples along a PSF that moves", [(n, ["psf", "--hole", "0.35 mm", *walk, "--size", str(n)]) for n in (20, 200, 2000)]
    field = ["--field", "a.npy"]
    yield "samples along a field", [(n, ["psf", "--hole", "0.35 mm", *walk, *field, "--size", str(n)]) for n in (10, 100, 1000)]
    stack = ["--stack", "60 mm to 200 mm", "--samples", "a.npy", "--size", "64"]
    yield "members of a stack", [(n, ["psf", "--hole", "0.35 mm", *stack, "--count", str(n)]) for n in (10, 100, 1000)]
    yield "samples along a PSF", [(n, ["psf", "--hole", "0.3 mm", "--size", str(n)]) for n in (64, 256, 1024, 4096)]


with tempfile.TemporaryDirectory() as folder:
    os.chdir(folder)
    print("| what grows | how much | exit | s of processor time | MB | time when ten times as much |")
    print("|---|---|---|---|---|---|")
    for what, runs in lines():
        last = None
        for size, words in runs:
            code, seconds, megabytes = run(words)
            tenfold = ""
            if last and seconds > 0.1:
                tenfold = f"× {10 ** (math.log10(seconds / last[1]) / math.log10(size / last[0])):.1f}"
            print(f"| {what} | {size:g} | {code} | {seconds:.2f} | {megabytes:.0f} | {tenfold} |", flush=True)
            last = (size, max(seconds, 0.05))
