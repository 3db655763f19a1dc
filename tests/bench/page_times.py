"""How long a person at the page waits, in a headless Chromium that draws by software: the slowest way there is.

Usage: page_times.py PROGRAM BROWSER SCRIPT OLD NEW; OLD is a piece of the script that each save changes, NEW what stands
in its place, with {} for a number that grows from save to save. Prints medians in ms: from the save to the first changed
pixel, from the page's address to the first picture of a finished build, and a frame while the part is turned.
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "page"))

from driver import FLAGS, Page, Server  # noqa: E402
from playwright.sync_api import sync_playwright  # noqa: E402

SAVES = 9
TURNS = 20

# Frames while turning, each asked for once the one before is on the screen.
TURN = """async (turns) => {
  const picture = document.getElementById("picture");
  const times = [];
  for (let i = 0; i < turns; i++) {
    const start = performance.now();
    const before = picture.dataset.drawn;
    picture.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowLeft" }));
    while (picture.dataset.drawn === before) await new Promise(requestAnimationFrame);
    // A frame later the drawing is done.
    await new Promise(requestAnimationFrame);
    const gl = picture.getContext("webgl2");
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    times.push(performance.now() - start);
  }
  return times;
}"""


def first_picture(chromium, server):
    start = time.monotonic()
    page = Page(chromium, server)
    took = time.monotonic() - start
    page.close()
    return took


def save_to_pixels(page, text, old, new, number):
    """Until the page has drawn the mesh of the next build."""
    build = page.build()
    changed = text.replace(old, new.format(number), 1)
    start = time.monotonic()
    page.server.write(changed)
    page.page.wait_for_function(
        "(build) => !document.getElementById('picture').dataset.shown.startsWith(`${build} `)", arg=build, polling="raf"
    )
    return time.monotonic() - start


def ms(times):
    return f"{1000 * statistics.median(times):.0f} ms (of {len(times)}, worst {1000 * max(times):.0f})"


def main():
    program, browser, source, old, new = sys.argv[1:]
    text = Path(source).read_text()
    assert old in text, f"{old} isn't in {source}"
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        server = Server(program, folder, source)
        try:
            chromium = play.chromium.launch(executable_path=browser, args=FLAGS)
            page = Page(chromium, server)
            print("first picture:", ms([first_picture(chromium, server) for _ in range(5)]))
            print("save to pixels:", ms([save_to_pixels(page, text, old, new, n) for n in range(1, SAVES + 1)]))
            page.page.wait_for_timeout(4000)
            print("a frame while turning:", ms([t / 1000 for t in page.page.evaluate(TURN, TURNS)]))
            chromium.close()
        finally:
            server.stop()


if __name__ == "__main__":
    main()
