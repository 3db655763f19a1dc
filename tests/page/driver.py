"""A server under test and a browser on it."""

import io
import json
import os
import queue
import re
import shutil
import subprocess
import threading
import time
from pathlib import Path

import numpy
from PIL import Image

# Software drawing, so that no graphics card is needed, and nothing that would speak to anyone else.
FLAGS = [
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--ignore-gpu-blocklist",
    "--no-sandbox",
    "--disable-background-networking",
    "--no-first-run",
]
LONG_S = 60


class Server:
    """`foamwright watch` on a copy of a script in a folder of its own."""

    def __init__(self, program, folder, source, port=0, options=(), path=None):
        """`options` go to the command; `path` is a folder where programs are looked for first."""
        self.program, self.folder, self.options = program, Path(folder), list(options)
        self.environment = dict(os.environ)
        if path:
            self.environment["PATH"] = f"{path}{os.pathsep}{self.environment['PATH']}"
        self.script = self.folder / "part.rhai"
        shutil.copy(source, self.script)
        self.port = port
        self.start()

    def start(self):
        command = [self.program, "watch", self.script.name, "--port", str(self.port), *self.options]
        self.process = subprocess.Popen(
            command,
            cwd=self.folder,
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.said = queue.Queue()
        threading.Thread(target=self._listen, args=(self.process.stdout,), daemon=True).start()
        end = time.monotonic() + LONG_S
        heard = []
        while time.monotonic() < end:
            try:
                heard.append(self.said.get(timeout=0.2))
            except queue.Empty:
                assert self.process.poll() is None, f"the server ended: {heard}"
                continue
            found = re.search(r"http://[\w.]+:(\d+)\S*", heard[-1])
            if found:
                self.address, self.port = found.group(0).rstrip("/"), int(found.group(1))
                return
        raise AssertionError(f"the server told no address: {heard}")

    def _listen(self, stream):
        for line in stream:
            self.said.put(line)

    def stop(self):
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def write(self, text):
        beside = self.script.with_suffix(".new")
        beside.write_text(text)
        beside.replace(self.script)

    def edit(self, old, new):
        text = self.script.read_text()
        assert old in text, old
        self.write(text.replace(old, new))


class Page:
    """The page in a browser; every complaint of the console and every request is kept."""

    def __init__(self, browser, server, **wishes):
        self.server = server
        wishes.setdefault("viewport", {"width": 1280, "height": 800})
        # Flights and glows would make pictures depend on when they are taken.
        wishes.setdefault("reduced_motion", "reduce")
        self.context = browser.new_context(**wishes)
        self.page = self.context.new_page()
        self.complaints, self.requests = [], []
        self.page.on("console", lambda m: self.complaints.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda e: self.complaints.append(str(e)))
        self.page.on("request", lambda r: self.requests.append(r.url))
        self.page.goto(server.address)
        self.wait('#picture[data-shown]', state="attached")

    def wait(self, selector, **how):
        return self.page.wait_for_selector(selector, timeout=LONG_S * 1000, **how)

    def until(self, what, true):
        """Waits until something of the page's own is so."""
        end = time.monotonic() + LONG_S
        while time.monotonic() < end:
            found = true()
            if found:
                return found
            self.page.wait_for_timeout(50)
        raise AssertionError(f"never: {what}")

    def data(self, name):
        return self.page.get_attribute("#picture", f"data-{name}")

    def view(self):
        return json.loads(self.data("view"))

    def build(self):
        return int(self.data("shown").split()[0])

    def text(self, selector):
        return self.page.inner_text(selector)

    def settle(self):
        """Until the page has had its turns at drawing, and drew nothing more."""
        before = None
        while (now := self.data("drawn")) != before or self.data("rests") == "":
            before = now
            for _ in range(2):
                self.page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
            self.page.wait_for_timeout(100)

    def picture(self):
        """The picture as the eye has it: rows of red, green, blue, without what is written over it."""
        self.settle()
        box = self.page.locator("#pane").bounding_box()
        png = self.page.screenshot(clip=box)
        return numpy.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(float)

    def spot(self, x, y, z):
        """Where a point of the part lies in the picture, by the view that the page tells of."""
        v = self.view()
        turn, tilt = numpy.radians(v["turn"]), numpy.radians(v["tilt"])
        right = numpy.array([-numpy.sin(turn), numpy.cos(turn), 0])
        up = numpy.array([-numpy.sin(tilt) * numpy.cos(turn), -numpy.sin(tilt) * numpy.sin(turn), numpy.cos(tilt)])
        scale = min(v["width"], v["height"]) / v["span_mm"]
        off = numpy.array([x, y, z]) - numpy.array(v["target"])
        return v["width"] / 2 + off @ right * scale, v["height"] / 2 - off @ up * scale

    def click(self, x, y, z):
        box = self.page.locator("#pane").bounding_box()
        px, py = self.spot(x, y, z)
        self.page.mouse.click(box["x"] + px, box["y"] + py)

    def touch(self, *ways):
        """Fingers that go down together, each along its way (page pixels), and come up together."""
        session = self.context.new_cdp_session(self.page)
        steps = list(zip(*ways))
        for step in steps:
            what = "touchStart" if step is steps[0] else "touchMove"
            points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(step)]
            session.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": points})
        session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        session.detach()

    def close(self):
        self.context.close()
