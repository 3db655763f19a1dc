// Keys that work anywhere outside a field, and the sheet that lists them.

import { by, click, make, press } from "./hub.js";

const SHEET = [
  ["Drag, or arrows", "turn"], ["Shift and drag, or Shift and arrows", "slide"], ["Wheel, pinch, + and −", "closer, back"],
  ["Click, or Enter", "pick what is there, or in the middle"], ["f", "show all"], ["x y z", "look along; again: from the other end"],
  ["i", "look from a corner"], ["1 to 6", "step along the stages"], ["c", "cut open; Shift: the other half"], ["[ ], or drag its mark", "move the cut"],
  ["w r", "colour by wall thickness, reach"], ["h b t", "colour by heat, largest ball, the metal's travel"], ["m", "measure"], ["l", "copy the chosen line: script:12"], ["/", "find a line in the list"], ["g", "what changed, again"],
  ["a", "foam pieces apart, together"], [", .", "step of the glue-up, or board: before, next"],
  ["p", "save the picture"], ["n", "night, day"], ["Escape", "let go of what is chosen"], ["?", "this sheet"],
];

export function sheet() {
  by("keys").replaceChildren(
    make("h2", "Keys"),
    make("dl", ...SHEET.flatMap(([key, does]) => [make("dt", key), make("dd", does)])),
    press("small", () => toggle(false), "", "close"),
  );
  click("help", () => toggle());
  by("keys").addEventListener("keydown", (e) => {
    if (e.key !== "Escape") return;
    e.stopPropagation();
    toggle(false);
  });
}

export function toggle(open = by("keys").hidden) {
  by("keys").hidden = !open;
  by("help").ariaExpanded = open;
  if (open) by("keys").querySelector("button").focus();
  else by("help").focus();
}

// `acts`: a key, what to do. Shift is told to the deed.
export function listen(acts) {
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || e.defaultPrevented) return;
    if (e.target.matches("input:not([type=range], [type=radio], [type=checkbox])")) return;
    const act = acts[e.key] ?? acts[e.key.toLowerCase()];
    if (!act) return;
    e.preventDefault();
    act(e.shiftKey);
  });
}
