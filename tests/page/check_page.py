"""The preview's page in a real browser, served by a real `foamwright watch`.

Usage: check_page.py PROGRAM BROWSER [NAME ...]; names pick checks. Prints one line a check and a count; ends with 1
when one failed. Sizes that are checked against come from the scripts part.rhai and foam.rhai.
"""

import os
import sys
import tempfile
import traceback
from pathlib import Path

import numpy
from playwright.sync_api import sync_playwright

from driver import FLAGS, Page, Server

HERE = Path(__file__).parent

# Colours of the face of a cut, by day: its ground and its marks (tints.js).
METAL_CUT = (numpy.array([0xF2, 0xEA, 0xD6]), numpy.array([0x6A, 0x55, 0x30]))
FOAM_CUT = (numpy.array([0xFB, 0xFC, 0xFF]), numpy.array([0x8F, 0xA3, 0xC7]))


def empty(picture):
    """Where nothing but the ground behind is seen: light, and without colour."""
    red, blue = picture[..., 0], picture[..., 2]
    return (picture.min(axis=-1) >= 0xD5) & (picture.max(axis=-1) <= 0xFB) & (blue - red <= 2) & (blue - red >= -6)


def between(picture, ends):
    """Which pixels lie on the straight way from one colour to the other."""
    way = (ends[1] - ends[0]).astype(float)
    t = ((picture - ends[0]) @ way) / (way @ way)
    off = numpy.abs(picture - ends[0] - t[..., None] * way).max(axis=-1)
    return (off < 5) & (t > -0.03) & (t < 1.03)


def part_of(page, picture, low, high, inset=3):
    """The pixels between two points of the part that lie square to the eye, less a few at the rim."""
    (x0, y0), (x1, y1) = page.spot(*low), page.spot(*high)
    (x0, x1), (y0, y1) = sorted((x0, x1)), sorted((y0, y1))
    return picture[round(y0) + inset : round(y1) - inset, round(x0) + inset : round(x1) - inset]


def draws(page):
    picture = page.picture()
    share = 1 - empty(picture).mean()
    assert 0.15 < share < 0.95, f"the part covers {share:.0%}"
    assert picture.reshape(-1, 3).std(axis=0).max() > 10, "one flat colour"
    assert page.text("#block .part dd") == "block with a hole"
    block = page.text("#block")
    assert "80 × 60 × 42 mm" in block and "A356" in block, block


def steps_along_the_stages(page):
    for number, stage in enumerate(["casting", "pattern", "finished"]):
        view = page.view()
        page.page.click(f"[data-stage={stage}]")
        page.until(stage, lambda: page.data("shown").endswith(stage))
        page.settle()
        assert page.view() == view, f"the view moved at step {number}"
        assert stage in page.text("#block")


def click_picks(page):
    page.page.keyboard.press("z")
    page.settle()
    for point, name in [((25, 0, 42), "post"), ((0, 20, 30), "block"), ((-30, -20, 30), "block")]:
        page.click(*point)
        assert page.text("#chosen h2") == name, (point, page.text("#chosen h2"))
        assert page.text("#list [aria-current=true] b") == name
    page.page.keyboard.press("i")
    page.settle()
    # The hole's wall, over the rim of its mouth, from a corner: farther than the axis as the eye goes.
    page.click(-15 - 11.99 * 0.47, 11.99 * 0.88, 26)
    assert page.text("#chosen h2") == "hole"
    assert "part.rhai:7" in page.text("#chosen")
    # The middle of the picture, by key alone.
    page.page.keyboard.press("Escape")
    page.page.focus("#picture")
    page.page.keyboard.press("z")
    page.settle()
    page.page.keyboard.press("Enter")
    assert page.text("#chosen h2") == "block"
    page.page.keyboard.press("Escape")
    assert page.page.locator("#chosen h2").count() == 0


def list_lights_up(page):
    page.page.mouse.move(2, 2)
    page.page.evaluate("document.activeElement.blur()")
    before = page.picture()
    page.page.hover("#list .feature:has-text('pin')")
    lit = page.picture()
    changed = numpy.abs(lit - before).max(axis=-1) > 12
    # The pin lies within the metal or on its side: seen through it.
    assert changed.sum() > 50, changed.sum()
    page.page.mouse.move(2, 2)
    assert numpy.abs(page.picture() - before).max() < 3, "stays lit"


def finding_shows_its_place(page):
    before = page.view()
    page.page.click("#list .finding.stop")
    page.settle()
    assert page.text("#chosen .kind").startswith("breaks-into")
    names = page.text("#chosen .named")
    assert "vent" in names and "pin" in names, names
    assert page.view() != before, "the view went nowhere"
    page.page.keyboard.press("Escape")
    page.page.keyboard.press("f")
    page.settle()


