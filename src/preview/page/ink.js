// What is written over the picture: scale, directions, the mark of a finding, a measurement. A plain 2D canvas, so that
// a still picture has it too.

import { bare, fromMm, toMm, unitName } from "./figures.js";
import { less, size } from "./space.js";

const FONT = "600 12px ui-monospace, 'DejaVu Sans Mono', monospace";

export class Ink {
  constructor(canvas, camera) {
    this.canvas = canvas;
    this.camera = camera;
    this.mark = null; // a finding's place, mm
    this.cut = null; // whose plane can be taken, once there is one
    this.near = null; // where a measurement would snap to, mm
    this.still = false; // for a picture that is kept
    this.cross = false; // the middle, for those who pick with keys
  }

  // `marks`: what a map tells of places, { at_mm, text }.
  draw(measure, night, marks = []) {
    const { camera, canvas } = this;
    const sharp = Math.min(devicePixelRatio || 1, 2.5);
    const [w, h] = [Math.round(camera.width * sharp), Math.round(camera.height * sharp)];
    if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
    const pen = canvas.getContext("2d");
    pen.setTransform(sharp, 0, 0, sharp, 0, 0);
    pen.clearRect(0, 0, camera.width, camera.height);
    this.pen = pen;
    this.ink = night ? "#e8ebfa" : "#1a1e2b";
    this.ground = night ? "#12152b" : "#f7f8f4";
    this.paper = `${this.ground}e0`;
    this.hot = night ? "#ffa23e" : "#c24a00";
    pen.font = FONT;
    this.scale();
    this.directions();
    const handle = !this.still && this.cut?.handle(camera);
    if (handle) this.drawHandle(handle);
    for (const { at_mm, text } of marks) {
      this.dot(at_mm, this.ink);
      const [x, y] = this.camera.project(at_mm);
      this.label(text, x, y - 18);
    }
    if (this.mark) this.drawMark();
    if (measure.on) this.drawMeasure(measure);
    if (this.cross) this.drawCross();
  }

  stroke(points, colour, width, dash = []) {
    const { pen } = this;
    pen.beginPath();
    points.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.setLineDash(dash);
    pen.stroke();
    pen.setLineDash([]);
  }

  // A round spot or, without a fill, a ring.
  ring(x, y, radius, fill, colour, width) {
    const { pen } = this;
    pen.beginPath();
    pen.arc(x, y, radius, 0, 7);
    if (fill) {
      pen.fillStyle = fill;
      pen.fill();
    }
    if (!width) return;
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.stroke();
  }

  // Four ticks round a place.
  ticks(x, y, from, to, colour, width) {
    for (const [dx, dy] of [[1, 0], [0, 1], [-1, 0], [0, -1]]) this.stroke([[x + dx * from, y + dy * from], [x + dx * to, y + dy * to]], colour, width);
  }

  label(text, x, y, colour = this.ink) {
    const { pen } = this;
    const wide = pen.measureText(text).width;
    const at = [Math.min(Math.max(4, x - wide / 2 - 5), this.camera.width - wide - 14), Math.min(Math.max(4, y - 10), this.camera.height - 24)];
    pen.fillStyle = this.paper;
    pen.fillRect(at[0], at[1], wide + 10, 20);
    pen.fillStyle = colour;
    pen.textBaseline = "middle";
    pen.fillText(text, at[0] + 5, at[1] + 10.5);
  }

  // A rule of a round length, near 120 pixels.
  scale() {
    const { camera, pen } = this;
    const room = fromMm(130 / camera.px_per_mm);
    const ten = 10 ** Math.floor(Math.log10(room));
    const long = [5, 2, 1].map((k) => k * ten).find((x) => x <= room) ?? ten;
    const px = toMm(long) * camera.px_per_mm;
    const [x, y] = [camera.width - 16 - px, camera.height - 16];
    pen.fillStyle = this.ink;
    for (let i = 0; i < 4; i++) if (i % 2 === 0) pen.fillRect(x + (px * i) / 4, y - 5, px / 4, 5);
    this.stroke([[x, y - 5], [x + px, y - 5], [x + px, y], [x, y], [x, y - 5]], this.ink, 1);
    const text = `${+long.toPrecision(3)} ${unitName()}`;
    pen.textBaseline = "alphabetic";
    pen.fillText(text, x + px - pen.measureText(text).width, y - 10);
  }

  // Which way x, y and z run.
  directions() {
    const { camera, pen } = this;
    const [r, u, t] = camera.axes();
    const at = [50, camera.height - 66];
    const order = [0, 1, 2].sort((a, b) => t[a] - t[b]);
    for (const i of order) {
      const tip = [at[0] + r[i] * 26, at[1] - u[i] * 26];
      const faint = t[i] < -0.3 ? "80" : "";
      this.stroke([at, tip], this.ink + faint, 1.5);
      pen.fillStyle = this.ink + faint;
      pen.textBaseline = "middle";
      pen.textAlign = "center";
      pen.fillText("xyz"[i], at[0] + r[i] * 35, at[1] - u[i] * 35);
      pen.textAlign = "start";
    }
  }

  // A punch mark: ring and four ticks.
  drawMark() {
    const [x, y] = this.camera.project(this.mark);
    for (const [colour, width] of [[this.paper, 5], [this.hot, 2.25]]) {
      this.ring(x, y, 15, null, colour, width);
      this.ticks(x, y, 10, 25, colour, width);
    }
    this.ring(x, y, 2.5, this.hot);
  }

  // Where the plane of a cut is taken: a knob, and the two ways that it goes.
  drawHandle({ x, y, way: [wx, wy] }) {
    const tip = (far, aside) => [x + wx * far - wy * aside, y + wy * far + wx * aside];
    this.ring(x, y, 8, this.ink, this.paper, 2);
    for (const [colour, width] of [[this.paper, 6], [this.ink, 2.5]]) {
      for (const side of [-1, 1]) this.stroke([tip(side * 14, -6), tip(side * 20, 0), tip(side * 14, 6)], colour, width);
    }
  }

  dot(point, colour) {
    const [x, y] = this.camera.project(point);
    this.ring(x, y, 4, this.paper, colour, 2);
  }

  drawMeasure(measure) {
    if (measure.ends.length === 2) {
      const [a, b] = measure.ends.map((p) => this.camera.project(p));
      const legs = measure.legs();
      const px = legs.map((p) => this.camera.project(p));
      this.stroke(px, this.paper, 4);
      this.stroke(px, this.ink, 1.25, [4, 3]);
      this.stroke([a, b], this.paper, 5);
      this.stroke([a, b], this.hot, 2);
      for (let i = 0; i < 3; i++) {
        const [p, q] = [px[i], px[i + 1]];
        const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
        if (long > 46) this.label(`d${"xyz"[i]} ${bare(less(legs[i + 1], legs[i])[i])}`, (p[0] + q[0]) / 2, (p[1] + q[1]) / 2);
      }
      const text = `${bare(size(less(measure.ends[1], measure.ends[0])))} ${unitName()}`;
      this.label(text, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 16, this.hot);
    }
    for (const end of measure.ends) this.dot(end, this.hot);
    if (this.near) this.dot(this.near, this.ink);
  }

  drawCross() {
    const [x, y] = [this.camera.width / 2, this.camera.height / 2];
    for (const [colour, width] of [[this.paper, 3.5], [this.ink, 1.25]]) this.ticks(x, y, 4, 13, colour, width);
  }
}
