// Colours of the picture. Tints differ in lightness and along blue and yellow, so that they stay apart for eyes that
// don't tell red from green; features of one name with numbers (bolt.1, bolt.2) share theirs.

const rgb = (hex) => [0, 2, 4].map((i) => parseInt(hex.slice(i, i + 2), 16));
const all = (list) => list.split(" ").map(rgb);

// Features that make up much of the part are plain metal; the others take the tints in turn.
const METALS = all("b8c0c9 a2acb8 c9cdd0 929dab");
const MUCH = 0.12;
const TINTS = all("d2af6a 86a3d1 e4dbb0 6f86ab b39468 a9cde6 8d8a9e d9c6d6 c4c084");
const OPENING = 0.66;

// bolt.3 and pad.3 bolt are one of many; in brace -4.7 the number is the name.
export const groupOf = (name) => name.replace(/(\S+?)\.\d+(?=\s|$)/g, (all, stem) => (/^-?\d+$/.test(stem) ? all : stem));
export const opens = (feature) => feature.removed_mm3 > feature.added_mm3;

// For each feature its three bytes.
export function tintsOf(features) {
  const byGroup = new Map();
  const total = features.reduce((sum, f) => sum + f.added_mm3, 0);
  const large = [...features].filter((f) => f.added_mm3 > MUCH * total).sort((a, b) => b.added_mm3 - a.added_mm3);
  for (const f of large) if (!byGroup.has(groupOf(f.name))) byGroup.set(groupOf(f.name), METALS[byGroup.size % METALS.length]);
  let next = 0;
  return features.map((f) => {
    const group = groupOf(f.name);
    if (!byGroup.has(group)) byGroup.set(group, TINTS[next++ % TINTS.length]);
    const tint = byGroup.get(group);
    return opens(f) ? tint.map((x) => Math.round(x * OPENING)) : tint;
  });
}

// Each foam piece's own: a tint, most of it white. What is beyond the pieces is wax.
const FOAM = rgb("f4f6fa");
const WAX = rgb("e09a3c");
export const toneOf = (piece, pieces) => (piece < pieces ? TINTS[piece % TINTS.length].map((x, k) => Math.round(0.66 * x + 0.34 * FOAM[k])) : WAX);

export const css = (tint) => `rgb(${tint.join(" ")})`;

// By day and by night: the ground, lines, what is lit, the face of a cut, metal that came and went.
const share = (hex) => rgb(hex.slice(1)).map((x) => x / 255);
const of = (shift) => Object.fromEntries(Object.entries(shift).map(([k, v]) => [k, typeof v === "string" ? share(v) : v]));
export const DAY = of({
  inner: "#f7f8f4", outer: "#d9ded9", crease: "#20242f", strength: 0.85,
  pointed: "#7f97ff", chosen: "#5470ff", marked: "#f08a24",
  cutGround: "#f2ead6", cutInk: "#6a5530", foamGround: "#fbfcff", foamInk: "#8fa3c7", rim: "#161923",
  came: "#1f5fe0", went: "#e8590c",
});
export const NIGHT = of({
  inner: "#2a3157", outer: "#12152b", crease: "#0a0c18", strength: 0.9,
  pointed: "#8fa6ff", chosen: "#6d8bff", marked: "#ffa23e",
  cutGround: "#e9dcc0", cutInk: "#5e4a28", foamGround: "#eef2ff", foamInk: "#7d92bd", rim: "#05060d",
  came: "#5f93ff", went: "#ff8a3c",
});

// What each stage is of, and how much that covers the tints.
export const STUFF = {
  finished: [0.7, 0.74, 0.78, 0],
  casting: [0.62, 0.62, 0.61, 0.42],
  pattern: [0.95, 0.965, 0.985, 0.74],
  gated: [0.95, 0.965, 0.985, 0.74],
  pieces: [1, 1, 1, 0],
};

// Wall thickness in limits, and its colour: dark and hot where it is thin, pale at the limit, blue where there is plenty.
// Lightness alone tells thin from thick, too.
const ramp = (hexes, at = [0, 0.6, 1.2, 1.8, 2.4, 3]) => all(hexes).map((tint, i) => [at[i], tint]);
export const RAMP = ramp("5a1602 b84205 f59b3d f4eedc a9c3de 5f86b8", [0, 0.5, 0.98, 1.02, 2, 3]);

// The same for what a cutter reaches: 0 is out of reach, 1 is reached.
export const REACHED = ramp("e27422 e27422 e27422 b4cbe2 a9c3de a9c3de", [0, 0.5, 0.9, 1, 2, 3]);

// How long it stays hot: from cool and dark to a glow. How large a ball lies inside: from pale to plum. How far the metal
// has come: from bright at the gates to dark.
export const GLOW = ramp("3d4f86 6f5c93 a8627f d87a4e f2ab45 fdf0a8");
export const SWELL = ramp("f6edf4 ddbfd8 c08fc0 9c60a6 713786 431259");
export const COME = ramp("faf3cf c8dfb4 83bfae 4a93ab 355f96 2a2f66");
