// A mesh as it came over the line, ready to draw and to ask. The vertices stay in the form they came in (20 bytes each:
// place, normal, feature); triangles are put in order of their features, so that one feature is one run.

const MAGIC = 0x314d5746;
const STRIDE = 20;

export class Mesh {
  constructor(bytes) {
    const head = new DataView(bytes);
    if (bytes.byteLength < 16 || head.getUint32(0, true) !== MAGIC) throw new Error("not a mesh");
    const [nv, nt, ne] = [4, 8, 12].map((at) => head.getUint32(at, true));
    const [triangles, edges] = [16 + nv * STRIDE, 16 + nv * STRIDE + nt * 12];
    if (bytes.byteLength < edges + ne * 8) throw new Error("a mesh cut short");
    this.vertices = new Uint8Array(bytes, 16, nv * STRIDE);
    this.places = new Float32Array(bytes, 16, nv * 5); // x, y, z and two more words that aren't places
    this.features = new Uint16Array(bytes, 16, nv * 10); // the tenth of each ten
    this.count = nt;
    const bodies = new Uint32Array(bytes, edges + ne * 8);
    if (bodies.length) this.part(bodies);
    this.sort(new Uint32Array(bytes, triangles, nt * 3));
    this.edges = new Uint32Array(bytes, edges, ne * 2);
    this.settle();
    this.joined = [this.low, this.high];
  }

  // What moves with the places.
  settle() {
    this.rim = this.ends(this.edges);
    this.measure(this.places.length / 5);
  }

  // Several bodies: a feature's surface on one of them is a patch, and vertices bear its number instead of the feature's.
  part(counts) {
    this.counts = counts;
    this.home = this.places.slice();
    this.patches = [];
    const known = new Map();
    let v = 0;
    counts.forEach((count, body) => {
      for (const end = v + count; v < end; v++) {
        const feature = this.features[10 * v + 9];
        const name = body * 65536 + feature;
        if (!known.has(name)) known.set(name, this.patches.push({ body, feature }) - 1);
        this.features[10 * v + 9] = known.get(name);
      }
    });
  }

  // Moves each body by its shift from where it belongs; one without a shift is out of the picture: all in one point.
  place(shifts) {
    const { home, places } = this;
    let v = 0;
    this.counts.forEach((count, body) => {
      const [first, shift] = [5 * v, shifts[body]];
      for (const end = v + count; v < end; v++) {
        for (let k = 0; k < 3; k++) places[5 * v + k] = shift ? home[5 * v + k] + shift[k] : home[first + k];
      }
    });
    this.shifts = shifts;
    this.settle();
  }

  // The numbers that vertices bear for some features, or for some bodies.
  keysOf(features, bodies = []) {
    if (!this.patches) return features;
    return this.patches.flatMap((p, i) => (features.includes(p.feature) || bodies.includes(p.body) ? [i] : []));
  }

  keyOf(triangle) { return this.features[this.corners[3 * triangle] * 10 + 9]; }

  featureOf(triangle) { return this.patches ? this.patches[this.keyOf(triangle)].feature : this.keyOf(triangle); }

  bodyOf(triangle) { return this.patches?.[this.keyOf(triangle)].body; }

  point(vertex) {
    const at = 5 * vertex;
    return [this.places[at], this.places[at + 1], this.places[at + 2]];
  }

  // Counting sort by feature; `runs` maps a feature to [first triangle, how many].
  sort(corners) {
    const key = (t) => this.features[corners[3 * t] * 10 + 9];
    const starts = new Uint32Array(65537);
    for (let t = 0; t < this.count; t++) starts[key(t) + 1]++;
    this.runs = new Map();
    for (let f = 0; f < 65536; f++) {
      if (starts[f + 1]) this.runs.set(f, [starts[f], starts[f + 1]]);
      starts[f + 1] += starts[f];
    }
    this.corners = new Uint32Array(corners.length);
    for (let t = 0; t < this.count; t++) {
      const to = 3 * starts[key(t)]++;
      for (let k = 0; k < 3; k++) this.corners[to + k] = corners[3 * t + k];
    }
  }

  // Both ends of each line, six numbers a line; none of a body that is out of the picture.
  ends(pairs) {
    const ends = new Float32Array(pairs.length * 3);
    let at = 0;
    for (let i = 0; i < pairs.length; i += 2) {
      if (this.shifts && !this.shifts[this.patches[this.features[10 * pairs[i] + 9]].body]) continue;
      for (const end of [pairs[i], pairs[i + 1]]) {
        for (let k = 0; k < 3; k++) ends[at++] = this.places[5 * end + k];
      }
    }
    return ends.subarray(0, at);
  }

  // The box of all, and of each feature: six numbers, low then high.
  measure(nv) {
    this.boxes = new Map();
    const all = empty();
    for (let v = 0; v < nv; v++) {
      const feature = this.features[10 * v + 9];
      let box = this.boxes.get(feature);
      if (!box) this.boxes.set(feature, (box = empty()));
      for (let k = 0; k < 3; k++) {
        const x = this.places[5 * v + k];
        if (x < box[k]) box[k] = x;
        if (x > box[3 + k]) box[3 + k] = x;
      }
    }
    for (const [key, box] of this.boxes) {
      if (this.shifts && !this.shifts[this.patches[key].body]) this.boxes.delete(key);
      else join(all, box);
    }
    Object.assign(this, bounds(all));
  }

  // The box round some features, or null when none of them has a surface here.
  boxOf(features) {
    const all = empty();
    for (const f of features) if (this.boxes.has(f)) join(all, this.boxes.get(f));
    return all[0] <= all[3] ? bounds(all) : null;
  }

  // Where the plane `axis = at` meets the surface: six numbers a line.
  slice(axis, at) {
    const { places, corners } = this;
    const out = [];
    for (let t = 0; t < corners.length; t += 3) {
      const [a, b, c] = [5 * corners[t], 5 * corners[t + 1], 5 * corners[t + 2]];
      const [da, db, dc] = [places[a + axis] - at, places[b + axis] - at, places[c + axis] - at];
      const [sa, sb, sc] = [da < 0, db < 0, dc < 0];
      if (sa === sb && sb === sc) continue;
      if (sa !== sb) cross(out, places, a, b, da / (da - db));
      if (sb !== sc) cross(out, places, b, c, db / (db - dc));
      if (sc !== sa) cross(out, places, c, a, dc / (dc - da));
    }
    return new Float32Array(out);
  }
}

const empty = () => new Float64Array([Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity]);

const bounds = (box) => ({ low: [...box.slice(0, 3)], high: [...box.slice(3)] });

function join(all, box) {
  for (let k = 0; k < 3; k++) {
    all[k] = Math.min(all[k], box[k]);
    all[3 + k] = Math.max(all[3 + k], box[3 + k]);
  }
}

function cross(out, places, a, b, t) {
  for (let k = 0; k < 3; k++) out.push(places[a + k] + (places[b + k] - places[a + k]) * t);
}