def turns_and_comes_closer(page):
    page.page.focus("#picture")
    page.page.keyboard.press("i")
    page.settle()
    start = page.view()
    page.page.keyboard.press("ArrowRight")
    page.page.keyboard.press("ArrowUp")
    page.page.keyboard.press("+")
    page.page.keyboard.press("Shift+ArrowLeft")
    page.settle()
    after = page.view()
    assert after["turn"] != start["turn"] and after["tilt"] != start["tilt"]
    assert after["span_mm"] < start["span_mm"] and after["target"] != start["target"]
    box = page.page.locator("#pane").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.page.mouse.move(x, y)
    page.page.mouse.down()
    page.page.mouse.move(x + 60, y + 20, steps=5)
    page.page.mouse.up()
    page.settle()
    dragged = page.view()
    assert dragged["turn"] != after["turn"] and dragged["target"] == after["target"]
    page.page.mouse.wheel(0, -240)
    page.settle()
    assert page.view()["span_mm"] < dragged["span_mm"]
    page.page.keyboard.press("i")
    page.settle()


def rests_when_nothing_changes(page):
    page.settle()
    before = page.data("drawn")
    page.page.wait_for_timeout(700)
    assert page.data("drawn") == before, "draws without a cause"


def cut_is_solid(page):
    page.page.click("#cut")
    page.page.keyboard.press("y")
    page.page.keyboard.press("y")
    page.page.check("[name=axis][value='1']")
    page.page.fill("#cutfield", "0")
    page.page.press("#cutfield", "Enter")
    look_at_cut(page, METAL_CUT, 1.0)
    page.page.click("#flip")
    page.page.focus("#picture")
    page.page.keyboard.press("y")
    look_at_cut(page, METAL_CUT, 1.0)
    page.page.click("#flip")
    page.page.focus("#picture")
    page.page.keyboard.press("y")
    page.page.click("[data-stage=pattern]")
    page.until("pattern", lambda: page.data("shown").endswith("pattern"))
    shrink = 1.013  # A356, metals table
    look_at_cut(page, FOAM_CUT, shrink)
    page.page.click("[data-stage=finished]")
    page.until("finished", lambda: page.data("shown").endswith("finished"))
    page.page.focus("#cutat")
    at = page.page.input_value("#cutfield")
    page.page.keyboard.press("ArrowRight")
    assert page.page.input_value("#cutfield") != at, "the slider moves nothing"
    page.page.click("#cut")
    page.settle()


def cut_is_dragged(page):
    field = lambda: float(page.page.input_value("#cutfield"))
    page.page.keyboard.press("i")
    page.page.click("#cut")
    page.page.check("[name=axis][value='1']")
    page.page.fill("#cutfield", "0")
    page.page.press("#cutfield", "Enter")
    page.settle()
    view = page.view()
    # The mark stands below the middle of the part, 80 long: x 0, z -4. It goes where the point 12 mm on along y lies.
    drag(page, inside(page, (0, 0, -4)), inside(page, (0, 12, -4)))
    assert abs(field() - 12) < 0.5, field()
    assert page.view() == view, "the part turned as well"
    # Square at it, up the picture is away from the eye.
    page.page.focus("#picture")
    page.page.keyboard.press("y")
    page.settle()
    v = page.view()
    mm = v["span_mm"] / min(v["width"], v["height"])
    x, y = inside(page, (0, 12, -4))
    away = 1 if abs(v["turn"] + 90) < 1e-6 else -1
    drag(page, (x, y), (x, y - 40))
    assert abs(field() - (12 + away * 40 * mm)) < 0.5, (field(), mm, v)
    # A press elsewhere turns the part and leaves the cut.
    at, before = field(), page.view()
    drag(page, (x + 120, y), (x + 180, y + 10))
    assert field() == at and page.view()["turn"] != before["turn"]
    page.page.click("#cut")
    page.page.focus("#picture")
    page.page.keyboard.press("i")
    page.settle()


def drag(page, start, end):
    page.page.mouse.move(*start)
    page.page.mouse.down()
    page.page.mouse.move(*end, steps=6)
    page.page.mouse.up()
    page.settle()


def fingers_turn_and_pinch(page):
    page.page.focus("#picture")
    page.page.keyboard.press("i")
    page.page.keyboard.press("f")
    page.settle()
    box = page.page.locator("#pane").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = page.view()
    page.touch([(x + 10 * i, y) for i in range(6)])
    page.settle()
    turned = page.view()
    assert turned["turn"] != before["turn"] and turned["span_mm"] == before["span_mm"]
    # From 80 to 160 pixels apart: twice as close, the middle staying where it is.
    page.touch([(x - 40 - 10 * i, y) for i in range(5)], [(x + 40 + 10 * i, y) for i in range(5)])
    page.settle()
    pinched = page.view()
    assert abs(turned["span_mm"] / pinched["span_mm"] - 2) < 0.02, (turned, pinched)
    assert pinched["turn"] == turned["turn"], "a pinch turns nothing"
    page.page.keyboard.press("z")
    page.page.keyboard.press("f")
    page.settle()
    page.touch([inside(page, (25, 0, 42))])
    page.until("the post", lambda: page.page.locator("#chosen h2").count() and page.text("#chosen h2") == "post")
    page.page.keyboard.press("Escape")
    page.page.keyboard.press("i")
    page.settle()


