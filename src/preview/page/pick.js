// What a line of sight meets. Triangles lie in a tree of boxes: sorted along a space-filling curve (the codes of
// Morton, 1966), four to a leaf, two to a knot, without pointers. Made when first asked for.

import { cross, dot, less, plus, size, times } from "./space.js";

const LEAF = 4;

// Boxes and triangles are a little larger than they are, so that no line of sight slips through between two.
const SLACK_MM = 1e-4;
const SLACK = 1e-7;

// Where crossings are counted, the line stands a little aside: along a shared edge both would count.
const ASIDE_MM = [1.3e-4, 0.7e-4, 1.1e-4];

// A wall is looked through from so far behind its surface.
const BEHIND_MM = 1e-3;

// Spreads ten bits to every third place.
function spread(x) {
  let y = x & 0x3ff;
  y = (y | (y << 16)) & 0x30000ff;
  y = (y | (y << 8)) & 0x300f00f;
  y = (y | (y << 4)) & 0x30c30c3;
  return (y | (y << 2)) & 0x9249249;
}

// Order of the triangles along the curve: three rounds of counting, ten bits each.
function curve(mesh) {
  const { places, corners, count, low, high } = mesh;
  const scale = low.map((l, k) => 1023 / Math.max((high[k] - l) * 3, 1e-9));
  const code = new Uint32Array(count);
  for (let t = 0; t < count; t++) {
    const [a, b, c] = [5 * corners[3 * t], 5 * corners[3 * t + 1], 5 * corners[3 * t + 2]];
    let all = 0;
    for (let k = 0; k < 3; k++) {
      const mid = (places[a + k] + places[b + k] + places[c + k] - 3 * low[k]) * scale[k];
      all |= spread(mid) << k;
    }
    code[t] = all;
  }
  let order = new Uint32Array(count);
  for (let t = 0; t < count; t++) order[t] = t;
  let next = new Uint32Array(count);
  for (let shift = 0; shift < 30; shift += 10) {
    const starts = new Uint32Array(1025);
    for (let t = 0; t < count; t++) starts[((code[t] >>> shift) & 1023) + 1]++;
    for (let i = 0; i < 1024; i++) starts[i + 1] += starts[i];
    for (let t = 0; t < count; t++) next[starts[(code[order[t]] >>> shift) & 1023]++] = order[t];
    [order, next] = [next, order];
  }
  return order;
}

export class Boxes {
  constructor(mesh) {
    this.mesh = mesh;
    this.order = curve(mesh);
    this.leaves = 1;
    while (this.leaves * LEAF < mesh.count) this.leaves *= 2;
    // Knot 1 is the root, 2i and 2i + 1 lie below i; six numbers each, low then high.
    this.box = new Float32Array(this.leaves * 12);
    for (let i = this.leaves; i < 2 * this.leaves; i++) this.close(i);
    for (let i = this.leaves - 1; i > 0; i--) {
      for (let k = 0; k < 3; k++) {
        this.box[6 * i + k] = Math.min(this.box[12 * i + k], this.box[12 * i + 6 + k]);
        this.box[6 * i + 3 + k] = Math.max(this.box[12 * i + 3 + k], this.box[12 * i + 9 + k]);
      }
    }
  }

  close(leaf) {
    const { places, corners, count } = this.mesh;
    const at = 6 * leaf;
    this.box.fill(Infinity, at, at + 3);
    this.box.fill(-Infinity, at + 3, at + 6);
    const first = (leaf - this.leaves) * LEAF;
    for (let i = first; i < Math.min(first + LEAF, count); i++) {
      for (let c = 0; c < 3; c++) {
        const v = 5 * corners[3 * this.order[i] + c];
        for (let k = 0; k < 3; k++) {
          this.box[at + k] = Math.min(this.box[at + k], places[v + k]);
          this.box[at + 3 + k] = Math.max(this.box[at + 3 + k], places[v + k]);
        }
      }
    }
  }

  // Calls `met(t, triangle, front)` for what lies between; `met` gives back how far it is still worth looking.
  walk(from, way, start, end, met) {
    const level = way.map((w) => Math.abs(w) < 1e-9);
    const inverse = way.map((w) => 1 / w);
    const stack = [1];
    let far = end;
    while (stack.length) {
      const i = stack.pop();
      let [near, out] = [start, far];
      for (let k = 0; k < 3; k++) {
        const [low, high] = [this.box[6 * i + k] - SLACK_MM - from[k], this.box[6 * i + 3 + k] + SLACK_MM - from[k]];
        if (level[k]) {
          if (low > 0 || high < 0) out = -Infinity;
          continue;
        }
        const [a, b] = [low * inverse[k], high * inverse[k]];
        near = Math.max(near, Math.min(a, b));
        out = Math.min(out, Math.max(a, b));
      }
      if (!(near <= out)) continue;
      if (i < this.leaves) {
        stack.push(2 * i, 2 * i + 1);
        continue;
      }
      const first = (i - this.leaves) * LEAF;
      for (let j = first; j < Math.min(first + LEAF, this.mesh.count); j++) {
        const hit = this.meet(from, way, this.order[j]);
        if (hit && hit.t >= start && hit.t <= far) far = met(hit.t, this.order[j], hit.front);
      }
    }
  }

