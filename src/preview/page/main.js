// The shop card's page: hears of builds, fetches their meshes, and puts hands, picture and card together.

import { by, click, note, on, say, tell } from "./hub.js";
import { bare, unitName, useUnit } from "./figures.js";
import { bytes, listen as connect } from "./link.js";
import { ALONG, Camera, swingTo } from "./camera.js";
import { Mesh } from "./mesh.js";
import { View } from "./view.js";
import { Ink } from "./ink.js";
import { Hands } from "./hands.js";
import { Cut } from "./cut.js";
import { Measure, snap } from "./measure.js";
import { Maps } from "./maps.js";
import { Changes } from "./changes.js";
import { Pieces } from "./pieces.js";
import { between, forget, prepare, seen } from "./pick.js";
import { tintsOf } from "./tints.js";
import { useEditor } from "./place.js";
import { save } from "./still.js";
import * as keys from "./keys.js";
import * as list from "./list.js";
import * as card from "./chosen.js";
import * as settings from "./settings.js";
import * as block from "./block.js";
import * as alarm from "./alarm.js";

const FULL = 1.15; // a part that goes beyond the picture by no more is shown whole
const SLOW_MS = 50; // a frame longer than this while moving: draw coarser until at rest

let state = null;
let online = true;
let stage = "finished";
let chosen = []; // features, by name, so that they hold over rebuilds
let finding = null;
let pointed = [];
let meshes = new Map(); // of this build, by build and stage
let shown = null; // { build, stage } in the picture
let first = true;
let fitted = null; // where the page itself has set the camera's target

const picture = by("picture");
const camera = new Camera(() => view?.ask());
let view = null;
const ink = new Ink(by("ink"), camera);
const measure = new Measure(() => view?.ask());

const write = () => ink.draw(measure, view.night, view.map?.legend?.marks);

function drawn() {
  write();
  picture.dataset.drawn = String(view.count);
  picture.dataset.view = JSON.stringify(camera, ["turn", "tilt", "target", "span_mm", "width", "height"]);
}

try {
  view = new View(picture, camera, drawn);
} catch (e) {
  by("alarm").hidden = false;
  by("alarm").textContent = `The picture can't be drawn: ${e.message}. The card beside it works.`;
  throw e;
}
const cut = new Cut(view);
ink.cut = cut;
const maps = new Maps(view);
const changes = new Changes(view);
const pieces = new Pieces();

// --- builds ---

on("state", (news) => {
  const was = state;
  // A new server that has built nothing yet: what the old one showed stays.
  state = was?.build && !news.build ? { ...was, stale: true, errors: news.errors } : news;
  useUnit(state.unit);
  useEditor(state.editor);
  for (const unit of document.querySelectorAll(".unit")) unit.textContent = unitName();
  state.foam = pieces.keep(state);
  for (const key of meshes.keys()) if (![state.build, state.foam?.build].includes(parseInt(key, 10))) meshes.delete(key);
  if (!here(stage) && state.stages[0]) stage = state.stages[0].name;
  document.title = `${state.stale || state.errors.length ? "! " : ""}${state.part || state.script} · foamwright`;
  fillCard();
  settings.fill(state);
  alarm.fill(state, online);
  changes.forget(state.build);
  view.faded = state.stale;
  view.ask();
  if (!was || was.build !== state.build || was.stale !== state.stale || state.stale) say(block.spoken(state));
  if (state.build) fetchMesh();
});

on("progress", ({ step }) => {
  by("progress").hidden = !step;
  by("progress").textContent = step ? `${step} …` : "";
});

on("line", (up) => {
  online = up;
  // Another server counts its builds anew.
  meshes = new Map();
  shown = null;
  alarm.fill(state, online);
});

const here = (name) => block.strip(state).some((s) => s.name === name);