def line_opens_the_editor(page):
    page.page.click("#list .feature:has-text('post')")
    page.page.click("#chosen .place")
    told = page.server.folder / "opened"
    page.until("the editor", told.exists)
    page.until("its arguments", lambda: len(told.read_text().splitlines()) == 2)
    file, line = told.read_text().splitlines()
    assert Path(file).name == "part.rhai" and Path(page.server.folder / file).samefile(page.server.script), file
    assert line == "6", line
    page.page.keyboard.press("Escape")


def browser_is_opened(page):
    """`--open` runs the system's opener with the address, and nothing else."""
    told = page.server.folder / "browser"
    page.until("the browser", told.exists)
    page.until("its address", lambda: told.read_text().strip())
    assert told.read_text().strip().rstrip("/") == page.server.address, told.read_text()


def look_at_cut(page, ends, shrink):
    """Square at the cut through the hole's and the post's axis."""
    picture = page.picture()
    solid = [((-40, 0, 0), (-27, 0, 30)), ((-3, 0, 0), (40, 0, 30)), ((17, 0, 30), (33, 0, 42))]
    for low, high in solid:
        low, high = [numpy.array(p) * shrink for p in (low, high)]
        there = part_of(page, picture, low, high)
        assert there.size > 2000, there.shape
        right = between(there, ends)
        assert right.all(), f"{(~right).sum()} pixels of {right.size} between {low} and {high} are not the cut's"
        assert there.reshape(-1, 3).std(axis=0).max() > 4, "no marks on the cut"
    hole = part_of(page, picture, numpy.array([-27, 0, 0]) * shrink, numpy.array([-3, 0, 30]) * shrink)
    assert not empty(hole).any(), "the ground shows through the hole's wall"
    assert not between(hole, ends).all(axis=-1).any(), "the hole is filled"


def walls_are_coloured(page):
    page.page.focus("#picture")
    page.page.keyboard.press("z")
    page.page.click("#walls")
    page.wait("#mapping:not(.waits)")
    top = ((-2, -25, 30), (4, 25, 30))

    def seen_under(limit):
        page.page.fill("#wallfield", str(limit))
        page.page.press("#wallfield", "Enter")
        page.page.mouse.move(2, 2)
        there = part_of(page, page.picture(), *top)
        assert there.size > 2000, there.shape
        return there

    # The block is 30 high there: thin under 40 and striped, thick under 12.
    thin, thick = seen_under(40), seen_under(12)
    red, blue = thin[..., 0].mean(), thin[..., 2].mean()
    assert red > blue + 40, (red, blue)
    assert thin.mean(axis=-1).std() > 10, "no stripes"
    red, blue = thick[..., 0].mean(), thick[..., 2].mean()
    assert blue > red + 30, (red, blue)
    assert thick.mean(axis=-1).std() < 4, "stripes where it is thick"
    page.page.mouse.move(*inside(page, (25, 0, 42)))
    page.until("a reading", lambda: "post" in page.text("#spot"))
    # The post stands on the block: 12 and 30.
    assert page.text("#spot").startswith("wall 42.00 mm"), page.text("#spot")
    page.page.click("#walls")
    assert page.page.locator("#mapping").is_hidden()
    page.page.mouse.move(2, 2)
    page.page.focus("#picture")
    page.page.keyboard.press("i")
    page.settle()


def measures(page):
    page.page.keyboard.press("z")
    page.page.click("#measure")
    page.settle()
    # A few pixels beside the corners: they are taken exactly.
    page.click(-39.6, -29.7, 30)
    page.click(39.7, 29.6, 30)
    text = page.text("#span")
    assert text == "100.00 mm apart · dx 80.00 · dy 60.00 · dz 0.00 mm", text
    page.page.mouse.move(*inside(page, (25, 0, 42)))
    page.until("a reading", lambda: "post" in page.text("#spot"))
    reading = page.text("#spot")
    assert "z 42.00 mm" in reading, reading
    page.page.click("#measure")
    page.page.keyboard.press("i")
    page.settle()


def inside(page, point):
    box = page.page.locator("#pane").bounding_box()
    x, y = page.spot(*point)
    return box["x"] + x, box["y"] + y


def edit_changes_the_picture(page):
    page.page.mouse.move(2, 2)
    before, view, build = page.picture(), page.view(), page.build()
    page.server.edit("dia: 16, height: 12", "dia: 16, height: 24")
    page.until("a new build", lambda: page.build() > build)
    page.wait("#changed .came")
    # A cylinder of 16 mm, 12 mm longer: 2.41 cm³.
    assert "2.41 cm³" in page.text("#changed"), page.text("#changed")
    page.page.wait_for_timeout(3200)
    after = page.picture()
    assert page.view() == view, "the view moved"
    assert (numpy.abs(after - before).max(axis=-1) > 25).sum() > 300
    assert "80 × 60 × 54 mm" in page.text("#block")


