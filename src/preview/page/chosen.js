// The card of what is chosen: a feature with its sizes and its line, or a finding with its remedy.

import { by, copy, make, on, press, tell } from "./hub.js";
import { length, many, overall, volume, weight } from "./figures.js";
import { LEVELS } from "./list.js";
import { groupOf } from "./tints.js";
import { placeButtons, placeText } from "./place.js";

let place = null; // what the letter l copies

const button = (text, act, label) => press("small", act, label, text);

const show = (...inside) => by("chosen").replaceChildren(...inside.filter(Boolean), press("small away", () => tell("clear"), "Let go of what is chosen", "close"));

function sizesOf(feature) {
  const figures = [...feature.sizes];
  if (feature.added_mm3 > 0) figures.push(["adds", volume(feature.added_mm3)]);
  if (feature.removed_mm3 > 0) figures.push(["takes away", volume(feature.removed_mm3)]);
  return pairs(figures);
}

const pairs = (figures) => make("dl.sizes", ...figures.flatMap(([name, value]) => [make("dt", name), make("dd", value)]));

export function showFeature(state, index) {
  const feature = state.features[index];
  if (!feature) return showNothing();
  place = feature;
  const alike = state.features.flatMap((f, i) => (groupOf(f.name) === groupOf(feature.name) && f.word === feature.word ? [i] : []));
  const at = alike.indexOf(index);
  const go = (by_) => () => tell("choose", { features: [alike[(at + by_ + alike.length) % alike.length]], from: "card" });
  const steps = alike.length > 1
    ? make("p.steps", button("‹", go(-1), "The one before"), ` ${at + 1} of ${alike.length} `, button("›", go(1), "The next one"))
    : null;
  const found = state.findings.filter((f) => f.features.includes(index));
  show(
    make("p.kind", feature.word),
    make("h2", feature.name),
    steps,
    sizesOf(feature),
    make("p.line", ...placeButtons(feature, true), " ", button("go there", () => tell("approach", [index]), `Go to ${feature.name} in the picture`)),
    ...found.map((f) => press(`found ${f.level}`, () => tell("finding", f), "", f.text)),
  );
}

export function showPiece(state, index) {
  const piece = state.foam.pieces[index];
  place = piece.file ? piece : null;
  const figures = [
    ["board", piece.board_mm && overall([piece.board_mm])], ["size", overall(piece.size_mm)], ["copies", piece.count > 1 && String(piece.count)],
    ["cut from", many(piece.sides, "side")], ["weight", weight(piece.foam_kg)], ["glued to", piece.glued_to.join(", ")], ["note", piece.note],
    ["wax fillet", Object.entries(piece.wax_fillet_mm).map(([r, l]) => `${length(Number(r))}, ${overall([l])} long`).join("; ")],
  ].filter(([, value]) => value);
  show(
    make("p.kind", `foam piece ${piece.number}`),
    make("h2", piece.name),
    pairs(figures),
    place && make("p.line", ...placeButtons(place, true)),
  );
}

export function showFinding(state, finding) {
  const named = finding.features.map((f) => state.features[f]).filter(Boolean);
  place = finding.line ? { file: named[0]?.file ?? state.script, line: finding.line } : named[0] ?? null;
  show(
    make(`p.kind.${finding.level}`, `${finding.code} · ${LEVELS[finding.level]}`),
    make("p.text", finding.text),
    finding.remedy && make("p.remedy", finding.remedy),
    make("ul.named", ...named.map((f) => make("li", make("b", f.name), ` ${f.word}`, make("div", ...placeButtons(f, f === place))))),
    make("p.line", button("go there", () => tell("finding", finding))),
  );
}

export function showNothing() {
  place = null;
  by("chosen").replaceChildren(make("p.hint", "Click a surface or a line below."));
}

// One key copies the line of what is chosen.
export function copyPlace() {
  if (place) copy(placeText(place));
}

export const told = (state, features) => features.length === 1
  ? `${state.features[features[0]].name}, ${state.features[features[0]].word}, line ${state.features[features[0]].line}`
  : many(features.length, "feature");

on("clear", showNothing);
