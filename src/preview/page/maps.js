// The surface coloured by something that is known of each place: how thick the metal is behind it, whether a cutter gets
// there. What is bad is also striped, for eyes and printers that don't tell the colours apart.

import { by, click, make, note, on, say } from "./hub.js";
import { bare, length, readMm } from "./figures.js";
import { bytes } from "./link.js";
import { REACHED, RAMP, css } from "./tints.js";

const MAGIC = 0x314d5746;
const STEPS = 200;
const MOST = 4; // the slider's end, in limits of the part

// What there is to colour by: how its values are read, and what is said of it.
const KINDS = {
  walls: {
    ramp: RAMP, slides: true, told: (at) => `Wall thickness. Coloured and striped under ${length(at)}`,
    ends: (at) => [0, 1, 2, 3].map((k) => (k === 3 ? `${bare(3 * at)} and more` : bare(k * at))),
    means: "From dark and striped, thin, over pale at the limit, to blue, thick",
  },
  reach: {
    ramp: REACHED, told: () => "Cutter's reach. Striped where a cutter gets to neither from above nor from below",
    ends: () => ["out of reach", "from above or below"], means: "Striped: out of the cutter's reach. Blue: reached from above or below",
  },
};

export class Maps {
  constructor(view) {
    this.view = view;
    this.kind = null; // the name of what the surface is coloured by
    this.limit = null; // mm, once a person has moved it
    this.shown = null; // "build kind stage" of the map in the picture
    for (const name of Object.keys(KINDS)) click(name, () => this.turn(name));
    by("wallat").addEventListener("input", (e) => this.move((e.target.value / STEPS) * MOST * this.own()));
    by("wallfield").addEventListener("change", (e) => {
      const at = readMm(e.target);
      this.move(Number.isFinite(at) && at > 0 ? at : this.at());
    });
    on("mesh", () => this.refresh());
  }

  get walls() { return this.kind === "walls"; }

  // The part's own limit at the stage that is shown (mm).
  own() { return this.news?.min_wall_mm?.[this.stage] || 3; }

  at() { return this.limit ?? this.own(); }

  hear(state, stage) {
    this.news = state;
    this.stage = stage;
    this.idle = stage === "pieces";
    for (const name of Object.keys(KINDS)) by(name).disabled = this.idle;
    by("mapping").hidden = !this.kind || this.idle;
    if (this.kind) this.fill();
  }

  // On, or off again.
  turn(name) {
    if (this.idle) return;
    this.kind = this.kind === name ? null : name;
    for (const other of Object.keys(KINDS)) by(other).setAttribute("aria-pressed", String(other === this.kind));
    by("mapping").hidden = !this.kind;
    if (this.kind) this.fill();
    this.refresh();
    say(this.kind ? KINDS[this.kind].told(this.at()) : "Features in their own colours");
  }

  move(at) {
    this.limit = Math.max(0.05, at);
    this.fill();
    this.view.setLimit(this.at());
  }

  fill() {
    const [kind, at] = [KINDS[this.kind], this.at()];
    for (const part of document.querySelectorAll("#mapping .slides")) part.hidden = !kind.slides;
    by("wallat").value = String(Math.round((at / (MOST * this.own())) * STEPS));
    by("wallat").setAttribute("aria-valuetext", length(at));
    by("wallfield").value = bare(at);
    by("ramp").style.background = `linear-gradient(to right, ${kind.ramp.map(([t, tint]) => `${css(tint)} ${(t / 3) * 100}%`).join(", ")})`;
    by("ramp").setAttribute("aria-label", kind.means);
    by("rampends").replaceChildren(...kind.ends(at).map((text) => make("span", "", text)));
  }

  // Fetches the map of what is shown, where it isn't there yet.
  async refresh() {
    const { view } = this;
    const named = () => `${this.news?.build} ${this.kind} ${this.stage}`;
    const wanted = named();
    if (!this.kind || this.idle || !this.news?.build) {
      this.shown = null;
      return view.setMap(null);
    }
    if (this.shown === wanted) return;
    view.setMap(null);
    by("mapping").classList.add("waits");
    const raw = await bytes(`/map/${this.news.build}/${this.kind}/${this.stage}`);
    if (wanted !== named()) return;
    by("mapping").classList.remove("waits");
    if (!raw) return note("That map could not be made.");
    this.shown = wanted;
    view.setMap({ ...read(raw), ramp: KINDS[this.kind].ramp });
    view.setLimit(KINDS[this.kind].slides ? this.at() : 1);
  }
}

function read(raw) {
  const head = new DataView(raw);
  if (raw.byteLength < 12 || head.getUint32(0, true) !== MAGIC) throw new Error("not a map");
  const [nv, nt] = [4, 8].map((at) => head.getUint32(at, true));
  return { places: new Float32Array(raw, 12, nv * 4), corners: new Uint32Array(raw, 12 + nv * 16, nt * 3), count: nt };
}
