// A place in a script, as a person uses it: a click opens it in the editor where there is one, else copies it.

import { copy, make, note } from "./hub.js";
import { open } from "./link.js";

let editor = false;
export function useEditor(there) { editor = there; }

export const placeText = ({ file, line }) => `${file}:${line}`;

async function goTo(place) {
  if (!editor) return copy(placeText(place));
  if (!(await open(place.file, place.line))) note("The editor could not be started.");
}

// Both buttons; `key` says that the letter l copies this one.
export function placeButtons(place, key = false) {
  const text = placeText(place);
  const line = make("button", "place", text);
  line.type = "button";
  line.title = editor ? "Open in the editor" : "Copy";
  line.setAttribute("aria-label", `${text}, ${editor ? "open in the editor" : "copy"}`);
  line.addEventListener("click", () => goTo(place));
  if (!editor) return [line];
  const copies = make("button", "small", "copy");
  copies.type = "button";
  copies.title = key ? "l" : "";
  copies.setAttribute("aria-label", `Copy ${text}`);
  copies.addEventListener("click", () => copy(text));
  return [line, copies];
}
