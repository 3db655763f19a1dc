// The foam pieces: together or apart, glued up step by step, and their bill; and the boards they are cut from.

import { by, click, make, pointed, press, refill, say, tell } from "./hub.js";
import { many, overall } from "./figures.js";
import { bytes } from "./link.js";
import { step, swatch } from "./list.js";
import { plus, times } from "./space.js";
import { css, toneOf } from "./tints.js";

const CLOSED = 0.02; // open by less, a joint has its wax
const JOINT = 0.88; // how light the face of a joint is
const LETTER_PX = 13;

export class Pieces {
  constructor() {
    this.foam = null;
    this.stage = "";
    this.open = 0; // 0 together, 1 apart
    this.at = 0; // step of the glue-up, from 1; 0 for all of it
    this.board = 0;
    this.chosen = -1;
    this.pointed = -1;
    this.drawn = ""; // which board is there
    by("open").addEventListener("input", (e) => this.slide(e.target.value / 100));
    click("stepback", () => this.go(-1));
    click("stepon", () => this.go(1));
    by("billrows").addEventListener("keydown", (e) => step(e, this.rows()));
    // The board keeps clear of what hangs over it: above, or below where an alarm is above.
    const room = new ResizeObserver(() => {
      const alarm = by("alarm").offsetHeight;
      by("flat").style.padding = `${(alarm || by("foam").offsetHeight) + 24}px 1.2rem ${alarm ? 9.6 : 1.2}rem`;
    });
    for (const id of ["foam", "alarm"]) room.observe(by(id));
    new ResizeObserver(() => this.dress()).observe(by("flat"));
  }

  // The foam of this state; what was there before stays until the proof brings anew.
  keep(state) {
    const { foam: was } = this;
    const name = was?.pieces[this.chosen]?.name;
    const { foam } = state;
    if (foam) {
      this.foam = { build: state.build, cut: state.build, ...foam };
      // The boards that are being laid take the place of these.
      if (!foam.boards && was?.boards) Object.assign(this.foam, { boards: was.boards, cut: was.cut, older: true });
    } else this.foam = was && state.build && !state.proved ? { ...was, old: true } : null;
    const { steps = [], boards, pieces = [] } = this.foam ?? {};
    this.chosen = pieces.findIndex((p) => p.name === name);
    this.pointed = -1;
    this.at = Math.min(this.at, steps.length);
    this.board = Math.max(0, Math.min(this.board, (boards?.length ?? 0) - 1));
    return this.foam;
  }

  // --- where pieces lie, and how they look ---

  // Joints of the steps before this one are closed, its own as far as the slider says, those after it open.
  place(mesh) {
    const { pieces, steps } = this.foam;
    const { at, open } = this;
    const there = new Set(at ? [] : pieces.keys());
    const shifts = pieces.map(() => [0, 0, 0]);
    const opens = steps.map((_, i) => (!at || i + 1 === at ? open : i + 1 < at ? 0 : 1));
    steps.forEach((one, i) => {
      if (i < at) for (const p of [one.sets, ...one.onto]) there.add(p);
      for (const p of one.moves) shifts[p] = plus(shifts[p], times(one.by_mm, opens[i]));
    });
    const all = shifts.map((shift, p) => (there.has(p) ? shift : null));
    steps.forEach((one, i) => {
      for (const body of one.wax) all[body] = opens[i] < CLOSED ? all[one.sets] : null;
    });
    mesh.place(Array.from(mesh.counts, (_, body) => all[body] ?? null));
  }

  tints(mesh) {
    return mesh.patches.map(({ body, feature }) => {
      const tone = toneOf(body, this.foam?.pieces.length ?? 0);
      return feature === 65535 ? tone.map((x) => x * JOINT) : tone;
    });
  }

  // Bodies that are pointed at, those chosen, and those of this step.
  lit() {
    const now = this.stage === "pieces" && this.at ? this.foam?.steps[this.at - 1] : null;
    return [[this.pointed], [this.chosen], now ? [now.sets, ...now.wax] : []];
  }