def broken_save_keeps_the_picture(page):
    build, before = page.build(), page.picture()
    page.server.edit("outline: rect(80, wide)", "outlin: rect(80, wide)")
    page.wait("#alarm:visible")
    said = page.text("#alarm")
    assert "outlin" in said and "part.rhai:5" in said and "^^^" in said, said
    assert "The last save can't be built" in said
    after = page.picture()
    assert page.build() == build
    # Greyer, but the same part in the same place, where the notice leaves it free.
    rows = slice(int(page.page.locator("#alarm").bounding_box()["height"]) + 20, -80)
    light = [(picture[rows, 20:-20] @ [0.3, 0.59, 0.11]) for picture in (before, after)]
    same = numpy.abs(light[1] - light[0]) < 16
    assert same.mean() > 0.97, f"{same.mean():.1%} of the picture is as it was"
    assert light[1].std() > 5, "nothing left of it"
    page.server.edit("outlin: rect(80, wide)", "outline: rect(80, wide)")
    page.page.wait_for_selector("#alarm", state="hidden")
    assert "stale" not in (page.page.get_attribute("body", "class") or "")


def findings_come_and_go(page):
    def list_text():
        return page.text("#list")

    page.until("all findings", lambda: "Proving" not in list_text())
    text = page.server.script.read_text()
    build = page.build()
    # Too near the rim: 2 mm of metal are left.
    page.server.write(text + 'bore("near", #{ into: block.top, at: [35, -20], dia: 6, depth: 10 });\n')
    page.until("a new build", lambda: page.build() > build)
    page.until("the thin wall", lambda: page.page.locator("#list .finding:has-text('near') .fresh").count())
    assert page.page.locator("#list .finding:has-text('breaks into') .fresh").count() == 0, "an old one called new"
    page.server.write(text)
    page.until("it is mended", lambda: "Mended:" in list_text() and "near" in page.text("#list .mended"))
    assert page.page.locator("#list .finding:has-text('near')").count() == 0
    assert page.page.locator("#list .fresh").count() == 0


def reach_is_coloured(page):
    text = page.server.script.read_text()
    build = page.build()
    # Into the front, where nothing comes from above or below: its floor is seen from the front.
    page.server.write(text + 'bore("way", #{ into: block.side("front"), at: [20, 0], dia: 16, depth: 10, cored: true });\n')
    page.until("a new build", lambda: page.build() > build)
    page.page.focus("#picture")
    page.page.keyboard.press("y")
    page.page.keyboard.press("y")
    page.page.click("#reach")
    # What changed glows over all colours for a moment.
    page.wait("#changed .went")
    page.page.wait_for_timeout(4000)
    page.wait("#mapping:not(.waits)")
    page.settle()
    picture = page.picture()
    floor = part_of(page, picture, (16, -20, 11), (24, -20, 19))
    face = part_of(page, picture, (-36, -30, 4), (-14, -30, 26))
    assert floor.size > 300 and face.size > 2000, (floor.shape, face.shape)
    assert floor[..., 0].mean() > floor[..., 2].mean() + 60, floor.reshape(-1, 3).mean(axis=0)
    assert floor.mean(axis=-1).std() > 8, "no stripes"
    assert face[..., 2].mean() > face[..., 0].mean() + 20, face.reshape(-1, 3).mean(axis=0)
    assert "out of reach" in page.text("#rampends") and page.page.locator("#wallat").is_hidden()
    page.page.click("#reach")
    page.server.write(text)
    page.until("the script as it was", lambda: page.page.locator("#list b:text-is('way')").count() == 0)
    page.page.keyboard.press("i")
    page.settle()


def setting_rebuilds(page):
    build = page.build()
    page.page.fill("#setting-wide", "70")
    page.page.press("#setting-wide", "Enter")
    page.until("a new build", lambda: page.build() != build)
    page.until("its size", lambda: "80 × 70 × 54 mm" in page.text("#block"))
    kept = page.text("#settings .keep code")
    assert kept == 'let wide = setting("wide", 70);', kept
    assert 'setting("wide", 60)' in page.server.script.read_text(), "the page wrote into the script"
    page.page.fill("#setting-wide", "-4")
    page.page.press("#setting-wide", "Enter")
    page.wait("#alarm:visible")
    assert page.page.get_attribute("#setting-wide", "aria-invalid") == "true"
    assert page.page.input_value("#setting-wide") == "-4"
    page.page.click("#back")
    page.until("the script's size", lambda: "80 × 60 × 54 mm" in page.text("#block"))
    page.page.wait_for_selector("#alarm", state="hidden")
    assert page.page.locator("#settings .keep").count() == 0


def files_come(page):
    with page.page.expect_download() as coming:
        page.page.click("#files a:has-text('pattern.stl')")
    got = Path(coming.value.path()).read_bytes()
    on_disk = (page.server.folder / "out" / "part" / "pattern.stl").read_bytes()
    assert got == on_disk
    with page.page.expect_download() as coming:
        page.page.click("#still")
    png = Path(coming.value.path()).read_bytes()
    assert png[:8] == b"\x89PNG\r\n\x1a\n" and len(png) > 5000
    assert coming.value.suggested_filename == "block-with-a-hole-finished.png"