function paint(tints) {
  const all = view.mesh?.patches ? pieces.tints(view.mesh) : tints;
  const four = new Uint8Array(all.length * 4);
  all.forEach((t, i) => four.set(t, 4 * i));
  view.paint(four);
}

function fillStage() {
  block.fillStages(state, stage);
  block.fillBlock(state, stage);
  pieces.fill(stage);
}

function fillCard() {
  const tints = tintsOf(state.features);
  paint(tints);
  list.fill(state, tints);
  fillStage();
  block.fillFiles(state);
  const features = indices();
  if (finding) {
    finding = state.findings.find((f) => f.key === finding.key);
    ink.mark = finding?.at_mm;
  }
  if (finding) card.showFinding(state, finding);
  else if (features.length) card.showFeature(state, features[0]);
  else if (pieces.chosen >= 0) card.showPiece(state, pieces.chosen);
  else card.showNothing();
  list.choose(features, finding, false);
  light();
}

async function fetchMesh() {
  const wanted = stage;
  document.body.classList.toggle("board", wanted === "boards");
  if (wanted === "boards") return;
  // Pieces may be of the build before, until the proof brings new ones.
  const buildOf = () => (wanted === "pieces" ? state.foam?.build : state.build);
  const build = buildOf();
  if (shown?.build === build && shown.stage === wanted) return maps.hear(state, stage);
  const key = `${build} ${wanted}`;
  if (!meshes.has(key)) {
    const raw = await bytes(`/mesh/${build}/${wanted}`);
    if (!raw || buildOf() !== build) return;
    meshes.set(key, new Mesh(raw));
  }
  if (stage !== wanted || buildOf() !== build) return;
  show(build, meshes.get(key));
}

// Puts a mesh into the picture; it may have moved.
function lay(mesh) {
  if (mesh.patches) {
    pieces.place(mesh);
    forget(mesh);
  }
  view.show(mesh);
  paint(tintsOf(state.features));
  light();
  tell("mesh", mesh);
}

// Pieces moved: what showed them whole goes on doing so, and comes back where it went farther off for that alone.
on("moved", () => {
  light();
  const { mesh } = view;
  if (stage !== "pieces" || !mesh?.patches) return;
  const span = () => Math.max(camera.whole(mesh.low, mesh.high).span_mm, camera.whole(...mesh.joined).span_mm);
  const [whole, ours] = [span() <= camera.span_mm * FULL, camera.target === fitted];
  lay(mesh);
  const span_mm = span();
  if (!ours && !(whole && span_mm > camera.span_mm)) return;
  fitted = camera.whole(mesh.low, mesh.high).target;
  Object.assign(camera, { target: fitted, span_mm });
});

function show(build, mesh) {
  shown = { build, stage };
  view.stage = stage;
  changes.step(stage);
  maps.hear(state, stage);
  lay(mesh);
  if (first) {
    view.fitCanvas();
    Object.assign(camera, camera.whole(mesh.low, mesh.high));
    first = false;
  }
  picture.ariaLabel = `${state.part}, ${stage}`;
  view.whenDrawn().then(() => {
    picture.dataset.shown = `${build} ${stage}`;
    (window.requestIdleCallback ?? setTimeout)(() => prepare(mesh));
  });
}

on("stage", (name) => {
  if (!state || !here(name)) return;
  stage = name;
  fillStage();
  say(`Stage: ${stage}`);
  fetchMesh();
});

// --- what is chosen ---

const indices = () => chosen.map((name) => state.features.findIndex((f) => f.name === name)).filter((i) => i >= 0);

function light() {
  const states = new Map();
  const set = (how, features, bodies) => {
    for (const key of view.mesh?.keysOf(features, bodies) ?? []) states.set(key, how);
  };
  const [near, lit, now] = pieces.lit();
  set(5, [], now);
  set(3, finding?.features ?? []);
  set(2, indices(), lit);
  set(1, pointed, near);
  view.light(states);
}

on("point", (features) => {
  pointed = features;
  light();
});

