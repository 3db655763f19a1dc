// Measuring between two places. A corner or an edge of the part within reach of the pointer is taken exactly.

import { by, click, say } from "./hub.js";
import { bare, length, unitName } from "./figures.js";
import { along, dot, less, plus, size } from "./space.js";

const REACH_PX = 9;
const START = "Click two places. Corners and edges nearby are taken exactly.";

// The nearest corner, else edge, of the mesh near a pixel and not behind what is seen there.
export function snap(mesh, camera, x, y, spot, cut) {
  const rim = mesh.rim;
  const [r, u, t] = camera.axes();
  const k = camera.px_per_mm;
  const [ox, oy] = [camera.width / 2 - x - dot(camera.target, r) * k, camera.height / 2 - y + dot(camera.target, u) * k];
  const deepest = dot(spot.point, t) - (2 * REACH_PX) / k;
  let best = null;
  for (let i = 0; i < rim.length; i += 6) {
    const ax = ox + (rim[i] * r[0] + rim[i + 1] * r[1] + rim[i + 2] * r[2]) * k;
    const ay = oy - (rim[i] * u[0] + rim[i + 1] * u[1] + rim[i + 2] * u[2]) * k;
    const bx = ox + (rim[i + 3] * r[0] + rim[i + 4] * r[1] + rim[i + 5] * r[2]) * k;
    const by_ = oy - (rim[i + 3] * u[0] + rim[i + 4] * u[1] + rim[i + 5] * u[2]) * k;
    if (Math.min(ax, bx) > REACH_PX || Math.max(ax, bx) < -REACH_PX || Math.min(ay, by_) > REACH_PX || Math.max(ay, by_) < -REACH_PX) continue;
    const [dx, dy] = [bx - ax, by_ - ay];
    const long = dx * dx + dy * dy;
    let part = long > 0 ? Math.min(1, Math.max(0, -(ax * dx + ay * dy) / long)) : 0;
    // An end is worth more than a place along the way; ends of short lines belong to curves.
    const ends = [Math.hypot(ax, ay), Math.hypot(bx, by_)];
    if (long > 16 * REACH_PX * REACH_PX && Math.min(...ends) < REACH_PX) part = ends[0] < ends[1] ? 0 : 1;
    const off = Math.hypot(ax + dx * part, ay + dy * part) - (part === 0 || part === 1 ? 2 : 0);
    if (off > REACH_PX || (best && off >= best.off)) continue;
    const point = along([rim[i], rim[i + 1], rim[i + 2]], [rim[i + 3], rim[i + 4], rim[i + 5]], part);
    if (dot(point, t) < deepest || (cut && dot(cut.normal, point) > cut.reach)) continue;
    best = { off, point };
  }
  return best?.point ?? null;
}

export class Measure {
  constructor(changed) {
    this.changed = changed;
    this.on = false;
    this.ends = [];
    click("measure", () => this.set(!this.on));
    click("anew", () => this.clear());
  }

  set(on) {
    this.on = on;
    by("measure").ariaPressed = on;
    by("measuring").hidden = !on;
    this.clear();
    if (on) say(START);
  }

  clear() {
    this.ends = [];
    by("span").textContent = START;
    this.changed();
  }

  take(point) {
    if (this.ends.length === 2) this.ends = [];
    this.ends.push(point);
    by("span").textContent = this.text();
    say(this.text());
    this.changed();
  }

  text() {
    if (this.ends.length === 1) return `From ${this.ends[0].map(bare).join(", ")} ${unitName()}. Click the other place.`;
    const d = less(this.ends[1], this.ends[0]);
    return `${length(size(d))} apart · dx ${bare(d[0])} · dy ${bare(d[1])} · dz ${bare(d[2])} ${unitName()}`;
  }

  // Corner points of the three-legged way from one end to the other, along x, y, z.
  legs() {
    const [a, b] = this.ends;
    const d = less(b, a);
    return [a, plus(a, [d[0], 0, 0]), plus(a, [d[0], d[1], 0]), b];
  }
}
