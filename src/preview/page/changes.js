// What a rebuild changed: metal that came and metal that went glow for a moment, with how much.

import { by, make, on, press, say } from "./hub.js";
import { volume } from "./figures.js";
import { bytes } from "./link.js";
import { STILL } from "./camera.js";
import { Mesh } from "./mesh.js";

const GLOW_MS = 2600;

export class Changes {
  constructor(view) {
    this.view = view;
    this.last = null; // the news
    this.stage = "";
    on("change", (news) => this.hear(news));
  }

  hear(news) {
    this.last = Object.values(news.stages ?? {}).some((s) => s.added || s.removed) ? news : null;
    this.fill();
    if (!this.last) return;
    const [added, removed] = this.volumes();
    say(`Added ${volume(added)}, removed ${volume(removed)}`);
    this.show();
  }

  // Of the stage in the picture, where the news has them.
  volumes() {
    const here = this.last.stages[this.stage] ?? {};
    return [here.added_mm3 ?? this.last.added_mm3, here.removed_mm3 ?? this.last.removed_mm3];
  }

  // A new build came: what was said of the one before no longer holds.
  forget(build) {
    if (this.last && this.last.build !== build) {
      this.last = null;
      this.fill();
    }
  }

  fill() {
    const box = by("changed");
    box.hidden = !this.last;
    if (!this.last) return box.replaceChildren();
    const again = press("", () => this.show(), "", "Show again");
    again.title = "g";
    const put = (kind, name, mm3) => (mm3 > 0 ? make(`span.${kind}`, `${name} ${volume(mm3)}`) : null);
    const [added, removed] = this.volumes();
    const both = [put("came", "Added", added), put("went", "Removed", removed)].filter(Boolean);
    box.replaceChildren(...(both.length ? [...both, again] : [make("span", "Nothing changed at this stage")]));
  }

  async show() {
    const { last, stage, view } = this;
    const there = last?.stages?.[stage];
    if (!there) return;
    const wanted = [["added", "came"], ["removed", "went"]].filter(([name]) => there[name]);
    const got = await Promise.all(wanted.map(async ([name, kind]) => {
      const raw = await bytes(`/change/${last.build}/${stage}/${name}`);
      return raw && { kind, mesh: new Mesh(raw) };
    }));
    if (this.last !== last || this.stage !== stage) return;
    view.setGlows(got.filter((g) => g?.mesh.count));
    if (!view.glows.length) return;
    this.start = performance.now();
    this.fade();
  }

  fade() {
    clearTimeout(this.next);
    const t = (performance.now() - this.start) / GLOW_MS;
    this.view.glow = t >= 1 ? 0 : STILL.matches ? 1 : Math.min(1, 2 * (1 - t));
    this.view.ask();
    if (t >= 1) return this.view.setGlows([]);
    this.next = setTimeout(() => this.fade(), STILL.matches || t < 0.5 ? GLOW_MS / 2 : 50);
  }

  // Another stage is in the picture.
  step(stage) {
    if (stage === this.stage) return;
    this.stage = stage;
    clearTimeout(this.next);
    this.view.glow = 0;
    this.fill();
  }
}
