"""Times of the page in a real browser, from event to paint, and the memory of the idle program.

    python benches/page/measure.py PHOTO.jpg PX_PER_MM

The photo is to have 12 megapixels. Times of a busy machine are too long: run it alone.
"""

import os
import statistics
import sys
import time

from browser import PROGRAM, Bench, Browser

photo, px_per_mm = sys.argv[1], sys.argv[2]
bench = Bench(os.environ.get("FORAMEN", PROGRAM))
time.sleep(1)
print(f"idle memory: {bench.memory_mb():.0f} MB")
browser = Browser()

browser.open(bench.address)
paint = browser.run("return performance.getEntriesByName('first-contentful-paint')[0]?.startTime")
print(f"first paint: {paint:.0f} ms")

# From the file's choice to the frame after each stage's words.
WATCH = """
const [px] = arguments; const ask = document.getElementById('ask');
ask.elements.px.value = px; ask.elements.apart.value = '1';
window.times = {};
document.getElementById('photo').addEventListener('change', () => { window.began = performance.now(); }, { capture: true });
new MutationObserver(() => requestAnimationFrame(() => requestAnimationFrame(() => {
  const now = performance.now() - window.began;
  for (const [name, css] of [['verdict', '#word'], ['point', '#point img'], ['picture', '#picture img'], ['files', '[data-file]']])
    if (document.querySelector(css)) window.times[name] ??= now;
}))).observe(document.body, { childList: true, subtree: true });
"""
stages = []
for _ in range(5):
    browser.open(bench.address)
    browser.run(WATCH, px_per_mm)
    browser.keys("#photo", photo)
    browser.until("window.times.files")
    stages.append(browser.run("return window.times"))
for name in ("verdict", "point", "picture", "files"):
    print(f"{name}: {statistics.median(times[name] for times in stages):.0f} ms")

MOVE = """
const [css, done] = arguments; const one = document.querySelector(css); const times = [];
async function move(i) {
  if (i === 100) return done(times);
  const began = performance.now(); const before = document.body.dataset.shown;
  one.value = 300 + 4 * i; one.dispatchEvent(new Event('input'));
  const wait = () => document.body.dataset.shown === before ? setTimeout(wait, 1)
    : requestAnimationFrame(() => { times.push(performance.now() - began); setTimeout(() => move(i + 1), 5); });
  wait();
}
move(0);
"""
for name, css in (("diameter", "#handle"), ("oval", "[data-for=oval]"), ("hole to film", "[data-for=film]")):
    browser.open(bench.address + "what-if")
    browser.until("document.querySelector('#handle') && document.body.dataset.shown")
    times = sorted(browser.run(MOVE, css, kind="async"))
    print(f"slider, {name}: median {times[50]:.0f} ms, 95th of 100 {times[95]:.0f} ms")

# The page is closed in the middle of the work: what the program still burns after a fifth of a second.
browser.open(bench.address)
browser.run(WATCH, px_per_mm)
browser.keys("#photo", photo)
browser.until("document.querySelector('#word')")
browser.open("about:blank")
time.sleep(0.2)
before = bench.cpu_s()
time.sleep(2)
print(f"CPU in the two seconds that begin 0.2 s after the page is closed: {bench.cpu_s() - before:.2f} s")
print(f"memory after all that: {bench.memory_mb():.0f} MB")
browser.end()
bench.end()
