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

export const click = (id, act) => by(id).addEventListener("click", act);

// What is filled in goes nowhere: it is heard at once.
document.addEventListener("submit", (e) => e.preventDefault());

// A new element, as "tag.class": its text or children.
export function make(what, ...inside) {
  const [tag, ...kinds] = what.split(".");
  const one = document.createElement(tag);
  one.className = kinds.join(" ");
  one.append(...inside.filter((x) => x != null));
  return one;
}

// A button: what it does, what it is called where its text doesn't say, its text or children.
export function press(kind, act, label, ...inside) {
  const one = make("button", ...inside);
  one.className = kind;
  one.type = "button";
  if (label) one.ariaLabel = label;
  one.addEventListener("click", act);
  return one;
}

// Fills a box anew. What had the focus there has it again, by its place among the buttons and fields.
export function refill(box, ...inside) {
  const all = () => [...box.querySelectorAll("button, input")];
  const held = all().indexOf(document.activeElement);
  box.replaceChildren(...inside);
  if (held >= 0) (all()[held] ?? all().at(-1))?.focus();
}

// Hears whether something is pointed at, by hand or by key.
export function pointed(one, ear) {
  for (const [event, lit] of [["pointerenter", true], ["focus", true], ["pointerleave", false], ["blur", false]]) {
    one.addEventListener(event, () => ear(lit));
  }
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
