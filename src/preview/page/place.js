// A place in a script, as a person uses it: a click opens it in the editor where there is one, else copies it.

import { copy, note, press } from "./hub.js";
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
  const line = press("place", () => goTo(place), `${text}, ${editor ? "open in the editor" : "copy"}`, text);
  line.title = editor ? "Open in the editor" : "Copy";
  if (!editor) return [line];
  const copies = press("small", () => copy(text), `Copy ${text}`, "copy");
  copies.title = key ? "l" : "";
  return [line, copies];
}
