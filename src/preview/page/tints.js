// Colours of the picture. Tints differ in lightness and along blue and yellow, so that they stay apart for eyes that
// don't tell red from green; features of one name with numbers (bolt.1, bolt.2) share theirs.

// Features that make up much of the part are plain metal; the others take the tints in turn.
const METALS = [[0xb8, 0xc0, 0xc9], [0xa2, 0xac, 0xb8], [0xc9, 0xcd, 0xd0], [0x92, 0x9d, 0xab]];
const MUCH = 0.12;
const TINTS = [
  [0xd2, 0xaf, 0x6a], [0x86, 0xa3, 0xd1], [0xe4, 0xdb, 0xb0], [0x6f, 0x86, 0xab], [0xb3, 0x94, 0x68],
  [0xa9, 0xcd, 0xe6], [0x8d, 0x8a, 0x9e], [0xd9, 0xc6, 0xd6], [0xc4, 0xc0, 0x84],
];
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
const FOAM = [0xf4, 0xf6, 0xfa];
const WAX = [0xe0, 0x9a, 0x3c];
export const toneOf = (piece, pieces) => (piece < pieces ? TINTS[piece % TINTS.length].map((x, k) => Math.round(0.66 * x + 0.34 * FOAM[k])) : WAX);

export const css = (tint) => `rgb(${tint.join(" ")})`;

// By day and by night: the ground, lines, what is lit, the face of a cut, metal that came and went.
const share = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);
const of = (all) => Object.fromEntries(Object.entries(all).map(([k, v]) => [k, typeof v === "string" ? share(v) : v]));
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
  pieces: [1, 1, 1, 0],
};

// Wall thickness in limits, and its colour: dark and hot where it is thin, pale at the limit, blue where there is plenty.
// Lightness alone tells thin from thick, too.
export const RAMP = [
  [0, [0x5a, 0x16, 0x02]], [0.5, [0xb8, 0x42, 0x05]], [0.98, [0xf5, 0x9b, 0x3d]], [1.02, [0xf4, 0xee, 0xdc]],
  [2, [0xa9, 0xc3, 0xde]], [3, [0x5f, 0x86, 0xb8]],
];

// The same for what a cutter reaches: 0 is out of reach, 1 is reached.
export const REACHED = [
  [0, [0xe2, 0x74, 0x22]], [0.5, [0xe2, 0x74, 0x22]], [0.9, [0xe2, 0x74, 0x22]], [1, [0xb4, 0xcb, 0xe2]],
  [2, [0xa9, 0xc3, 0xde]], [3, [0xa9, 0xc3, 0xde]],
];
