// Cutting the part open: one plane across an axis, moved by the slider, the field or the keys.

import { by, click, on, say } from "./hub.js";
import { Slide, length } from "./figures.js";

const HANDLE_PX = 18; // how near a press takes the handle
const BESIDE = 0.05; // how far beside the part the handle stands, as a share of the part's largest size
const FLAT = 0.25; // seen more along its axis than this, the plane is dragged up and down the picture

export class Cut {
  constructor(view) {
    this.view = view;
    this.on = false;
    this.axis = 1;
    this.at = null; // mm along the axis
    this.flipped = false;
    click("cut", () => this.set(!this.on));
    click("flip", () => this.flip());
    by("cutting").elements.axis.forEach((radio) => radio.addEventListener("change", () => this.across(Number(radio.value))));
    this.slide = new Slide("cut", () => this.range(), (at) => this.move(at));
    on("mesh", () => this.refresh());
  }

  // A little beyond the part at both ends.
  range() {
    const { mesh } = this.view;
    if (!mesh) return [0, 1];
    const more = (mesh.high[this.axis] - mesh.low[this.axis]) * 0.01;
    return [mesh.low[this.axis] - more, mesh.high[this.axis] + more];
  }

  set(on_) {
    this.on = on_;
    by("cut").ariaPressed = on_;
    by("cutting").hidden = !on_;
    if (on_ && this.at === null) this.at = this.centre();
    this.refresh();
    say(on_ ? `Cut open across ${"xyz"[this.axis]} at ${length(this.at)}` : "Whole again");
  }

  centre() {
    const [low, high] = this.range();
    return (low + high) / 2;
  }

  across(axis) {
    this.axis = axis;
    this.at = this.centre();
    this.refresh();
  }

  move(at) {
    const [low, high] = this.range();
    this.at = Math.min(high, Math.max(low, at));
    this.refresh();
  }

  nudge(steps) {
    const [low, high] = this.range();
    this.move(this.at + ((high - low) * steps) / 100);
    say(`Cut at ${length(this.at)}`);
  }

  // Where the plane can be taken in the picture: its pixel, the way it is dragged there (x right, y down, length 1), and
  // how far the plane then moves (mm a pixel). Square at the plane, up the picture is away from the eye.
  handle(camera) {
    const { mesh } = this.view;
    if (!this.on || !mesh) return null;
    // At the part's foot, or before it, so that it hides nothing of the cut.
    const foot = this.axis === 2 ? 1 : 2;
    const beside = Math.max(...mesh.high.map((high, i) => high - mesh.low[i])) * BESIDE;
    const place = mesh.low.map((low, i) => (i === this.axis ? this.at : i === foot ? low - beside : (low + mesh.high[i]) / 2));
    const [x, y] = camera.project(place);
    const [r, u, t] = camera.axes().map((a) => a[this.axis]);
    const long = Math.hypot(r, u);
    if (long < FLAT) return { x, y, way: [0, -1], step: -Math.sign(t || 1) / camera.px_per_mm };
    return { x, y, way: [r / long, -u / long], step: 1 / (long * camera.px_per_mm) };
  }

  // Takes hold of the plane at a pixel: what then drags it, or nothing.
  grip(camera, x, y) {
    const handle = this.handle(camera);
    if (!handle || Math.hypot(x - handle.x, y - handle.y) > HANDLE_PX) return null;
    const { way, step } = handle;
    return {
      by: (dx, dy) => this.move(this.at + (dx * way[0] + dy * way[1]) * step),
      end: () => say(`Cut at ${length(this.at)}`),
    };
  }

  flip() {
    this.flipped = !this.flipped;
    this.refresh();
  }

  // What the picture needs: metal is kept where normal · p <= reach. A plane through corners of the mesh would be
  // ambiguous there; it stands a ten-thousandth of a mm aside.
  plane() {
    const sign = this.flipped ? -1 : 1;
    const normal = [0, 0, 0];
    normal[this.axis] = sign * (this.axis === 1 ? -1 : 1);
    const at = Math.fround(this.at + 1e-4);
    return { normal, reach: normal[this.axis] * at, axis: this.axis, at };
  }

  refresh() {
    const { mesh } = this.view;
    by("cutting").elements.axis.forEach((radio) => { radio.checked = Number(radio.value) === this.axis; });
    if (this.at !== null) this.slide.show(this.at);
    if (!this.on || !mesh) {
      if (this.view.cut) this.view.setCut(null);
      return;
    }
    const plane = this.plane();
    this.view.setCut({ ...plane, lines: mesh.slice(plane.axis, plane.at) });
  }
}
