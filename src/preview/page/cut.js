// Cutting the part open: one plane across an axis, moved by the slider, the field or the keys.

import { by, on, say } from "./hub.js";
import { bare, length, toMm, unitName } from "./figures.js";

const NAMES = ["x", "y", "z"];
const STEPS = 1000;

export class Cut {
  constructor(view) {
    this.view = view;
    this.on = false;
    this.axis = 1;
    this.at = null; // mm along the axis
    this.flipped = false;
    by("cut").addEventListener("click", () => this.set(!this.on));
    by("flip").addEventListener("click", () => this.flip());
    by("cutting").addEventListener("submit", (e) => e.preventDefault());
    by("cutting").elements.axis.forEach((radio) => radio.addEventListener("change", () => this.across(Number(radio.value))));
    by("cutat").addEventListener("input", (e) => {
      const [low, high] = this.range();
      this.move(low + ((high - low) * e.target.value) / STEPS);
    });
    by("cutfield").addEventListener("change", (e) => {
      const at = toMm(Number(e.target.value.replace(",", ".")));
      this.move(Number.isFinite(at) ? at : this.at);
    });
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
    by("cut").setAttribute("aria-pressed", String(on_));
    by("cutting").hidden = !on_;
    if (on_ && this.at === null) this.at = this.centre();
    this.refresh();
    say(on_ ? `Cut open across ${NAMES[this.axis]} at ${length(this.at)}` : "Whole again");
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
    if (this.at !== null) {
      const [low, high] = this.range();
      by("cutat").value = String(Math.round(((this.at - low) / (high - low)) * STEPS));
      by("cutat").setAttribute("aria-valuetext", length(this.at));
      by("cutfield").value = bare(this.at);
    }
    for (const unit of document.querySelectorAll(".unit")) unit.textContent = unitName();
    if (!this.on || !mesh) {
      if (this.view.cut) this.view.setCut(null);
      return;
    }
    const plane = this.plane();
    this.view.setCut({ ...plane, lines: mesh.slice(plane.axis, plane.at) });
  }
}
