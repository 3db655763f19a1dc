// The script's settings as fields. What is typed here holds for this page only, until it is written into the script.

import { by, copy, make, press, refill, say } from "./hub.js";
import { setAll } from "./link.js";

let mine = {}; // what this page asks for, by name
let shown = "";

function field(setting, refused) {
  const id = `setting-${setting.name.replace(/\W/g, "-")}`;
  const input = make(setting.kind === "number" ? "input.figure" : "input");
  Object.assign(input, { id, name: setting.name, spellcheck: false, autocomplete: "off" });
  const value = mine[setting.name] ?? setting.value;
  if (setting.kind === "flag") {
    input.type = "checkbox";
    input.checked = value === "true";
  } else {
    input.type = "text";
    if (setting.kind === "number") input.inputMode = "decimal";
    input.value = value;
    input.size = 9;
  }
  if (refused && setting.name in mine) input.ariaInvalid = "true";
  input.addEventListener("change", () => {
    const text = setting.kind === "flag" ? String(input.checked) : input.value.trim();
    if (text === "" || text === setting.default) delete mine[setting.name];
    else mine[setting.name] = text;
    setAll(mine);
  });
  const label = make("label", setting.name);
  label.htmlFor = id;
  const from = make("small", setting.name in mine ? `script: ${setting.default}` : `line ${setting.line}`);
  from.id = `${id}-from`;
  input.setAttribute("aria-describedby", from.id);
  return make("div.setting", label, input, from);
}

function keep(setting) {
  const copies = press("small", () => copy(setting.write), `Copy the line that keeps ${setting.name}`, "copy");
  return make("div.keep", make("code", setting.write), copies);
}

export function fill(state) {
  const box = by("settings");
  box.hidden = state.settings.length === 0;
  for (const s of state.settings) if (mine[s.name] === s.default) delete mine[s.name];
  const known = JSON.stringify([state.settings, mine, state.stale]);
  if (known === shown) return;
  shown = known;
  const changed = state.settings.filter((s) => s.name in mine);
  const parts = [make("h2", "Settings"), make("div.fields", ...state.settings.map((s) => field(s, state.stale)))];
  if (changed.length) {
    const back = press("small", () => {
      mine = {};
      setAll(mine);
      say("Settings are the script's again.");
    }, "", "Back to the script");
    back.id = "back";
    // A refused value has no line worth keeping.
    const lines = changed.filter((s) => !state.stale && s.value !== s.default);
    const say_ = lines.length ? `On this page only. To keep ${lines.length > 1 ? "them, write into the script" : `it, write in line ${lines[0].line}`}:` : "On this page only.";
    parts.push(make("div.mine", make("p", say_), ...lines.map(keep), back));
  }
  refill(box, ...parts);
}