// Features by name or a finding, instead of all that was chosen.
function take(names, one) {
  pieces.choose(-1);
  chosen = names;
  finding = one;
  ink.mark = one?.at_mm;
}

on("choose", ({ features, from }) => {
  take(features.map((i) => state.features[i].name));
  card.showFeature(state, features[0]);
  list.choose(features, null, from !== "list");
  light();
  say(card.told(state, features));
});

on("piece", (index) => {
  tell("clear");
  pieces.choose(index, true);
  card.showPiece(state, index);
  light();
  if (stage === "pieces") approach([], null, [index]);
  say(`Piece ${state.foam.pieces[index].name}`);
});

on("clear", () => {
  take([]);
  light();
});

on("finding", async (one) => {
  take([], one);
  if (one.stage && one.stage !== stage) {
    tell("stage", one.stage);
    await fetchMesh();
  }
  card.showFinding(state, one);
  list.choose([], one, true);
  light();
  approach(one.features, one.at_mm);
  say(`${one.text} ${one.remedy ?? ""}`);
});

on("lit", light);

on("approach", (features) => approach(features, null));

// Flies to features, or to a place of theirs, from the side with the least metal before it that asks the least turning.
function approach(features, at, bodies) {
  const { mesh } = view;
  if (!mesh) return;
  const box = mesh.boxOf(mesh.keysOf(features, bodies)) ?? (at ? { low: at, high: at } : null);
  if (!box) return;
  const point = at ?? box.low.map((l, i) => (l + box.high[i]) / 2);
  const ways = [[camera.turn, camera.tilt]];
  for (let turn = -180; turn < 180; turn += 30) for (const tilt of [25, 50, -25, -50]) ways.push([turn, tilt]);
  const cost = ([turn, tilt]) => {
    const walls = between(mesh, point, camera.axes(turn, tilt)[2]);
    const swing = Math.abs(swingTo(camera.turn, turn)) + Math.abs(tilt - camera.tilt);
    return walls * 40 + swing * 0.35 + (tilt < 0 ? 15 : 0);
  };
  const [turn, tilt] = ways.reduce((a, b) => (cost(b) < cost(a) ? b : a));
  const part = camera.whole(mesh.low, mesh.high, turn, tilt).span_mm;
  const near = camera.whole(box.low, box.high, turn, tilt);
  const span_mm = Math.min(part, Math.max(near.span_mm * 1.4, part * 0.22));
  camera.fly({ turn, tilt, target: at ?? near.target, span_mm: at ? Math.min(span_mm, part * 0.5) : span_mm });
}

// --- hands ---

function spotAt(x, y) {
  if (!view.mesh) return null;
  const spot = seen(view.mesh, camera.sight(x, y), view.cut);
  if (!spot) return null;
  const near = measure.on ? snap(view.mesh, camera, x, y, spot, view.cut) : null;
  return { ...spot, near, at: near ?? spot.point };
}

function pick(x, y) {
  const spot = spotAt(x, y);
  if (measure.on) {
    if (spot) measure.take(spot.at);
    return;
  }
  const piece = spot ? pieces.ofBody(view.mesh.bodyOf(spot.triangle)) : -1;
  if (spot && state.features[spot.feature]) tell("choose", { features: [spot.feature], from: "picture" });
  else if (piece >= 0) tell("piece", piece);
  else tell("clear");
  if (piece >= 0) pieces.mark(piece);
}

let pointer = null;
let asked = false;
function over(at) {
  pointer = at;
  if (asked) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    read();
  });
}

