// What hangs over the picture when it isn't of the last save, or when nobody knows whether it is.

import { by, make } from "./hub.js";
import { placeButtons } from "./place.js";

let shown = "";

function caret(error) {
  if (error.source == null) return null;
  const column = Math.max(1, error.column ?? 1);
  const lead = [...error.source].slice(0, column - 1).map((c) => (c === "\t" ? "\t" : " ")).join("");
  const mark = error.column ? `\n${lead}${"^".repeat(Math.max(1, error.length ?? 1))}` : "";
  const code = make("pre", make("span", error.source), make("b", mark));
  code.tabIndex = 0;
  code.ariaLabel = `Line ${error.line}: ${error.source}`;
  return code;
}

function told(error) {
  const calls = error.calls.map((c) => make("li.called.from.", ...placeButtons(c)));
  return make("article",
    make("p.text", error.text),
    error.line ? make("p.line", ...placeButtons(error)) : null,
    caret(error),
    ...error.hints.map((h) => make("p.hint", h)),
    calls.length ? make("ul.calls", ...calls) : null,
  );
}

export function fill(state, online) {
  const box = by("alarm");
  const parts = [];
  if (!online) parts.push(make("p.broken", "No word from foamwright. The picture stays; the page goes on trying."));
  if (state?.stale || state?.errors?.length) {
    const head = state.build
      ? "The last save can't be built. Picture and files are from before it."
      : "The script can't be built yet.";
    parts.push(make("p.broken", head), ...state.errors.map(told));
  }
  document.body.classList.toggle("stale", Boolean(state?.stale));
  const known = JSON.stringify([online, state?.stale, state?.errors, state?.build]);
  if (known === shown) return;
  shown = known;
  box.hidden = parts.length === 0;
  box.replaceChildren(...parts);
}