def keyboard_reaches_all(page):
    page.page.keyboard.press("c")
    page.page.keyboard.press("m")
    page.page.keyboard.press("Escape")
    page.page.keyboard.press("m")
    page.page.evaluate("document.activeElement.blur()")
    wanted = page.page.evaluate(
        """() => {
          const all = [...document.querySelectorAll('button:enabled, a[href], input, canvas[tabindex]')];
          const seen = all.filter((e) => e.checkVisibility() && !(e.type === 'radio' && !e.checked));
          seen.forEach((e, i) => { e.dataset.tour = i; });
          return seen.length;
        }"""
    )
    met, nameless, unmarked = set(), [], []
    for _ in range(3 * wanted):
        page.page.keyboard.press("Tab")
        here = page.page.evaluate(
            """() => {
              const e = document.activeElement;
              const name = e.getAttribute('aria-label') || e.textContent.trim() || [...(e.labels ?? [])].map((l) => l.textContent.trim()).join('');
              const style = getComputedStyle(e);
              return { at: e.dataset.tour, tag: e.outerHTML.slice(0, 90), name, marked: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2 };
            }"""
        )
        if here["at"] is None:
            continue
        met.add(int(here["at"]))
        if not here["name"]:
            nameless.append(here["tag"])
        if not here["marked"]:
            unmarked.append(here["tag"])
        if len(met) == wanted:
            break
    assert wanted > 20, wanted
    missed = sorted(set(range(wanted)) - met)
    tags = [page.page.get_attribute(f"[data-tour='{i}']", "id") or page.text(f"[data-tour='{i}']") for i in missed]
    assert not missed, f"out of reach: {tags}"
    assert not nameless, nameless
    assert not unmarked, unmarked
    page.page.click("#cut")
    page.page.click("#measure")


def fits_narrow_and_enlarged(page):
    for width, height in [(360, 740), (640, 400)]:
        page.page.set_viewport_size({"width": width, "height": height})
        page.settle()
        wide = page.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{wide} wide at {width}"
        assert page.page.locator("#pane").bounding_box()["height"] >= 200
    page.page.set_viewport_size({"width": 1280, "height": 800})
    page.page.keyboard.press("f")
    page.settle()


def night_is_dark(page):
    day = page.picture().mean()
    page.page.click("#night")
    assert page.page.get_attribute("#night", "aria-pressed") == "true"
    night = page.picture().mean()
    assert night < 110 < day, (day, night)
    page.page.click("#night")


def survives_a_lost_card(page):
    page.page.mouse.move(2, 2)
    before = page.picture()
    page.page.evaluate(
        "window.lost = document.getElementById('picture').getContext('webgl2').getExtension('WEBGL_lose_context')"
    )
    page.page.evaluate("window.lost.loseContext()")
    page.page.wait_for_timeout(300)
    page.page.evaluate("window.lost.restoreContext()")
    page.page.wait_for_timeout(500)
    after = page.picture()
    assert numpy.abs(after - before).max() < 3, "another picture after the card was lost"
    page.complaints[:] = [c for c in page.complaints if "CONTEXT_LOST" not in c and "context" not in c.lower()]


def finds_the_server_again(page):
    calm(page)
    page.server.stop()
    page.wait("#alarm:visible")
    assert "No word from foamwright" in page.text("#alarm")
    assert not empty(page.picture()).all()
    page.page.wait_for_timeout(1500)
    page.server.start()
    page.page.wait_for_selector("#alarm", state="hidden", timeout=30000)
    build = page.build()
    page.server.edit("height: 24", "height: 20")
    page.until("a build of the new server", lambda: page.build() != build or "80 × 60 × 50 mm" in page.text("#block"))
    page.until("the new size", lambda: "80 × 60 × 50 mm" in page.text("#block"))
    # While it was away the browser itself complained of refused connections.
    page.complaints.clear()


def calm(page):
    """Nothing on the console, nothing asked of anyone else."""
    assert not page.complaints, page.complaints
    ours = (page.server.address, "blob:", "data:")
    foreign = [url for url in page.requests if not url.startswith(ours)]
    assert not foreign, foreign
    assert len(page.requests) > 10


def show_pieces(page, key=None):
    """The pieces, seen from the front or as a key has it, together and without a step."""
    page.page.click("[data-stage=pieces]")
    page.until("pieces", lambda: page.data("shown").endswith("pieces"))
    page.page.keyboard.press("Escape")
    while " of " in page.text("#stepcount"):
        page.page.click("#stepon")
    page.page.focus("#open")
    page.page.keyboard.press("Home")
    page.page.focus("#picture")
    page.page.keyboard.press(key or "y")
    show_all(page)
    page.page.mouse.move(2, 2)


def show_all(page):
    """All of it, clear of what can be slid, once nothing moves any more."""
    page.settle()
    page.page.focus("#picture")
    page.page.keyboard.press("f")
    page.page.keyboard.press("-")
    page.settle()


