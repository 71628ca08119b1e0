"""Photos of known holes, and what general-purpose libraries make of them.

Draws eight small photos (16 times oversampled outline, Gaussian blur, uneven light, noise; 8-bit
sRGB PNG) and measures each by a plain threshold in linear light: Otsu's level of scikit-image with
regionprops, the half level between the medians of border and middle with scikit-image's subpixel
contour, and the same half level with OpenCV's findContours. All numbers are pixels.

Run: python make_thresholds.py (numpy, scipy, scikit-image, opencv-python, pillow); writes
thresholds.csv and threshold_*.png beside itself. The state of the generator is fixed.
"""

from pathlib import Path

import cv2
import numpy as np
import skimage
from PIL import Image
from scipy.ndimage import gaussian_filter
from skimage.filters import threshold_otsu
from skimage.measure import find_contours, label, regionprops

HERE = Path(__file__).parent
SIDE, OVER = 128, 16
CASES = [  # diameter, oval, lobes, blur, noise, fall-off
    (70.3, 0.00, 0.00, 0.6, 0.000, 0.0),
    (70.3, 0.05, 0.00, 1.0, 0.005, 0.2),
    (40.7, 0.00, 0.03, 1.0, 0.010, 0.3),
    (24.9, 0.04, 0.00, 1.0, 0.005, 0.2),
    (60.1, 0.03, 0.02, 2.0, 0.010, 0.3),
    (35.5, 0.02, 0.00, 2.5, 0.005, 0.0),
    (15.3, 0.00, 0.00, 0.8, 0.005, 0.1),
    (80.2, 0.06, 0.03, 1.5, 0.020, 0.4),
]


def decode(value):
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def encode(light):
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def drawn(index, diameter, oval, lobes, blur, noise, fall_off):
    random = np.random.default_rng(index)
    x0, y0 = SIDE / 2 + random.uniform(-3, 3, 2)
    at = (np.arange(SIDE * OVER) + 0.5) / OVER
    x, y = np.meshgrid(at - x0, at - y0)
    angle = np.arctan2(y, x)
    # The area of r = R (1 + a cos 2φ + b cos 3φ) is π R² (1 + a²/2 + b²/2).
    radius = diameter / 2 / np.sqrt(1 + oval**2 / 2 + lobes**2 / 2)
    rim = radius * (1 + oval * np.cos(2 * angle + 0.4) + lobes * np.cos(3 * angle))
    inside = np.hypot(x, y) < rim
    open_ = inside.reshape(SIDE, OVER, SIDE, OVER).mean((1, 3))
    open_ = gaussian_filter(open_, blur)
    u, v = np.meshgrid(np.linspace(-1, 1, SIDE), np.linspace(-1, 1, SIDE))
    lit = 1 - fall_off * (u * u + v * v) / 2 - 0.15 * fall_off * u
    light = lit * (0.06 + 0.64 * open_)
    light += noise * np.sqrt(np.maximum(light, 0.002)) * random.standard_normal(light.shape)
    name = f"threshold_{index}.png"
    Image.fromarray(np.round(255 * encode(light)).astype(np.uint8)).save(HERE / name)
    return name


def diameter_of(area):
    return 2 * np.sqrt(area / np.pi)


def polygon_area(points):
    x, y = points[:, 0], points[:, 1]
    return abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def measured(name):
    light = decode(np.asarray(Image.open(HERE / name), float) / 255)
    otsu = label(light > threshold_otsu(light))
    pixels = max(regionprops(otsu), key=lambda region: region.area)
    border = np.concatenate([light[:6].ravel(), light[-6:].ravel()])
    row, column = (int(round(c)) for c in pixels.centroid)
    middle = light[row - 2 : row + 3, column - 2 : column + 3]
    half = 0.5 * (np.median(border) + np.median(middle))
    contour = max(find_contours(light, half), key=polygon_area)
    mask = (light > half).astype(np.uint8)
    traced, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv = max(cv2.contourArea(c) for c in traced)
    return diameter_of(pixels.area), diameter_of(polygon_area(contour)), diameter_of(cv)


rows = []
for index, case in enumerate(CASES):
    name = drawn(index, *case)
    rows.append((name, case[0], *measured(name)))
with open(HERE / "thresholds.csv", "w") as table:
    table.write(f"# scikit-image {skimage.__version__}, OpenCV {cv2.__version__}; diameters in px\n")
    table.write("file,truth,otsu_pixels,half_contour,opencv_contour\n")
    for row in rows:
        table.write(row[0] + "".join(f",{value:.6f}" for value in row[1:]) + "\n")
