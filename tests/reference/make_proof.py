"""Scans of the chart with one known fault each, made without foramen, and what `foramen prove` says of them.

The chart's outlines on the wall come from `foramen chart --json`; all light is computed here: straight lines
through the hole, the Fresnel integral of a disc as the ray sees it (second order about the ray, matrix
product), convolution by FFT in nine parts of the film, each with its own image of a point; then fog, the curve of the
medium, grain, the scanner's pixels, turn and mirror.

    pip install numpy scipy pillow
    python make_proof.py FORAMEN [first [last]]     all 60 write proof_faults.csv beside this script
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from scipy import ndimage, signal

CAMERA = """name = "Ash box"
[film]
distance = "60 mm"
width = "60 mm"
height = "60 mm"
[light]
wavelength = "550 nm"
"""
WALL_MM, FILM_MM, SIDE_MM, WAVE_MM, DIAMETER_MM = 600.0, 60.0, 60.0, 550e-6, 0.27
DPI = 800
PITCH_MM = 25.4 / DPI / 2          # of the fine picture
ROOM_MM = 4.0                      # that a part is larger than what is kept of it
SPACING_MM = SIDE_MM / 3           # of the parts


def point_image(size, film_mm, place):
    """The image of a point at a place on flat film, on the fine pitch: a disc of `size` mm."""
    x0, y0 = place
    theta = np.arctan2(np.hypot(x0, y0), film_mm)
    cos = np.cos(theta)
    turn = np.arctan2(y0, x0)
    v, u = film_mm / cos, WALL_MM / cos
    z = 1 / (1 / u + 1 / v)
    n = 160
    a = (np.arange(n) + 0.5) / n * size - size / 2
    # Coverage of a circle, each cell by 5 x 5 points; the hole is as wide as it is, and foreshortened across the ray.
    s = (np.arange(5) + 0.5) / 5 - 0.5
    fine = (a[:, None] + s * size / n).ravel()
    hole = (fine[None, :] ** 2 + fine[:, None] ** 2 < (size / 2) ** 2).reshape(n, 5, n, 5).mean((1, 3))
    t, q = a * cos, a              # tangential (columns), sagittal (rows)
    field = hole * np.exp(1j * np.pi / (WAVE_MM * z) * (t[None, :] ** 2 + q[:, None] ** 2))
    half = int(ROOM_MM / PITCH_MM)
    grid = np.arange(-half, half + 1) * PITCH_MM
    # The pattern across the ray, on a grid of its own, and then where the film cuts it.
    wave = np.exp(-2j * np.pi / (WAVE_MM * v) * np.outer(grid, t))
    wave_q = np.exp(-2j * np.pi / (WAVE_MM * v) * np.outer(grid, q))
    pattern = np.abs(wave_q @ field @ wave.T) ** 2
    if theta > 1e-9:
        x, y = np.meshgrid(grid, grid)
        along = (x * np.cos(turn) + y * np.sin(turn)) * cos
        across = y * np.cos(turn) - x * np.sin(turn)
        pattern = ndimage.map_coordinates(pattern, [across / PITCH_MM + half, along / PITCH_MM + half], order=3)
    return np.maximum(pattern, 0) / pattern.sum()


def ideal(shapes, film_mm):
    """The light that a perfect image has on the fine picture of the film, rows from the top (film y up)."""
    size = int(SIDE_MM / PITCH_MM) + 1
    over = 3
    picture = Image.new("L", (size * over, size * over), 255)
    draw = ImageDraw.Draw(picture)
    row, column = np.mgrid[0:size, 0:size]
    for shape in shapes:
        # Light of the wall point (X, Y) falls at -X v/u.
        film = -np.array(shape["outline_mm"]) * film_mm(0, 0) / WALL_MM
        # Where the film is displaced the image moves with it: solved by turns.
        at = film.copy()
        for _ in range(20):
            at = -np.array(shape["outline_mm"]) / WALL_MM * film_mm(at[:, 0], at[:, 1])[:, None]
        # Long sides are bent on bowed film.
        px = [((x + SIDE_MM / 2) / PITCH_MM * over, (SIDE_MM / 2 - y) / PITCH_MM * over) for x, y in at]
        draw.polygon([(a - 0.5, b - 0.5) for a, b in px], fill=shape["code"])
    codes = np.asarray(picture, float) / 255
    light = np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)
    return light.reshape(size, over, size, over).mean((1, 3))


def pieces(outline, count=24):
    """An outline with its sides in pieces, since bowed film bends them."""
    ends = list(zip(outline, outline[1:] + outline[:1]))
    return [[p[0] + (q[0] - p[0]) * i / count, p[1] + (q[1] - p[1]) * i / count] for p, q in ends for i in range(count)]


def film_picture(shapes, fault):
    """The exposure of the film on the fine pitch, over that of bare paper in the middle."""
    kind, amount, angle = fault
    bow = amount if kind == "bowed" else 0.0
    distance = FILM_MM * (1 + amount) if kind == "distance" else FILM_MM
    size = DIAMETER_MM * (amount if kind == "hole" else 1.0)

    def film_mm(x, y):
        # Held at the left and right edge, it bulges in the middle.
        return distance + bow * (1 - (np.asarray(x) / (SIDE_MM / 2)) ** 2) + 0 * np.asarray(y)

    if bow:
        shapes = [dict(shape, outline_mm=pieces(shape["outline_mm"])) for shape in shapes]
    light = ideal(shapes, film_mm)
    n = light.shape[0]
    room = int(ROOM_MM / PITCH_MM)
    wide = np.pad(light, room, constant_values=1.0)
    out = np.empty_like(light)
    edges = np.linspace(0, n, 4).astype(int)
    for i in range(3):
        for j in range(3):
            x = ((edges[j] + edges[j + 1]) / 2) * PITCH_MM - SIDE_MM / 2
            y = SIDE_MM / 2 - ((edges[i] + edges[i + 1]) / 2) * PITCH_MM
            # The octagons lie a little further out than the middles of the parts.
            x, y = np.sign(x) * OCTAGON_MM * (abs(x) > 1), np.sign(y) * OCTAGON_MM * (abs(y) > 1)
            psf = point_image(size, float(film_mm(x, y)), (x, y))
            if kind == "movement":
                psf = smeared(psf, amount, angle)
            # Rows run down and the pattern's y up.
            part = wide[edges[i]:edges[i + 1] + 2 * room, edges[j]:edges[j + 1] + 2 * room]
            out[edges[i]:edges[i + 1], edges[j]:edges[j + 1]] = signal.fftconvolve(part, psf[::-1], mode="valid")
    y, x = np.mgrid[0:n, 0:n]
    x, y = (x + 0.5) * PITCH_MM - SIDE_MM / 2, SIDE_MM / 2 - (y + 0.5) * PITCH_MM
    v = film_mm(x, y)
    out *= (v / np.sqrt(v * v + x * x + y * y)) ** 4 * (FILM_MM / v) ** 2
    if kind == "fog":
        out += amount
    return out


def smeared(psf, length, angle):
    f = [np.fft.fftfreq(n, PITCH_MM) for n in psf.shape]
    factor = np.sinc(length * (f[1][None, :] * np.cos(angle) + f[0][:, None] * np.sin(angle)))
    return np.real(np.fft.ifft2(np.fft.fft2(psf) * factor))


def scan(film, fault, look, rng, path):
    """The scan of the film: medium, scanner, turn, grain."""
    kind, amount, _ = fault
    medium, turn, mirror = look
    value = {"linear": lambda e: 0.6 * e,
             "print": lambda e: 0.55 * e ** 0.7,
             "negative": lambda e: 0.12 * (e + 0.01) ** -0.45}[medium](np.maximum(film, 1e-4))
    # The scanner's square pixel, and its blur.
    f = [np.fft.fftfreq(n, PITCH_MM) for n in value.shape]
    pixel = 25.4 / DPI
    factor = np.sinc(f[1] * pixel)[None, :] * np.sinc(f[0] * pixel)[:, None]
    if kind == "scanner":
        factor = factor * np.exp(-2 * (np.pi * amount) ** 2 * (f[1][None, :] ** 2 + f[0][:, None] ** 2))
    value = np.real(np.fft.ifft2(np.fft.fft2(value) * factor))
    n = int(SIDE_MM * 1.12 / pixel)
    row, column = np.mgrid[0:n, 0:n]
    x, y = (column + 0.5 - n / 2) * pixel, (n / 2 - row - 0.5) * pixel
    if mirror:
        x = -x
    x, y = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
    at = [(SIDE_MM / 2 - y) / PITCH_MM - 0.5, (x + SIDE_MM / 2) / PITCH_MM - 0.5]
    picture = ndimage.map_coordinates(value, at, order=3, cval=0.02)
    picture = picture + 0.008 * np.median(value) * rng.standard_normal(picture.shape)
    picture = np.clip(picture, 0, 1)
    code = np.where(picture <= 0.0031308, 12.92 * picture, 1.055 * np.maximum(picture, 1e-9) ** (1 / 2.4) - 0.055)
    Image.fromarray(np.round(code * 65535).astype(np.uint16)).save(path)


def faults():
    rng = np.random.default_rng(19)
    looks = [("linear", 0.01, False), ("print", np.pi / 2 - 0.02, False), ("negative", np.pi + 0.015, True)]
    all_faults = [("none", 0.0, 0.0)] * 20
    all_faults += [("movement", m, rng.uniform(0, np.pi)) for m in (0.05, 0.08, 0.1, 0.13, 0.17, 0.22, 0.28, 0.35, 0.42, 0.5)]
    all_faults += [("distance", d, 0.0) for d in (-0.1, -0.08, -0.05, 0.05, 0.08, 0.1)]
    all_faults += [("bowed", h, 0.0) for h in (-4.0, -3.0, -2.0, 2.0, 3.0, 4.0)]
    all_faults += [("hole", q, 0.0) for q in (0.9, 0.9, 0.9, 1.1, 1.1, 1.1)]
    all_faults += [("fog", s, 0.0) for s in (0.08, 0.1, 0.15, 0.2, 0.25, 0.3)]
    all_faults += [("scanner", s, 0.0) for s in (0.03, 0.035, 0.04, 0.05, 0.06, 0.07)]
    return [(fault, looks[i % 3]) for i, fault in enumerate(all_faults)]


def named(answer, fault):
    """Whether the fault is what is said, and its size over the true one."""
    kind, amount, _ = fault
    found = {f["finding"]: f for f in answer["findings"]}
    blurred = found.get("blurred", found.get("trace", {}))
    # A distance, a bow and fog are not blur; what moves, softens or resizes is one only.
    if kind == "none":
        return set(found) - {"trace"} == {"as-sharp"}, 1.0
    if kind == "movement":
        return blurred.get("kind") == "moved", blurred.get("length_mm", 0) / amount
    if kind == "scanner":
        return blurred.get("kind") == "softened", blurred.get("sigma_mm", 0) / amount
    if kind == "hole":
        return blurred.get("kind") == "resized", (blurred.get("factor", 1) - 1) / (amount - 1)
    if kind == "distance":
        return "distance" in found and "bowed" not in found, found.get("distance", {}).get("film_mm", 0) / (amount * FILM_MM)
    if kind == "bowed":
        bend = answer["depth"]["terms_mm"][3] * (SIDE_MM / 2 / OCTAGON_MM) ** 2
        return "bowed" in found, -bend / amount
    if kind == "fog":
        return "fogged" in found, found.get("fogged", {}).get("share", 0) / amount
    raise ValueError(kind)


def main():
    global OCTAGON_MM
    foramen = sys.argv[1:2] or ["foramen"]
    first, last = (int(word) for word in (sys.argv[2:] + ["0", "60"][len(sys.argv) - 2:]))
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        (folder / "camera.toml").write_text(CAMERA)
        said = ["--camera", folder / "camera.toml", "--distance", f"{WALL_MM} mm", "--json"]
        chart = json.loads(subprocess.run(foramen + ["chart", *said], capture_output=True, check=True).stdout)
        shapes = chart["shapes"]
        corner = np.array(shapes[0]["outline_mm"]).mean(0)
        OCTAGON_MM = float(np.abs(corner).max() * FILM_MM / WALL_MM)
        rows = []
        for number, (fault, look) in list(enumerate(faults()))[first:last]:
            rng = np.random.default_rng(1000 + number)
            path = folder / "scan.png"
            scan(film_picture(shapes, fault), fault, look, rng, path)
            words = foramen + ["prove", *said, "--hole", f"{DIAMETER_MM} mm", "--picture", path, "--dpi", str(DPI)]
            run = subprocess.run(words, capture_output=True)
            if run.returncode:
                rows.append((number, *fault, look[0], False, 0.0, run.stderr.decode().strip()))
            else:
                answer = json.loads(run.stdout)
                right, ratio = named(answer, fault)
                words = "; ".join(f"{f['finding']} {f.get('kind', '')}".strip() for f in answer["findings"])
                rows.append((number, *fault, look[0], right, ratio, words))
            print(rows[-1], flush=True)
    lines = ["number,fault,amount,direction_rad,medium,named,size_over_true,found"]
    lines += [f"{n},{k},{a:g},{d:.4f},{m},{'yes' if r else 'no'},{s:.3f},\"{w}\"" for n, k, a, d, m, r, s, w in rows]
    if (first, last) == (0, 60):
        (Path(__file__).parent / "proof_faults.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