def runs_of_foam(page, x):
    """How high foam is (mm), run by run, on an upright line of the picture through x."""
    picture, view = page.picture(), page.view()
    across = round(page.spot(x, 0, 0)[0])
    foam = ~empty(picture[:, across])
    # Below lies the scale, above it what can be slid.
    foam[: round(page.page.locator("#foam").bounding_box()["height"]) + 20] = False
    # The mark of the focus runs round the picture.
    foam[-6:] = False
    ends = numpy.flatnonzero(numpy.diff(numpy.concatenate([[0], foam.astype(int), [0]])))
    scale = min(view["width"], view["height"]) / view["span_mm"]
    return [(high - low) / scale for low, high in ends.reshape(-1, 2)]


def like(got, want, within=1.2):
    return len(got) == len(want) and all(abs(a - b) < within for a, b in zip(got, want))


def pieces_come_with_the_proof(page):
    page.wait("[data-stage=boards]")
    names = page.page.eval_on_selector_all("#stages b", "all => all.map((b) => b.textContent)")
    assert names == ["finished", "casting", "pattern", "pieces", "boards"], names
    assert "boards\n2\n" in page.text("#block"), page.text("#block")
    view = page.view()
    page.page.keyboard.press("4")
    page.until("pieces", lambda: page.data("shown").endswith("pieces"))
    assert page.view() == view, "the view moved"
    assert page.text("#billhead") == "3 foam pieces, 2 boards"
    rows = page.page.locator("#billrows button").all_inner_texts()
    wanted = [("lower", "120 × 80 × 25 mm"), ("upper", "120 × 80 × 25 mm"), ("post", "24 × 24 × 20 mm")]
    assert all(name in row and size in row and "board 30 mm" in row for row, (name, size) in zip(rows, wanted)), rows
    show_pieces(page)
    picture = page.picture()
    tones = [part_of(page, picture, (-50, 0, z), (50, 0, z + 15)).reshape(-1, 3).mean(axis=0) for z in (5, 30)]
    assert numpy.abs(tones[0] - tones[1]).max() > 20, f"the halves look alike: {tones}"


def slider_moves_pieces(page):
    show_pieces(page)
    assert like(runs_of_foam(page, -40), [50]), runs_of_foam(page, -40)
    page.page.focus("#open")
    page.page.keyboard.press("End")
    assert page.page.get_attribute("#open", "aria-valuetext") == "100 % apart"
    show_all(page)
    apart = runs_of_foam(page, -40)
    assert like(apart, [25, 25]), apart
    # The post over both halves.
    assert like(runs_of_foam(page, 30), [20, 25, 25]), runs_of_foam(page, 30)
    page.page.keyboard.press("a")
    assert like(runs_of_foam(page, -40), [50])


def steps_of_the_glue_up(page):
    show_pieces(page)
    page.page.keyboard.press("a")
    assert page.text("#stepcount") == "2 steps" and page.text("#words") == ""
    page.page.keyboard.press(".")
    # Round the foot of 24: 75 mm.
    assert page.text("#words") == "Glue post to upper; wax fillet 3 mm round its foot, 75 mm long.", page.text("#words")
    show_all(page)
    assert like(runs_of_foam(page, -40), [25]), "the lower half isn't there yet"
    assert like(runs_of_foam(page, 30), [20, 25])
    post = lit_share(page)
    page.page.click("#stepon")
    assert page.text("#words") == "Glue upper to lower over 2 dowels.", page.text("#words")
    show_all(page)
    # The post is on, the halves are still apart. Lit is the upper half, far more than the post.
    assert like(runs_of_foam(page, 30), [45, 25]), runs_of_foam(page, 30)
    assert lit_share(page) > 3 * post > 0, post
    page.page.keyboard.press(",")
    assert page.text("#stepcount") == "1 of 2"
    page.page.keyboard.press("a")
    page.settle()
    # Closed, it has its wax: 3 mm more on each side of the post at its foot.
    assert like(runs_of_foam(page, 30 + 12 + 1), [25 + 0.76], 0.5), runs_of_foam(page, 43)
    show_pieces(page)


def lit_share(page):
    page.page.mouse.move(2, 2)
    picture = page.picture()
    return (picture[..., 2] - picture[..., 0] > 70).mean()


def bill_lights_and_flies(page):
    show_pieces(page, "i")
    before, view = page.picture(), page.view()
    page.page.hover("#billrows button:has-text('lower')")
    assert (numpy.abs(page.picture() - before).max(axis=-1) > 20).sum() > 2000, "hovering lights nothing"
    page.page.mouse.move(2, 2)
    assert numpy.abs(page.picture() - before).max() < 3, "stays lit"
    page.page.click("#billrows button:has-text('post')")
    page.settle()
    assert page.text("#chosen h2") == "post" and "foam piece 3" in page.text("#chosen")
    assert "part.rhai:8" in page.text("#chosen")
    assert page.page.get_attribute("#billrows button:has-text('post')", "aria-current") == "true"
    assert page.view()["span_mm"] < view["span_mm"], "the view flew nowhere"
    page.page.focus("#billrows button:has-text('post')")
    page.page.keyboard.press("ArrowUp")
    page.page.keyboard.press("Enter")
    assert page.text("#chosen h2") == "upper"
    page.page.keyboard.press("Escape")
    assert page.page.locator("#billrows [aria-current=true]").count() == 0


