"""A Chromium without a window, by the W3C WebDriver protocol, and the bench to look at. Standard library alone.

    apt-get install chromium chromium-driver
"""

import base64
import json
import socket
import subprocess
import time
import urllib.request
from pathlib import Path

PROGRAM = Path(__file__).parents[2] / "target/release/foramen"


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Bench:
    """`foramen serve`, ended with the script."""

    def __init__(self, program=PROGRAM, *words):
        self.process = subprocess.Popen([program, "serve", "--no-open", *words], stdout=subprocess.PIPE, text=True)
        self.address = self.process.stdout.readline().strip()

    def memory_mb(self):
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return next(int(line.split()[1]) / 1024 for line in status.splitlines() if line.startswith("VmRSS"))

    def cpu_s(self):
        """Seconds of all cores."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / 100

    def end(self):
        self.process.terminate()
        self.process.wait()


class Browser:
    def __init__(self, width=1440, height=900, dark=False, more=()):
        self.port = free_port()
        self.driver = subprocess.Popen(["chromedriver", f"--port={self.port}"], stdout=subprocess.DEVNULL)
        for _ in range(100):
            try:
                socket.create_connection(("127.0.0.1", self.port)).close()
                break
            except OSError:
                time.sleep(0.1)
        words = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--hide-scrollbars",
                 "--disable-background-networking", f"--window-size={width},{height}",
                 f"--blink-settings=preferredColorScheme={0 if dark else 1}", *more]
        options = {"binary": "/usr/bin/chromium", "args": words}
        if width < 500:
            options["mobileEmulation"] = {"deviceMetrics": {"width": width, "height": height, "pixelRatio": 2}}
        asked = {"goog:chromeOptions": options, "goog:loggingPrefs": {"browser": "ALL"}}
        self.session = self.call("POST", "/session", {"capabilities": {"alwaysMatch": asked}})["sessionId"]

    def call(self, method, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        asked = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", method=method, data=data,
                                       headers={"content-type": "application/json"})
        return json.load(urllib.request.urlopen(asked, timeout=180))["value"]

    def ask(self, path, body):
        return self.call("POST", f"/session/{self.session}{path}", body)

    def open(self, address):
        self.ask("/url", {"url": address})

    def run(self, script, *words, kind="sync"):
        return self.ask(f"/execute/{kind}", {"script": script, "args": list(words)})

    def keys(self, css, text):
        found = self.ask("/element", {"using": "css selector", "value": css})
        self.ask(f"/element/{next(iter(found.values()))}/value", {"text": text})

    def until(self, expression, seconds=120):
        end = time.time() + seconds
        while not self.run(f"return !!({expression})"):
            if time.time() > end:
                raise TimeoutError(expression)
            time.sleep(0.02)

    def picture(self, path, whole=True):
        width, height = self.run("return [innerWidth, document.documentElement.scrollHeight]")
        words = {"captureBeyondViewport": True}
        if whole:
            words["clip"] = {"x": 0, "y": 0, "width": width, "height": height, "scale": 1}
        taken = self.ask("/goog/cdp/execute", {"cmd": "Page.captureScreenshot", "params": words})
        Path(path).write_bytes(base64.b64decode(taken["data"]))

    def complaints(self):
        return [line["message"] for line in self.ask("/se/log", {"type": "browser"}) if line["level"] == "SEVERE"]

    def end(self):
        self.call("DELETE", f"/session/{self.session}")
        self.driver.terminate()
        self.driver.wait()
