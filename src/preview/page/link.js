// The line to the server: its news, what it is asked for, and finding it again when it went away.

import { tell } from "./hub.js";

const meta = document.querySelector('meta[name="token"]');
let token = meta.content;
let source = null;
let wait_ms = 400;
let asked = null; // settings of this page, to tell a new server again

export const address = (path) => `${path}${path.includes("?") ? "&" : "?"}s=${encodeURIComponent(token)}`;

export function listen() {
  source?.close();
  source = new EventSource(address("/events"));
  source.onopen = () => {
    wait_ms = 400;
    tell("line", true);
    if (asked && Object.keys(asked).length) post("/set", { settings: asked });
  };
  source.onerror = lost;
  for (const what of ["state", "progress", "change"]) {
    source.addEventListener(what, (e) => tell(what, JSON.parse(e.data)));
  }
}

// The server went away, or knows this page no more: asks for the page anew, for the sake of its token.
function lost() {
  source.close();
  tell("line", false);
  setTimeout(async () => {
    try {
      const page = await fetch("/", { cache: "no-store" });
      const found = /name="token" content="([^"]+)"/.exec(await page.text());
      if (!page.ok || !found) throw new Error("not this server");
      token = found[1];
      listen();
    } catch {
      wait_ms = Math.min(5000, wait_ms * 1.6);
      lost();
    }
  }, wait_ms);
}

export async function post(path, body) {
  try {
    const headers = { "Content-Type": "application/json", "X-Token": token };
    return (await fetch(path, { method: "POST", headers, body: JSON.stringify(body) })).ok;
  } catch {
    return false;
  }
}

export function setAll(settings) {
  asked = settings;
  return post("/set", { settings });
}

export const open = (file, line) => post("/open", { file, line });

// The bytes there, or null when they are gone.
export async function bytes(path) {
  try {
    const got = await fetch(address(path));
    return got.status === 200 ? await got.arrayBuffer() : null;
  } catch {
    return null;
  }
}