def click_picks_features_of_pieces(page):
    show_pieces(page, "z")
    page.click(-40, 20, 50)
    assert page.text("#chosen h2") == "base" and "part.rhai:7" in page.text("#chosen")
    assert "upper" in page.text("#billrows [aria-current=true]")
    page.page.mouse.move(*inside(page, (30, 0, 70)))
    page.until("a reading", lambda: page.text("#spot").startswith("post · "))
    # The joint of the lower half, under the upper one: no feature's, but the piece's.
    show_pieces(page, "i")
    page.page.keyboard.press("a")
    page.settle()
    page.click(57, -37, 25)
    assert page.text("#chosen h2") == "lower", page.text("#chosen h2")
    show_pieces(page)


def boards_are_drawn(page):
    page.page.click("[data-stage=boards]")
    page.wait("#flat svg path")
    assert page.page.locator("#picture").is_hidden()
    assert "260 × 100 × 30 mm" in page.text("#words") and page.text("#stepcount") == "1 of 2"
    box = lambda what: page.page.locator(f"#flat {what}").first.bounding_box()
    board, lower = box("rect"), box("path[data-piece='0']")
    # To scale: 120 by 80 of 260 by 100 (a line's width more).
    assert abs(lower["width"] / board["width"] - 120 / 260) < 0.01, (board, lower)
    assert abs(lower["height"] / board["height"] - 80 / 100) < 0.02, (board, lower)
    assert board["width"] > 500 and lower["x"] > board["x"] and lower["y"] > board["y"]
    # Dowels: two pegs of 6.
    assert page.page.locator("#flat circle").count() == 2
    assert "lower" in page.page.get_attribute("#flat svg", "aria-label")
    page.page.click("#flat path[data-piece='0']", position={"x": 40, "y": 40})
    assert page.text("#chosen h2") == "lower"
    assert page.page.get_attribute("#billrows button:has-text('lower')", "aria-current") == "true"
    page.page.keyboard.press(".")
    page.wait("#flat path[data-piece='1']")
    assert page.text("#stepcount") == "2 of 2"
    # Where the post is set on is drawn, and is no piece.
    assert page.page.locator("#flat [id^='seats'] path").count() == 1
    assert page.page.locator("#flat [id^='seats'] path[data-piece]").count() == 0
    page.page.click("#billrows button:has-text('lower')")
    page.wait("#flat path[data-piece='0'][aria-current='true']")
    assert page.text("#stepcount") == "1 of 2"
    assert page.page.locator("#files a:has-text('boards/board-1.svg')").count() == 1
    fits_narrow_and_enlarged(page)
    page.page.keyboard.press("Escape")


def pieces_stay_over_rebuilds(page):
    show_pieces(page)
    build = page.build()
    # The proof brings the new pieces; until then the old ones stay.
    page.page.evaluate(
        """() => {
          window.gone = 0;
          const there = () => document.querySelector("[data-stage=pieces][aria-current]") && document.querySelector("#billrows button");
          new MutationObserver(() => { if (!there()) window.gone += 1; }).observe(document.body, { childList: true, subtree: true });
        }"""
    )
    page.server.edit("dia: 24, height: 20", "dia: 24, height: 30")
    page.until("its pieces", lambda: page.build() > build and page.data("shown").endswith("pieces"))
    page.until("the bill", lambda: "24 × 24 × 30 mm" in page.text("#billrows"))
    show_all(page)
    assert like(runs_of_foam(page, 30), [80]), runs_of_foam(page, 30)
    page.server.edit("dia: 24, height: 30", "dia: 24, hight: 30")
    page.wait("#alarm:visible")
    assert page.page.get_attribute("[data-stage=pieces]", "aria-current") == "step"
    assert "24 × 24 × 30 mm" in page.text("#billrows")
    page.server.edit("dia: 24, hight: 30", "dia: 24, height: 20")
    page.page.wait_for_selector("#alarm", state="hidden")
    page.until("the bill", lambda: "24 × 24 × 20 mm" in page.text("#billrows"))
    page.wait("[data-stage=boards]")
    assert page.page.evaluate("window.gone") == 0, "the stage went away"


