"""Pictures of every view, to be looked at, and what axe-core says of each.

    npm install axe-core html-validate
    python benches/page/look.py OUT [node_modules/axe-core/axe.min.js]

The HTML of each view is written beside the pictures, for `npx html-validate OUT/*.html`.
"""

import json
import os
import sys
import urllib.request
from pathlib import Path

from browser import PROGRAM, Bench, Browser

out = Path(sys.argv[1])
axe = Path(sys.argv[2]).read_text() if len(sys.argv) > 2 else ""
program = os.environ.get("FORAMEN", PROGRAM)
out.mkdir(parents=True, exist_ok=True)
log = out / "bench.jsonl"
log.unlink(missing_ok=True)
bench = Bench(program, "--log", str(log))
photo = os.environ.get("PHOTO")

SIZES = {"desktop": (1440, 900), "projector": (1024, 768), "phone": (390, 844)}
only = os.environ.get("ONLY", "desktop projector phone").split()
faults = 0


def taken(browser, name):
    global faults
    browser.picture(out / f"{name}.png")
    for line in browser.complaints():
        print(name, "browser:", line)
        faults += 1
    if axe:
        browser.run(axe)
        found = browser.run("axe.run().then(arguments[0])", kind="async")
        for fault in found["violations"]:
            places = [" ".join(node["target"]) if isinstance(node["target"][0], str) else "" for node in fault["nodes"]]
            print(name, "axe:", fault["id"], fault["help"], places[:4], fault["nodes"][0].get("failureSummary", "")[:300])
            faults += 1


for dark in (False, True):
    for size in only:
        width, height = SIZES[size]
        browser = Browser(width, height, dark)
        tail = f"{size}-{'dark' if dark else 'light'}"
        browser.open(bench.address)
        taken(browser, f"first-{tail}")
        if photo:
            browser.keys("#photo", photo)
            browser.until("document.querySelector('.stage .ring') || document.querySelector('#word')")
            if browser.run("return !!document.querySelector('.stage')"):
                browser.run("document.querySelector('.ring').focus()")
                taken(browser, f"photo-{tail}")
                browser.run("document.querySelector('[name=dpi]').value = '25400'; document.querySelector('.spot')?.click(); document.querySelector('.aside .press').click()")
        else:
            browser.keys("[name=size]", "0.35 mm\ue007")
        browser.until("document.querySelector('[data-file]')")
        taken(browser, f"appraise-{tail}")
        if not dark and size == only[0]:
            browser.run("[...document.querySelectorAll('#keep button')].find((b) => b.textContent == 'Add to the log').click()")
            browser.until("document.querySelector('#keep').innerText.includes('Added.')")
        browser.open(bench.address + "what-if")
        browser.until("document.body.dataset.shown")
        taken(browser, f"what-if-{tail}")
        for view in ("camera", "log"):
            browser.open(bench.address + view)
            browser.until("document.readyState == 'complete'")
            taken(browser, f"{view}-{tail}")
        browser.end()

for view in ("", "what-if", "camera", "log"):
    page = urllib.request.urlopen(bench.address + view).read().decode()
    (out / f"{view or 'appraise'}.html").write_text(page)
bench.end()
print(json.dumps({"faults": faults}))
