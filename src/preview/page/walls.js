// How thick the metal is, as colour: straight through from each place of the surface. Under the limit it is also striped,
// for eyes and printers that don't tell the colours apart.

import { by, note, on, say } from "./hub.js";
import { bare, length, toMm, unitName } from "./figures.js";
import { bytes } from "./link.js";
import { RAMP, css } from "./tints.js";

const MAGIC = 0x31575746;
const STEPS = 200;
const MOST = 4; // the slider's end, in limits of the part

export class Walls {
  constructor(view) {
    this.view = view;
    this.on = false;
    this.limit = null; // mm, once a person has moved it
    this.shown = null; // { build, stage } of the map in the picture
    by("walls").addEventListener("click", () => this.set(!this.on));
    by("walling").addEventListener("submit", (e) => e.preventDefault());
    by("wallat").addEventListener("input", (e) => this.move((e.target.value / STEPS) * MOST * this.own()));
    by("wallfield").addEventListener("change", (e) => {
      const at = toMm(Number(e.target.value.replace(",", ".")));
      this.move(Number.isFinite(at) && at > 0 ? at : this.at());
    });
    by("ramp").style.background = `linear-gradient(to right, ${RAMP.map(([at, tint]) => `${css(tint)} ${(at / 3) * 100}%`).join(", ")})`;
    on("mesh", () => this.refresh());
  }

  // The part's own limit at the stage that is shown (mm).
  own() { return this.news?.min_wall_mm?.[this.stage] || 3; }

  at() { return this.limit ?? this.own(); }

  hear(state, stage) {
    this.news = state;
    this.stage = stage;
    if (this.on) this.fill();
  }

  set(on_) {
    this.on = on_;
    by("walls").setAttribute("aria-pressed", String(on_));
    by("walling").hidden = !on_;
    this.fill();
    this.refresh();
    say(on_ ? `Wall thickness. Coloured and striped under ${length(this.at())}` : "Features in their own colours");
  }

  move(at) {
    this.limit = Math.max(0.05, at);
    this.fill();
    this.view.setLimit(this.at());
  }

  fill() {
    const at = this.at();
    by("wallat").value = String(Math.round((at / (MOST * this.own())) * STEPS));
    by("wallat").setAttribute("aria-valuetext", length(at));
    by("wallfield").value = bare(at);
    by("rampends").replaceChildren(...[0, 1, 2, 3].map((k) => {
      const mark = document.createElement("span");
      mark.textContent = k === 3 ? `${bare(3 * at)} and more` : bare(k * at);
      return mark;
    }));
    for (const unit of document.querySelectorAll("#walling .unit")) unit.textContent = unitName();
  }

  // Fetches the map of what is shown, where it isn't there yet.
  async refresh() {
    const { view } = this;
    const build = this.news?.build;
    if (!this.on || !build) {
      this.shown = null;
      return view.setWalls(null);
    }
    const wanted = `${build} ${this.stage}`;
    if (this.shown === wanted) return;
    view.setWalls(null);
    by("walling").classList.add("waits");
    const raw = await bytes(`/walls/${build}/${this.stage}`);
    by("walling").classList.remove("waits");
    if (!this.on || wanted !== `${this.news.build} ${this.stage}`) return;
    if (!raw) return note("The map of walls could not be made.");
    this.shown = wanted;
    view.setWalls(read(raw));
    view.setLimit(this.at());
  }
}

function read(raw) {
  const head = new DataView(raw);
  if (raw.byteLength < 12 || head.getUint32(0, true) !== MAGIC) throw new Error("not a map of walls");
  const [nv, nt] = [4, 8].map((at) => head.getUint32(at, true));
  return { places: new Float32Array(raw, 12, nv * 4), corners: new Uint32Array(raw, 12 + nv * 16, nt * 3), count: nt };
}
