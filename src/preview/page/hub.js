// How the page's modules hear of each other: named news, told to whoever listens. Nothing is kept here.

const ears = new Map();

export function on(what, ear) {
  if (!ears.has(what)) ears.set(what, []);
  ears.get(what).push(ear);
}

export function tell(what, news) {
  for (const ear of ears.get(what) ?? []) ear(news);
}

// The element with this id.
export const by = (id) => document.getElementById(id);

// A new element: its class, its text or children.
export function make(tag, kind, ...inside) {
  const one = document.createElement(tag);
  if (kind) one.className = kind;
  one.append(...inside.filter((x) => x !== null && x !== undefined));
  return one;
}

// Says something to a screen reader; the sighted read it where it stands.
export function say(text) {
  const region = by("said");
  region.textContent = "";
  requestAnimationFrame(() => { region.textContent = text; });
}

// A passing line at the picture's foot, also spoken.
let fading = 0;
export function note(text) {
  const line = by("passing");
  line.textContent = text;
  line.hidden = false;
  clearTimeout(fading);
  fading = setTimeout(() => { line.hidden = true; }, 2600);
  say(text);
}

export async function copy(text) {
  try {
    await navigator.clipboard.writeText(text);
    note(`Copied: ${text}`);
  } catch {
    note(`The browser won't let the page copy. It reads: ${text}`);
  }
}
