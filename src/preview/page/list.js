// One list: findings first, then features as the script has them, those of one name and many numbers in one line.

import { by, make, on, pointed, press, refill, tell } from "./hub.js";
import { many } from "./figures.js";
import { css, groupOf, opens } from "./tints.js";

export const LEVELS = { stop: "stops the casting", look: "look at this", note: "to know" };

const MENDED = 3; // so many mended findings are named
const FOLD = 3; // more notes than this are folded into one line

let rows = []; // { element, text, features, key of a finding, whether it is a note }
let told = null; // findings of the last proved build, by key
let news = { fresh: new Set(), mended: [] }; // what the last proved build brought
let folds = false;
let unfolded = false;

// Features in groups: { name, features: [index], feature }.
export function groupsOf(features) {
  const groups = new Map();
  features.forEach((feature, i) => {
    const name = groupOf(feature.name);
    // A name alone can't share a line with numbered ones of another word.
    const key = `${name}\n${feature.word}`;
    if (!groups.has(key)) groups.set(key, { name, features: [], feature });
    groups.get(key).features.push(i);
  });
  for (const g of groups.values()) if (g.features.length === 1) g.name = g.feature.name;
  return [...groups.values()];
}

function row(kind, text, features, inside) {
  const button = press(kind, () => one.act(), "", ...inside);
  const one = { element: make("li", button), button, text: text.toLowerCase(), features };
  pointed(button, (lit) => tell("point", lit ? features : []));
  return one;
}

function findingRow(finding, state) {
  const names = finding.features.map((f) => state.features[f]?.name).filter(Boolean);
  const sign = make(`span.sign.${finding.level}`);
  sign.ariaHidden = "true";
  const where = make("small", [LEVELS[finding.level], finding.stage].filter(Boolean).join(", "));
  const number = make("span.number", finding.line ? String(finding.line) : "");
  const fresh = news.fresh.has(finding.key) ? make("small.fresh", "new") : null;
  const one = row(`row finding ${finding.level}`, `${finding.text} ${finding.code} ${names.join(" ")}`, finding.features, [
    sign, make("span.words", make("span", finding.text), where, fresh), number,
  ]);
  one.key = finding.key;
  one.note = finding.level === "note";
  one.act = () => tell("finding", finding);
  return one;
}

// The colour that something has in the picture.
export function swatch(kind, tint) {
  const one = make(`span.swatch${kind}`);
  one.style.setProperty("--tint", css(tint));
  one.ariaHidden = "true";
  return one;
}

function featureRow(group, state, tints) {
  const { feature } = group;
  const count = group.features.length > 1 ? make("small", `× ${group.features.length}`) : null;
  const number = make("span.number", String(feature.line));
  const flagged = state.findings.some((f) => f.level !== "note" && f.features.some((i) => group.features.includes(i)));
  const one = row("row feature", `${group.name} ${feature.word} ${feature.file}:${feature.line}`, group.features, [
    swatch(opens(feature) ? ".open" : "", tints[group.features[0]]), make("span.words", make("b", group.name), " ", make("small", feature.word), " ", count), flagged ? make("span.flag", "!") : null, number,
  ]);
  one.button.ariaLabel = [group.name, feature.word, count ? many(group.features.length, "place") : "", `line ${feature.line}`, flagged ? "has findings" : ""].filter(Boolean).join(", ");
  one.act = () => tell("choose", { features: group.features, from: "list" });
  return one;
}

// The line that the notes are folded into.
function foldRow(count) {
  const one = row("row fold", "", [], [make("span.sign.note"), make("span.words", `${count} notes`), make("span.number", "")]);
  one.fold = true;
  one.act = () => {
    unfolded = !unfolded;
    sift();
  };
  return one;
}

// Compares the findings with those of the build before, once all of them are known.
function compare(state) {
  if (!state.build || state.stale || !state.proved) return;
  const now = new Map(state.findings.map((f) => [f.key, f]));
  if (told && told.build === state.build) return;
  if (told) {
    news = {
      fresh: new Set([...now.keys()].filter((key) => !told.findings.has(key))),
      mended: [...told.findings].filter(([key, f]) => f.level !== "note" && !now.has(key)).map(([, f]) => f.text),
    };
  }
  told = { build: state.build, findings: now };
}

// A line that can't be chosen.
function plainRow(kind, text) {
  return { element: make(`li.${kind}`, text), button: make("span"), text: text.toLowerCase(), features: [], plain: true };
}

export function fill(state, tints) {
  compare(state);
  const grave = state.findings.filter((f) => f.level !== "note");
  const notes = state.findings.filter((f) => f.level === "note");
  rows = [
    ...(state.build && !state.proved ? [plainRow("waiting", "Still checking …")] : []),
    ...news.mended.slice(0, MENDED).map((text) => plainRow("mended", `Mended: ${text}`)),
    ...grave.map((f) => findingRow(f, state)),
    ...(notes.length > FOLD ? [foldRow(notes.length)] : []),
    ...notes.map((f) => findingRow(f, state)),
    ...groupsOf(state.features).map((g) => featureRow(g, state, tints)),
  ];
  folds = notes.length > FOLD;
  refill(by("list"), ...rows.map((r) => r.element));
  by("listhead").textContent = state.findings.length
    ? `${many(state.findings.length, "finding")}, ${many(state.features.length, "feature")}`
    : `No findings, ${many(state.features.length, "feature")}`;
  sift();
}

function sift() {
  const words = by("sift").value.toLowerCase().split(/\s+/).filter(Boolean);
  for (const r of rows) {
    const folded = r.note && folds && !unfolded && !words.length;
    r.element.hidden = r.fold ? words.length > 0 : folded || !words.every((w) => r.text.includes(w));
    if (!r.fold) continue;
    r.button.ariaExpanded = unfolded;
    r.button.lastChild.textContent = unfolded ? "fold" : "show";
  }
}

// Marks the lines of what is chosen; brings the first into sight when it was chosen in the picture.
export function choose(features, finding, bring) {
  const all = new Set(features);
  if (finding?.level === "note" && !unfolded) {
    unfolded = true;
    sift();
  }
  let first = null;
  for (const r of rows) {
    const now = finding ? r.key === finding.key : !r.key && r.features.some((f) => all.has(f));
    r.button.ariaCurrent = now;
    if (now) first ??= r.element;
  }
  if (bring && first && !first.hidden) {
    const list = by("list");
    const [top, box] = [list.getBoundingClientRect(), first.getBoundingClientRect()];
    if (box.top < top.top || box.bottom > top.bottom) list.scrollTop += box.top - top.top - top.height / 3;
  }
}

// Up and down step through a list of buttons, home and end go to its ends.
export function step(e, buttons) {
  const at = buttons.indexOf(document.activeElement);
  const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: buttons.length - 1 }[e.key];
  if (to === undefined || !buttons[to]) return;
  e.preventDefault();
  buttons[to].focus();
}

by("sift").addEventListener("input", sift);
by("list").addEventListener("keydown", (e) => step(e, rows.filter((r) => !r.element.hidden && !r.plain).map((r) => r.button)));
on("clear", () => choose([], null, false));
