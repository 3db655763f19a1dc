// The surface coloured by something that is known of each place: how thick the metal is behind it, whether a cutter gets
// there, how the metal comes there, how long it stays hot, how large a ball lies in it. What is bad is also striped, for
// eyes and printers that don't tell the colours apart.

import { by, make, note, on, press, say } from "./hub.js";
import { Slide, bare, length } from "./figures.js";
import { bytes } from "./link.js";
import { wallAt } from "./pick.js";
import { COME, GLOW, REACHED, RAMP, SWELL, css } from "./tints.js";

const MAGIC = 0x314d5746;
const MOST = 4; // the slider's end, in limits of the part

const poured = (key, of, ramp, means) => ({ key, of, ramp, poured: true, means: `An estimate: from ${means}` });

// What there is to colour by: its key, what it is, its colours, what is said of them.
const KINDS = {
  walls: {
    key: "w", of: "wall thickness", ramp: RAMP,
    ends: (at) => [0, 1, 2, 3].map((k) => (k === 3 ? `${bare(3 * at)} and more` : bare(k * at))),
    means: "Wall thickness: from dark and striped, thin, over pale at the limit, to blue, thick",
  },
  reach: {
    key: "r", of: "the cutter's reach", ramp: REACHED, ends: () => ["out of reach", "from above or below"],
    means: "Cutter's reach: striped where it gets to neither from above nor from below, else blue",
  },
  heat: poured("h", "how long it stays hot", GLOW, "dark, soon cold, to bright, long hot"),
  ball: poured("b", "the largest ball inside", SWELL, "pale, a small ball, to dark, the largest"),
  travel: poured("t", "the metal's travel", COME, "pale, at the gates, to dark, where the metal comes last"),
};
const NAMES = Object.keys(KINDS);

export class Maps {
  constructor(view) {
    this.view = view;
    this.kind = null; // the name of what the surface is coloured by
    this.limit = null; // mm, once a person has moved it
    this.shown = null; // "build kind stage" of the map in the picture, or on its way there
    this.legend = null; // of the map in the picture, where it has one
    this.keys = {}; // what each does
    for (const [id, { key, of }] of Object.entries(KINDS)) {
      const one = press("", this.keys[key] = () => this.turn(id), `Colour by ${of}`, id);
      by("colours").append(Object.assign(one, { id, title: key, ariaPressed: false }));
    }
    this.slide = new Slide("wall", () => [0, MOST * this.own()], (at) => this.move(at));
    on("mesh", () => this.refresh());
  }

  // The part's own limit at the stage that is shown (mm).
  own() { return this.news?.min_wall_mm?.[this.stage] || 3; }

  at() { return this.limit ?? this.own(); }

  // Whether that can be shown now: maps of the pour come once it has been looked at.
  has(name) { return this.stage !== "pieces" && Boolean(!KINDS[name].poured || this.news?.poured); }

  hear(state, stage) {
    this.news = state;
    this.stage = stage;
    for (const name of NAMES) by(name).disabled = !this.has(name) && name !== this.kind;
    this.fill();
    this.refresh();
  }

  // On, or off again.
  turn(name) {
    if (by(name).disabled) return;
    this.kind = this.kind === name ? null : name;
    for (const other of NAMES) by(other).ariaPressed = other === this.kind;
    this.fill();
    this.refresh();
    say(this.kind ? KINDS[this.kind].means : "Features in their own colours");
  }

  move(at) {
    this.limit = Math.max(0.05, at);
    this.fill();
    this.view.setLimit(this.at());
  }

  fill() {
    by("mapping").hidden = !this.kind || this.stage === "pieces";
    if (!this.kind) return;
    const [{ ramp, ends, means }, { legend }, at] = [KINDS[this.kind], this, this.at()];
    for (const part of document.querySelectorAll("#mapping .slides")) part.hidden = this.kind !== "walls";
    this.slide.show(at);
    by("ramp").style.background = `linear-gradient(to right, ${ramp.map(([t, tint]) => `${css(tint)} ${(t / 3) * 100}%`).join(", ")})`;
    by("ramp").ariaLabel = [means, ...(legend?.marks ?? []).map((m) => m.text)].join(". ");
    by("rampends").replaceChildren(...(legend?.ends ?? ends?.(at) ?? []).map((text) => make("span", text)));
    by("mapabout").textContent = legend?.about ?? "";
  }

  // Fetches the map of what is shown, where it isn't there yet.
  async refresh() {
    const { view, kind } = this;
    const wanted = kind && this.has(kind) && this.news?.build ? `${this.news.build} ${kind} ${this.stage}` : null;
    if (this.shown === wanted) return;
    this.shown = wanted;
    view.setMap(this.legend = null);
    by("mapping").classList.toggle("waits", Boolean(kind));
    if (!wanted) return;
    const raw = await bytes(`/map/${wanted.replaceAll(" ", "/")}`);
    if (this.shown !== wanted) return;
    by("mapping").classList.remove("waits");
    if (!raw) return note("That map could not be made.");
    const map = read(raw);
    this.legend = map.legend;
    view.setMap({ ...map, ramp: KINDS[kind].ramp, under: map.legend ? 0 : 1 });
    view.setLimit(map.legend ? map.legend.most_mm / 3 : kind === "walls" ? this.at() : 1);
    this.fill();
  }

  // What the map says of a spot of the surface.
  said(spot) {
    const wall = this.kind === "walls" && wallAt(this.view.mesh, spot);
    return wall ? `wall ${length(wall)}` : "";
  }
}

// A map: `wide` numbers a vertex, the first three its place.
function read(raw) {
  const head = new DataView(raw);
  if (raw.byteLength < 16 || head.getUint32(0, true) !== MAGIC) throw new Error("not a map");
  const [nv, nt, values] = [4, 8, 12].map((at) => head.getUint32(at, true));
  const [wide, text] = [3 + values, new TextDecoder().decode(new Uint8Array(raw, 16 + nv * 4 * (3 + values) + nt * 12))];
  return { places: new Float32Array(raw, 16, nv * wide), corners: new Uint32Array(raw, 16 + nv * 4 * wide, nt * 3), count: nt, wide, legend: text && JSON.parse(text) };
}