def pour_is_coloured(page):
    """The maps of the pour: the picture and the legend change with them, by the key as by the button, and go again."""
    page.until("how it fills and freezes", lambda: all(page.page.is_enabled(f"#{name}") for name in ("heat", "ball", "travel")))
    page.page.focus("#picture")
    page.page.keyboard.press("z")
    page.page.mouse.move(2, 2)
    plain = page.picture()
    asked = [url for url in page.requests if "/map/" in url]
    assert not asked, asked
    # Tops of the bar: near the gate, and beside the post, far from it; and of the post.
    near, far, post = ((-78, -15, 20), (-66, 15, 20)), ((72, -18, 20), (79, 18, 20)), ((44, 6, 50), (56, 12, 50))
    seen = {}
    for name, key in (("heat", "h"), ("ball", "b"), ("travel", "t")):
        page.page.keyboard.press(key)
        page.wait("#mapping:not(.waits)")
        assert page.page.get_attribute(f"#{name}", "aria-pressed") == "true"
        seen[name] = [part_of(page, page.picture(), *place) for place in (near, far, post)], page.text("#mapping")
        assert numpy.abs(page.picture() - plain).max(axis=-1).mean() > 4, f"{name} changes nothing"
        assert "Estimate" in seen[name][1] and " mm" in seen[name][1], seen[name][1]
        assert (" s\n" in seen[name][1] + "\n") == (name != "ball"), seen[name][1]
        assert page.page.locator("#wallat").is_hidden()
    (bar, _, thick), told = seen["heat"]
    assert thick.mean() > bar.mean() + 15, (thick.mean(), bar.mean())
    # Balls of up to 20 in the bar; in the post of 36 a larger one, which is darker.
    (bar, even, thick), told_ball = seen["ball"]
    assert thick.mean() < min(bar.mean(), even.mean()) - 20, (bar.mean(), even.mean(), thick.mean())
    assert "largest ball" in told_ball and "largest ball inside" in page.page.get_attribute("#ball", "aria-label")
    (first, last, _), told_travel = seen["travel"]
    assert first.mean() > last.mean() + 50, (first.mean(), last.mean())
    assert told != told_travel and "mm/s" in told_travel
    assert "last to fill" in page.page.get_attribute("#ramp", "aria-label")
    page.page.keyboard.press("t")
    assert page.page.locator("#mapping").is_hidden()
    assert numpy.abs(page.picture() - plain).max() < 3, "not as it was"


# In this order: each leaves the page for the next.
CHECKS = [
    draws, steps_along_the_stages, click_picks, list_lights_up, finding_shows_its_place, turns_and_comes_closer,
    rests_when_nothing_changes, cut_is_solid, cut_is_dragged, fingers_turn_and_pinch, line_opens_the_editor,
    browser_is_opened, walls_are_coloured, measures, edit_changes_the_picture, broken_save_keeps_the_picture,
    findings_come_and_go, setting_rebuilds, files_come, keyboard_reaches_all, fits_narrow_and_enlarged, night_is_dark, survives_a_lost_card, reach_is_coloured,
    finds_the_server_again, calm,
]  # fmt: skip


# The same on a part that is glued up from pieces.
FOAM_CHECKS = [
    pieces_come_with_the_proof, slider_moves_pieces, steps_of_the_glue_up, bill_lights_and_flies, click_picks_features_of_pieces,
    boards_are_drawn, pieces_stay_over_rebuilds, keyboard_reaches_all, fits_narrow_and_enlarged, survives_a_lost_card, calm,
]  # fmt: skip


# The same on a part that is gated.
POUR_CHECKS = [
    pour_is_coloured, keyboard_reaches_all, calm,
]  # fmt: skip


def main():
    program, browser, *names = sys.argv[1:]
    failed = []
    for script, checks in [("part.rhai", CHECKS), ("foam.rhai", FOAM_CHECKS), ("pour.rhai", POUR_CHECKS)]:
        wanted = [check for check in checks if not names or check.__name__ in names]
        if wanted:
            run(program, browser, script, wanted, failed)
    count = len(CHECKS) + len(FOAM_CHECKS) + len(POUR_CHECKS)
    print(f"{count - len(failed)} of {count} checks of the page hold")
    sys.exit(1 if failed else 0)


def run(program, browser, script, checks, failed):
    """Checks the page of a script; the names of checks that fail are put into `failed`."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        # What stands for the editor and for the system's opener writes down what it was given.
        (programs := Path(folder) / "programs").mkdir()
        for name, told in [("editor", "opened"), ("xdg-open", "browser")]:
            stand_in = programs / name
            stand_in.write_text(f"#!/bin/sh\nprintf '%s\\n' \"$@\" > '{folder}/{told}'\n")
            stand_in.chmod(0o755)
        options = ["--open", "--editor", "editor {file} {line}", "--effort", "quick"]
        server = Server(program, folder, HERE / script, options=options, path=programs)
        try:
            chromium = play.chromium.launch(executable_path=browser, args=FLAGS)
            page = Page(chromium, server)
            for check in checks:
                try:
                    check(page)
                    print(f"{check.__name__}: as it should be", flush=True)
                except Exception:
                    failed.append(check.__name__)
                    print(f"{check.__name__}: FAILED\n{traceback.format_exc()}", flush=True)
                    if kept := os.environ.get("FOAMWRIGHT_PAGE_DIR"):
                        page.page.screenshot(path=Path(kept) / f"{check.__name__}.png")
            page.close()
            chromium.close()
        finally:
            server.stop()


if __name__ == "__main__":
    main()
