// Hands on the picture: mouse, touch and keys become turns, slides, steps closer and picks.

const TURN = 0.35; // degrees a pixel
const STEP_DEG = 7.5;
const STEP_PX = 40;
const STILL_PX = 4; // less than this is a click

export class Hands {
  // `to`: { pick(x, y), over(x, y), grip(x, y), moving() }; a grip is something that moves instead of the view, with
  // by(dx, dy) and end().
  constructor(canvas, camera, to) {
    Object.assign(this, { canvas, camera, to });
    this.down = new Map(); // pointers on the picture
    const hear = (what, act) => canvas.addEventListener(what, act, { passive: false });
    hear("pointerdown", (e) => this.press(e));
    hear("pointermove", (e) => this.move(e));
    hear("pointerup", (e) => this.release(e));
    hear("pointercancel", (e) => this.down.delete(e.pointerId));
    hear("pointerleave", () => to.over(null));
    hear("wheel", (e) => this.wheel(e));
    hear("contextmenu", (e) => e.preventDefault());
    hear("keydown", (e) => this.key(e));
  }

  at(e) {
    const box = this.canvas.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  press(e) {
    this.canvas.setPointerCapture(e.pointerId);
    this.canvas.focus({ preventScroll: true, focusVisible: false });
    const [x, y] = this.at(e);
    const slides = e.button !== 0 || e.shiftKey;
    const grip = this.down.size || slides ? null : this.to.grip(x, y);
    this.down.set(e.pointerId, { x, y, far: this.down.size ? STILL_PX : 0, slides, grip });
  }

  move(e) {
    const [x, y] = this.at(e);
    const one = this.down.get(e.pointerId);
    if (!one) {
      if (e.pointerType !== "touch") this.to.over([x, y]);
      return;
    }
    const [dx, dy] = [x - one.x, y - one.y];
    one.far += Math.hypot(dx, dy);
    const before = [...this.down.values()].map((p) => [p.x, p.y]);
    [one.x, one.y] = [x, y];
    if (one.far < STILL_PX) return;
    this.to.moving();
    if (this.down.size === 1) {
      if (one.grip) one.grip.by(dx, dy);
      else if (one.slides) this.camera.slideBy(dx, dy);
      else this.camera.turnBy(-dx * TURN, dy * TURN);
    } else if (this.down.size === 2) this.pinch(before, [...this.down.values()].map((p) => [p.x, p.y]));
  }

  // Two fingers: slide by their middle, closer by their distance.
  pinch(before, now) {
    const mid = ([a, b]) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const far = ([a, b]) => Math.hypot(a[0] - b[0], a[1] - b[1]);
    const [m, n] = [mid(before), mid(now)];
    this.camera.slideBy(n[0] - m[0], n[1] - m[1]);
    if (far(before) > 1) this.camera.closer(far(now) / far(before), n[0], n[1]);
    for (const p of this.down.values()) p.far = STILL_PX;
  }

  release(e) {
    const one = this.down.get(e.pointerId);
    this.down.delete(e.pointerId);
    if (one?.grip && one.far >= STILL_PX) one.grip.end();
    if (one && one.far < STILL_PX && e.button === 0) this.to.pick(one.x, one.y);
  }

  wheel(e) {
    e.preventDefault();
    const [x, y] = this.at(e);
    const lines = e.deltaMode === 1 ? 16 : 1;
    this.to.moving();
    this.camera.closer(Math.exp(-Math.max(-300, Math.min(300, e.deltaY * lines)) * 0.0015), x, y);
  }

  key(e) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[e.key];
    if (way && e.shiftKey) this.camera.slideBy(way[0] * STEP_PX, way[1] * STEP_PX);
    else if (way) this.camera.turnBy(way[0] * STEP_DEG, -way[1] * STEP_DEG);
    else if (e.key === "+" || e.key === "=") this.camera.closer(1.2);
    else if (e.key === "-" || e.key === "_") this.camera.closer(1 / 1.2);
    else if (e.key === "Enter" || e.key === " ") this.to.pick(this.camera.width / 2, this.camera.height / 2);
    else return;
    e.preventDefault();
    e.stopPropagation();
  }
}