  // Line and triangle, by the signed volumes of Möller and Trumbore (1997).
  meet(from, way, triangle) {
    const { places, corners } = this.mesh;
    const [a, b, c] = [5 * corners[3 * triangle], 5 * corners[3 * triangle + 1], 5 * corners[3 * triangle + 2]];
    const [ax, ay, az] = [places[a], places[a + 1], places[a + 2]];
    const [ux, uy, uz] = [places[b] - ax, places[b + 1] - ay, places[b + 2] - az];
    const [vx, vy, vz] = [places[c] - ax, places[c + 1] - ay, places[c + 2] - az];
    const [px, py, pz] = [way[1] * vz - way[2] * vy, way[2] * vx - way[0] * vz, way[0] * vy - way[1] * vx];
    const det = ux * px + uy * py + uz * pz;
    if (det === 0) return null;
    const [sx, sy, sz] = [from[0] - ax, from[1] - ay, from[2] - az];
    const u = (sx * px + sy * py + sz * pz) / det;
    if (u < -SLACK || u > 1 + SLACK) return null;
    const [qx, qy, qz] = [sy * uz - sz * uy, sz * ux - sx * uz, sx * uy - sy * ux];
    const v = (way[0] * qx + way[1] * qy + way[2] * qz) / det;
    if (v < -SLACK || u + v > 1 + SLACK) return null;
    return { t: (vx * qx + vy * qy + vz * qz) / det, front: det > 0 };
  }

  nearest(from, way, start = 0, end = Infinity) {
    let best = null;
    this.walk(from, way, start, end, (t, triangle) => {
      best = { t, triangle };
      return t;
    });
    return best;
  }

  // The sum of what the way from there crosses, fronts and backs being worth so much.
  crossed(from, way, start, front, back) {
    let sum = 0;
    this.walk(plus(from, ASIDE_MM), way, start, Infinity, (t, triangle, isFront) => {
      sum += isFront ? front : back;
      return Infinity;
    });
    return sum;
  }
}

const trees = new WeakMap();

function treeOf(mesh) {
  if (!trees.has(mesh)) trees.set(mesh, new Boxes(mesh));
  return trees.get(mesh);
}

// The mesh has moved.
export const forget = (mesh) => trees.delete(mesh);

// Makes the tree before it is needed.
export const prepare = (mesh) => { treeOf(mesh); };

// What is seen along a line of sight: point, feature, and whether it is the face of a cut. `cut`: { normal, reach },
// metal is kept where normal · p <= reach.
export function seen(mesh, { from, way }, cut) {
  const tree = treeOf(mesh);
  let [start, end] = [0, Infinity];
  if (cut) {
    const [slope, off] = [dot(cut.normal, way), cut.reach - dot(cut.normal, from)];
    if (Math.abs(slope) < 1e-9) {
      if (off < 0) return null;
    } else if (slope < 0) start = Math.max(0, off / slope);
    else end = off / slope;
    if (end < start) return null;
  }
  const hit = tree.nearest(from, way, start, end);
  if (!hit) return null;
  // Inside, the way leaves the metal once more than it enters.
  const face = start > 0 && tree.crossed(from, way, start, -1, 1) > 0;
  const t = face ? start : hit.t;
  return { point: plus(from, times(way, t)), feature: mesh.featureOf(hit.triangle), triangle: hit.triangle, face };
}

// How thick the metal is behind a spot of the surface, straight through (mm); null on the face of a cut.
export function wallAt(mesh, { point, triangle, face }) {
  if (face) return null;
  const [a, b, c] = [0, 1, 2].map((k) => mesh.point(mesh.corners[3 * triangle + k]));
  const way = times(cross(less(b, a), less(c, a)), -1);
  const unit = times(way, 1 / (size(way) || 1));
  const hit = treeOf(mesh).nearest(plus(point, times(unit, BEHIND_MM)), unit);
  return hit && hit.t + BEHIND_MM;
}

// How many surfaces stand between a point and an eye that far off.
export const between = (mesh, point, towards) => treeOf(mesh).crossed(point, towards, 0.05, 1, 1);
