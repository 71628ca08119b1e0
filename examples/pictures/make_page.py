"""Makes README's pictures of the page again: `python examples/pictures/make_page.py` after `cargo build --release`.

A verdict and the sliders as a browser shows them, and a recording of the diameter's slider as APNG. Needs Pillow,
chromium and chromium-driver.
"""

import io
import pathlib
import sys
import tempfile

from PIL import Image

HERE = pathlib.Path(__file__).resolve().parent
sys.path.append(str(HERE.parents[1] / "benches" / "page"))

from browser import Bench, Browser  # noqa: E402

WIDTH = 640
# Positions of the diameter's slider, in thousandths of the rule: from too small to too large.
POSITIONS = range(80, 960, 120)


def small(picture, colours, width=WIDTH):
    size = (width, round(picture.height * width / picture.width))
    return picture.convert("RGB").resize(size, Image.Resampling.LANCZOS).quantize(colours, kmeans=1, dither=Image.Dither.NONE)


def seen(browser, part=None):
    with tempfile.NamedTemporaryFile(suffix=".png") as file:
        browser.picture(file.name, whole=False)
        picture = Image.open(io.BytesIO(pathlib.Path(file.name).read_bytes())).convert("RGB")
    return picture.crop(part) if part else picture


bench = Bench()
browser = Browser(1440, 900)
try:
    browser.open(bench.address)
    browser.run("document.getElementById('invented').click()")
    browser.until("document.querySelector('#keep [data-file]')")
    small(seen(browser), 255).save(HERE / "page-verdict.png", optimize=True)
    browser.open(bench.address + "what-if")
    browser.until("document.body.dataset.shown")
    small(seen(browser), 255).save(HERE / "page-what-if.png", optimize=True)
    frames = []
    for position in POSITIONS:
        browser.run(
            "const at = document.body.dataset.shown; const s = document.getElementById('handle'); s.value = arguments[0];"
            "s.dispatchEvent(new Event('input', { bubbles: true })); window.before = at",
            position,
        )
        browser.until("document.body.dataset.shown !== window.before")
        frames.append(small(seen(browser, (0, 60, 1440, 580)), 48, 440))
    both = frames + frames[-2:0:-1]
    both[0].save(HERE / "page-slider.png", save_all=True, append_images=both[1:], duration=320, loop=0, optimize=True)
finally:
    browser.end()
    bench.end()
