"""The same disc in the kinds of files that cameras, scanners and programs write.

    pip install pillow numpy && python make_pictures.py

A bright disc of 24.0 px in diameter (sRGB 230) about (24.3, 23.8) px on a plate of sRGB 40, its edge the exact
share of each pixel by 16 x 16 samples, in linear light. Profiles by Pillow's ImageCms (sRGB), and one matrix
profile of its own with gamma 1.8 by rewriting that one's curves. Written with Pillow 12, numpy 2."""
import io
import struct
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms

HERE = Path(__file__).parent / "pictures"
HERE.mkdir(exist_ok=True)


def light(v):
    v = np.asarray(v, float) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def number(l):
    return np.where(l <= 0.0031308, 12.92 * l, 1.055 * l ** (1 / 2.4) - 0.055)


at = (np.arange(48 * 16) + 0.5) / 16
inside = ((at[None, :] - 24.3) ** 2 + (at[:, None] - 23.8) ** 2 < 12.0**2).astype(float)
share = inside.reshape(48, 16, 48, 16).mean((1, 3))
linear = light(40) + share * (light(230) - light(40))
srgb = number(linear)
grey = Image.fromarray(np.round(255 * srgb).astype(np.uint8), "L")
rgb = grey.convert("RGB")
profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def gamma(icc, power):
    """The profile with its curves replaced by one power, as a 'curv' of one u8Fixed8 number."""
    curve = b"curv\0\0\0\0" + struct.pack(">IHH", 1, round(power * 256), 0)
    count = struct.unpack(">I", icc[128:132])[0]
    tags = [struct.unpack(">4sII", icc[132 + 12 * k : 144 + 12 * k]) for k in range(count)]
    table, data, start = b"", b"", 132 + 12 * count
    for name, offset, size in tags:
        body = curve if name in (b"rTRC", b"gTRC", b"bTRC") else icc[offset : offset + size]
        table += struct.pack(">4sII", name, start + len(data), len(body))
        data += body + b"\0" * (-len(body) % 4)
    whole = icc[4:128] + struct.pack(">I", count) + table + data
    return struct.pack(">I", len(whole) + 4) + whole


power = np.round(255 * linear ** (1 / 1.8)).astype(np.uint8)
rgb.save(HERE / "profile_srgb.png", icc_profile=profile, optimize=True)
Image.fromarray(power, "L").convert("RGB").save(
    HERE / "profile_18.png", icc_profile=gamma(profile, 1.8), optimize=True)
Image.fromarray(power, "L").convert("RGB").save(HERE / "profile_18.webp", lossless=True, icc_profile=gamma(profile, 1.8))
opaque = Image.merge("LA", (grey, Image.new("L", grey.size, 255)))
opaque.save(HERE / "grey_alpha.png", optimize=True)
Image.fromarray(np.round(65535 * srgb).astype(np.uint16)).save(HERE / "deep.png", optimize=True)
Image.fromarray(np.round(65535 * srgb).astype(np.uint16)).save(HERE / "deep.tif", compression="tiff_lzw")
exif = Image.Exif()
exif[0x0112] = 6
rgb.save(HERE / "turned.jpg", quality=95, exif=exif)
# Scans by successive bits and bands, markers to restart at, colours at half the pitch.
rgb.save(HERE / "progressive.jpg", quality=95, progressive=True, restart_marker_rows=1)
grey.save(HERE / "plain.bmp", dpi=(2400, 2400))
rgb.save(HERE / "plain.webp", lossless=True)
rgb.quantize(64).save(HERE / "palette.png", optimize=True)
# Sound, and not read.
rgb.quantize(64).save(HERE / "palette.tif", compression="tiff_lzw")
Image.fromarray(srgb.astype(np.float32), "F").save(HERE / "float.tif", compression="tiff_lzw")
Image.fromarray(np.round(2**20 * srgb).astype(np.int32), "I").save(HERE / "signed.tif", compression="tiff_lzw")
to_lab = ImageCms.buildTransform(ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB")
ImageCms.applyTransform(rgb, to_lab).save(HERE / "lab.tif", compression="tiff_lzw")
