// The title block, the strip of stages, and the files.

import { by, make, press, refill, tell } from "./hub.js";
import { many, overall, weight, weightBoth } from "./figures.js";
import { address } from "./link.js";

// The steps of the route card: what is cast, then what it is glued up from.
export function strip(state) {
  const { pieces, boards } = state.foam ?? {};
  return [
    ...state.stages.map(({ name }) => ({ name, small: weight(state.weights_kg?.[name]) })),
    ...(pieces ? [{ name: "pieces", small: String(pieces.length) }] : []),
    ...(boards?.length ? [{ name: "boards", small: String(boards.length) }] : []),
  ];
}

export function fillStages(state, current) {
  refill(by("stages"), ...strip(state).map((stage) => {
    const button = press("", () => tell("stage", stage.name), "", make("b", stage.name), make("small", stage.small));
    button.dataset.stage = stage.name;
    if (stage.name === current) button.ariaCurrent = "step";
    return make("li", button);
  }));
}

export function fillBlock(state, shown) {
  const current = shown === "pieces" || shown === "boards" ? "pattern" : shown;
  const stage = state.stages.find((s) => s.name === current);
  const size = stage ? stage.high_mm.map((h, i) => h - stage.low_mm[i]) : null;
  const cell = (kind, name, value) => make(`div.${kind}`, make("dt", name), make("dd", value || "–"));
  by("block").replaceChildren(
    cell("part", "part", state.part || state.script),
    cell("", "script", state.script),
    cell("", "metal", state.metal),
    cell("", `size, ${current}`, size && overall(size)),
    cell("", current === "pattern" ? "weight of foam" : `weight, ${current}`, stage && weightBoth(state.weights_kg?.[current])),
    cell("", "boards", state.foam?.boards?.length),
    cell("", "build", state.build && `no. ${state.build} · ${state.seconds.toFixed(2)} s`),
  );
}

export function fillFiles(state) {
  const box = by("files");
  box.hidden = state.files.length === 0;
  box.replaceChildren(make("h2", "Files"), make("ul", ...state.files.map((file) => {
    const link = make("a", file.name);
    link.href = address(file.url);
    link.download = file.name;
    return make("li", link, " ", make("small", file.size));
  })));
}

// One sentence for who listens.
export const spoken = (state) => state.stale
  ? `The last save can't be built: ${state.errors[0]?.text ?? ""}`
  : `Built ${state.part} in ${state.seconds.toFixed(2)} seconds. ${state.findings.length ? many(state.findings.length, "finding") : "No findings"}.`;
