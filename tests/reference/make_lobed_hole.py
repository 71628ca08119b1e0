"""Draws lobed_hole.jpg: a photo whose true outline is known, made without the project's own code.

r(phi) = 60 (1 + 0.04 cos 3 phi + 0.02 cos(2 phi + 1)) px, y up, about (171.3, 148.8) px from the upper left,
by 16 x 16 samples a pixel; Gaussian blur of 1.4 px; light falling off to the sides; noise; sRGB; JPEG of
quality 90, lying on its side with EXIF orientation 6 ("turn a quarter turn clockwise").
Area: pi 60^2 (1 + (0.04^2 + 0.02^2)/2), so the disc of the same area is 120.0600 px across (closed form).
The lobes point to phi = 0, 120, 240 degrees; the widest is near 0.
Tools: NumPy 2, Pillow. Run: python make_lobed_hole.py
"""

import numpy as np
from PIL import Image

WIDTH, HEIGHT, FINE = 340, 300, 16
y, x = np.mgrid[0 : HEIGHT * FINE, 0 : WIDTH * FINE]
x, y = (x + 0.5) / FINE - 171.3, 148.8 - (y + 0.5) / FINE
phi = np.arctan2(y, x)
rim = 60 * (1 + 0.04 * np.cos(3 * phi) + 0.02 * np.cos(2 * phi + 1))
open_area = (np.hypot(x, y) < rim).reshape(HEIGHT, FINE, WIDTH, FINE).mean((1, 3))

step = np.arange(-7, 8)
gauss = np.exp(-(step**2) / (2 * 1.4**2))
gauss /= gauss.sum()
for axis in (0, 1):
    open_area = np.apply_along_axis(np.convolve, axis, open_area, gauss, "same")

fall_off = 1 - 0.3 * ((np.arange(WIDTH) - WIDTH / 2) / (WIDTH / 2)) ** 2
metal = 0.03 + 0.02 * np.linspace(0, 1, HEIGHT)[:, None]
light = metal + 0.75 * open_area * fall_off + np.random.default_rng(5).normal(0, 0.006, (HEIGHT, WIDTH))
light = np.clip(light, 0, 1)
srgb = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
upright = Image.fromarray((255 * srgb + 0.5).astype(np.uint8))
exif = Image.Exif()
exif[0x0112] = 6
upright.transpose(Image.Transpose.ROTATE_90).save("lobed_hole.jpg", quality=90, exif=exif)