function read() {
  const spot = pointer && spotAt(...pointer);
  picture.classList.toggle("holds", Boolean(pointer && grip(...pointer)));
  const name = state?.features[spot?.feature]?.name;
  by("spot").textContent = spot ? [
    pieces.named(view.mesh.bodyOf(spot.triangle)), maps.said(spot), `${spot.at.map((x, k) => `${"xyz"[k]} ${bare(x)}`).join("  ")} ${unitName()}`,
    name && `${spot.face ? "cut through " : ""}${name}`,
  ].filter(Boolean).join(" · ") : "";
  const near = spot?.near ?? null;
  if (String(near) === String(ink.near)) return;
  ink.near = near;
  write();
}

// While moving: coarser where frames are slow, sharp again at rest.
let rest = 0;
let before = 0;
function moving() {
  const now = performance.now();
  const gap = now - before;
  before = now;
  if (rest && gap > SLOW_MS && gap < 400 && view.coarse > 0.5) view.coarse = 0.5;
  clearTimeout(rest);
  rest = setTimeout(() => {
    rest = 0;
    if (view.coarse === 1) return;
    view.coarse = 1;
    view.ask();
  }, 160);
}

const grip = (x, y) => (measure.on ? null : cut.grip(camera, x, y));
new Hands(picture, camera, { pick, over, moving, grip });
picture.addEventListener("focus", () => {
  ink.cross = picture.matches(":focus-visible");
  write();
});
picture.addEventListener("blur", () => {
  ink.cross = false;
  write();
});

function showAll() {
  if (view.mesh) camera.fly(camera.whole(view.mesh.low, view.mesh.high));
}

function look(axis) {
  if (!view.mesh) return;
  const [a, b] = axis === "corner" ? [[-62, 33], [118, 33]] : ALONG[axis];
  const there = camera.turn === a[0] && camera.tilt === a[1];
  const [turn, tilt] = there ? b : a;
  camera.fly({ turn, tilt, ...camera.whole(view.mesh.low, view.mesh.high, turn, tilt) });
}

function night(on_, keep) {
  view.night = on_;
  document.documentElement.dataset.shift = on_ ? "night" : "day";
  by("night").ariaPressed = on_;
  if (keep) try { localStorage.setItem("shift", on_ ? "night" : "day"); } catch { /* a private window */ }
  view.ask();
}

function shift() {
  let kept = null;
  try { kept = localStorage.getItem("shift"); } catch { /* a private window */ }
  const dark = matchMedia("(prefers-color-scheme: dark)");
  night(kept ? kept === "night" : dark.matches, false);
  dark.addEventListener("change", () => { if (!kept) night(dark.matches, false); });
}

// Without what is there only for the hand.
function keepPicture() {
  if (!view.mesh || stage === "boards") return note("No picture yet.");
  ink.still = true;
  save(view, ink, state, stage);
  ink.still = false;
  view.ask();
}
click("whole", showAll);
for (const one of document.querySelectorAll("[data-along]")) one.addEventListener("click", () => look(one.dataset.along));
click("still", keepPicture);
click("night", () => night(!view.night, true));

const nth = (i) => () => state && block.strip(state)[i] && tell("stage", block.strip(state)[i].name);
keys.sheet();
keys.listen({
  f: showAll, x: () => look("x"), y: () => look("y"), z: () => look("z"), i: () => look("corner"),
  1: nth(0), 2: nth(1), 3: nth(2), 4: nth(3), 5: nth(4), 6: nth(5),
  a: () => pieces.toggle(), ",": () => pieces.go(-1), ".": () => pieces.go(1),
  c: (other) => (other ? cut.on && cut.flip() : cut.set(!cut.on)),
  "[": () => cut.on && cut.nudge(-1), "]": () => cut.on && cut.nudge(1),
  ...maps.keys, m: () => measure.set(!measure.on), l: card.copyPlace, p: keepPicture, n: () => night(!view.night, true),
  g: () => changes.show(), "/": () => by("sift").focus(), "?": () => keys.toggle(),
  Escape: () => {
    if (measure.on && measure.ends.length) measure.clear();
    else if (measure.on) measure.set(false);
    else tell("clear");
  },
});
shift();
card.showNothing();
connect();