  ofBody(body) {
    if (body === undefined || !this.foam) return -1;
    return body < this.foam.pieces.length ? body : this.foam.steps.find((s) => s.wax.includes(body))?.sets ?? -1;
  }

  named(body) {
    const piece = this.foam?.pieces[this.ofBody(body)];
    return piece ? `${body < this.foam.pieces.length ? "" : "wax at "}${piece.name}` : "";
  }

  slide(open) {
    this.open = open;
    this.told();
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => {
      this.asked = 0;
      tell("moved");
    });
  }

  toggle() {
    if (this.stage !== "pieces") return;
    this.slide(this.open < 0.5 ? 1 : 0);
    say(this.open ? "Apart" : "Together");
  }

  // The next step or board, or the one before; past the end it begins again.
  go(by_) {
    const { foam, stage } = this;
    if (!foam || (stage !== "pieces" && stage !== "boards")) return;
    const round = (x, n) => (x + by_ + n) % n;
    if (stage === "pieces") {
      // What is to be set hovers over its seat, until it is slid there.
      if (!this.at && this.open < CLOSED) this.open = 0.5;
      this.at = round(this.at, foam.steps.length + 1);
    } else this.board = round(this.board, foam.boards.length);
    this.told();
    say(`${by("stepcount").textContent}: ${by("words").textContent}`);
    tell("moved");
  }

  // --- what is said ---

  fill(stage) {
    const before = this.stage;
    this.stage = stage;
    const shows = Boolean(this.foam) && (stage === "pieces" || stage === "boards");
    by("foam").hidden = !shows || (stage === "pieces" && !this.foam.steps.length && !this.foam.old);
    by("bill").hidden = !shows;
    by("flat").hidden = stage !== "boards";
    if (!shows) return;
    this.told();
    const { pieces, boards, old } = this.foam;
    if (before !== stage) this.choose(this.chosen, true);
    const copies = pieces[0]?.count > 1 ? `, each ${pieces[0].count} times` : "";
    by("billhead").textContent = `${many(pieces.length, "foam piece")}${copies}${boards?.length ? `, ${many(boards.length, "board")}` : ""}`;
    by("foam").classList.toggle("waits", Boolean(old || (stage === "boards" && this.foam.older)));
    refill(by("billrows"), ...pieces.map((piece, i) => this.row(piece, i)));
    this.mark(this.chosen);
  }

  rows() { return [...by("billrows").querySelectorAll("button")]; }

  row(piece, i) {
    const board = piece.board_mm ? `board ${overall([piece.board_mm])}` : "no board";
    const about = `${board} · ${overall(piece.size_mm)}${piece.count > 1 ? ` · × ${piece.count}` : ""}`;
    const button = press("row", () => tell("piece", i), `Piece ${piece.number}, ${piece.name}, ${about}`,
      swatch("", toneOf(i, Infinity)), make("span.words", make("b", piece.name), make("small", ` ${about}`)), make("span.number", String(piece.number)));
    pointed(button, (lit) => this.point(lit ? i : -1));
    return make("li", button);
  }

  told() {
    const { foam, stage, at, open } = this;
    const inPieces = stage === "pieces";
    const { steps, boards } = foam;
    by("apart").hidden = !inPieces || !steps.length;
    by("open").value = String(Math.round(open * 100));
    by("open").ariaValueText = open < CLOSED ? "together" : `${Math.round(open * 100)} % apart`;
    by("stepname").textContent = inPieces ? "Glue-up" : "Board";
    const count = inPieces ? steps.length : boards.length;
    by("stepname").parentElement.hidden = !count;
    for (const id of ["stepback", "stepon"]) by(id).hidden = !inPieces && count < 2;
    by("stepcount").textContent = inPieces && !at ? many(count, "step") : `${inPieces ? at : this.board + 1} of ${count}`;
    const older = foam.old || (!inPieces && foam.older) ? "From before the last save. " : "";
    by("words").textContent = older + (inPieces ? (at ? `${steps[at - 1].text}.`.replace(/^g/, "G") : "") : this.boardWords(boards[this.board]));
    if (!inPieces) this.draw();
  }

  boardWords({ thickness_mm, size_mm, used_length_mm, placed }) {
    return `${overall([...size_mm, thickness_mm])} · ${many(placed.length, "piece")} on ${overall([used_length_mm])} of its length`;
  }

  point(piece) {
    this.pointed = piece;
    this.lightBoard();
    tell("lit");
  }

  // `shows`: steps to where it can be seen.
  choose(piece, shows) {
    this.chosen = piece;
    this.mark(piece);
    const name = this.foam?.pieces[piece]?.name;
    if (!shows || !name) return;
    if (this.stage === "boards") {
      const on_ = (b) => b.placed.some((p) => p.piece === name);
      const { boards } = this.foam;
      if (!on_(boards[this.board])) this.board = Math.max(0, boards.findIndex(on_));
      this.told();
    } else if (this.at) {
      this.at = 0;
      this.told();
      tell("moved");
    }
  }

  // The bill's row of a piece.
  mark(piece) {
    this.rows().forEach((row, i) => {
      row.ariaCurrent = i === piece;
      if (i === piece) row.scrollIntoView({ block: "nearest" });
    });
    this.lightBoard();
  }

  // --- the board ---

  async draw() {
    const { foam, board } = this;
    const wanted = `${foam.cut} ${foam.boards[board].number}`;
    if (this.drawn === wanted) return;
    this.drawn = wanted;
    const got = await bytes(`/file/${foam.cut}/${encodeURIComponent(`boards/board-${foam.boards[board].number}.svg`)}`);
    if (this.drawn !== wanted) return;
    this.sheet = got && new TextDecoder().decode(got);
    if (got) this.dress();
    else this.drawn = "";
  }

  // One path a name, with its holes; it can be clicked.
  dress() {
    if (!this.sheet || !this.foam) return;
    const svg = document.importNode(new DOMParser().parseFromString(this.sheet, "image/svg+xml").documentElement, true);
    const names = new Map();
    for (const path of svg.querySelectorAll("#outline path, #holes path")) {
      const name = path.textContent;
      const first = names.get(name);
      if (first) {
        first.setAttribute("d", first.getAttribute("d") + path.getAttribute("d"));
        path.remove();
        continue;
      }
      names.set(name, path);
      const piece = this.foam.pieces.findIndex((p) => p.name === name);
      path.dataset.piece = piece;
      path.style.setProperty("--tint", css(toneOf(piece, Infinity)));
      path.addEventListener("click", () => tell("piece", piece));
      pointed(path, (lit) => this.point(lit ? piece : -1));
    }
    svg.setAttribute("role", "img");
    svg.ariaLabel = `Board ${this.board + 1}: ${[...names.keys()].join(", ")}`;
    by("flat").replaceChildren(svg);
    for (const line of svg.querySelectorAll("text")) letter(line, names.get(line.textContent), svg.getScreenCTM()?.a || 1);
    this.lightBoard();
  }

  lightBoard() {
    for (const path of by("flat").querySelectorAll("path")) {
      const piece = Number(path.dataset.piece);
      path.classList.toggle("lit", piece === this.pointed);
      path.ariaCurrent = piece === this.chosen;
    }
  }
}

// Letters that can be read; a number where the name doesn't lie on its piece, beside it where that would hide it.
function letter(line, path, scale) {
  const own = Number(line.getAttribute("font-size"));
  const high = Math.max(own, LETTER_PX / scale);
  line.style.fontSize = `${high}px`;
  line.setAttribute("y", Number(line.getAttribute("y")) + 0.35 * (high - own));
  const box = line.getBBox();
  if ([0, 0.25, 0.5, 0.75, 1].every((k) => path.isPointInFill(new DOMPoint(box.x + k * box.width, box.y + 0.6 * box.height)))) return;
  line.textContent = Number(path.dataset.piece) + 1;
  const [{ x, width }, wide] = [path.getBBox(), line.getComputedTextLength()];
  if (width < 1.6 * wide) line.setAttribute("x", x + width + 0.7 * wide);
}
