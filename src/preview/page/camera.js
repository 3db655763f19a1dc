// Where the eye stands: parallel sight, z up. `turn` and `tilt` in degrees, `target` the point in the middle of the
// picture, `span_mm` what the shorter side of the picture shows. The picture is kept over rebuilds because nothing here
// knows of meshes, except the ball that sets the depth range.

import { along, dot, plus, times, less, size } from "./space.js";

const RAD = Math.PI / 180;
const FLIGHT_MS = 420;
export const STILL = matchMedia("(prefers-reduced-motion: reduce)");

// Turn and tilt that look along an axis: from its positive end, and from its negative one.
export const ALONG = {
  x: [[0, 0], [180, 0]],
  y: [[90, 0], [-90, 0]],
  z: [[-90, 90], [-90, -90]],
};

// From one turn to another the shorter way (degrees).
export const swingTo = (from, to) => ((((to - from) % 360) + 540) % 360) - 180;

export class Camera {
  constructor(changed) {
    Object.assign(this, {
      changed, turn: -62, tilt: 33, target: [0, 0, 0], span_mm: 100, width: 1, height: 1, flight: null,
      ball: { centre: [0, 0, 0], radius: 50 },
    });
  }

  // Right, up, and towards the eye.
  axes(turn = this.turn, tilt = this.tilt) {
    const [ct, st] = [Math.cos(turn * RAD), Math.sin(turn * RAD)];
    const [cl, sl] = [Math.cos(tilt * RAD), Math.sin(tilt * RAD)];
    return [[-st, ct, 0], [-sl * ct, -sl * st, cl], [cl * ct, cl * st, sl]];
  }

  get px_per_mm() { return Math.min(this.width, this.height) / this.span_mm; }

  // Half of the depth range about the target.
  get reach_mm() { return this.ball.radius * 1.2 + size(less(this.ball.centre, this.target)) + 1; }

  // Column-major matrix from part to clip space.
  matrix() {
    const [r, u, t] = this.axes();
    const kx = (2 * this.px_per_mm) / this.width;
    const ky = (2 * this.px_per_mm) / this.height;
    const kz = -1 / this.reach_mm;
    const at = (axis, k) => -dot(axis, this.target) * k;
    return [r[0] * kx, u[0] * ky, t[0] * kz, 0, r[1] * kx, u[1] * ky, t[1] * kz, 0,
      r[2] * kx, u[2] * ky, t[2] * kz, 0, at(r, kx), at(u, ky), at(t, kz), 1];
  }

  // Page pixels within the picture, and how near (mm towards the eye).
  project(p) {
    const [r, u, t] = this.axes();
    const q = less(p, this.target);
    const k = this.px_per_mm;
    return [this.width / 2 + dot(q, r) * k, this.height / 2 - dot(q, u) * k, dot(q, t)];
  }

  // The target moved by so many pixels, right and down, of so many mm.
  aside(dx, dy, mm = 1 / this.px_per_mm) {
    const [r, u] = this.axes();
    return plus(this.target, plus(times(r, dx * mm), times(u, -dy * mm)));
  }

  // The line of sight through a pixel: a point well before the part, and the way it runs.
  sight(x, y) {
    const t = this.axes()[2];
    return { from: plus(this.aside(x - this.width / 2, y - this.height / 2), times(t, this.reach_mm)), way: times(t, -1) };
  }

  turnBy(turn, tilt) {
    this.flight = null;
    this.turn = ((this.turn + turn + 540) % 360) - 180;
    this.tilt = Math.max(-90, Math.min(90, this.tilt + tilt));
    this.changed();
  }

  slideBy(dx, dy) {
    this.flight = null;
    this.target = this.aside(-dx, -dy);
    this.changed();
  }

  // Closer by a factor, what lies under the pixel staying where it is.
  closer(factor, x = this.width / 2, y = this.height / 2) {
    this.flight = null;
    const span = Math.max(this.ball.radius / 2000, Math.min(this.ball.radius * 20, this.span_mm / factor));
    this.target = this.aside(x - this.width / 2, y - this.height / 2, (this.span_mm - span) / Math.min(this.width, this.height));
    this.span_mm = span;
    this.changed();
  }

  // The target and span that show a box whole, looking this way.
  whole(low, high, turn = this.turn, tilt = this.tilt) {
    const [r, u] = this.axes(turn, tilt);
    const half = times(less(high, low), 0.5);
    const wide = half.reduce((sum, h, i) => sum + Math.abs(r[i]) * h, 0);
    const tall = half.reduce((sum, h, i) => sum + Math.abs(u[i]) * h, 0);
    const shorter = Math.min(this.width, this.height);
    const span_mm = Math.max((2 * wide * shorter) / this.width, (2 * tall * shorter) / this.height, 1e-3) / 0.86;
    return { target: plus(low, half), span_mm };
  }

  // Goes there: in one step where a person wants no motion.
  fly(to) {
    const from = { turn: this.turn, tilt: this.tilt, target: this.target, span_mm: this.span_mm };
    const end = { ...from, ...to };
    if (STILL.matches) {
      Object.assign(this, end);
      this.flight = null;
      this.changed();
      return;
    }
    const swing = swingTo(this.turn, end.turn);
    this.flight = { from, end, swing, start: performance.now() };
    this.changed();
  }

  // Moves on with a flight; true while there is more to come.
  step(now) {
    if (!this.flight) return false;
    const { from, end, swing, start } = this.flight;
    const t = Math.min(1, Math.max(0, (now - start) / FLIGHT_MS));
    const k = t * t * (3 - 2 * t);
    this.turn = from.turn + swing * k;
    this.tilt = from.tilt + (end.tilt - from.tilt) * k;
    this.target = along(from.target, end.target, k);
    this.span_mm = from.span_mm * (end.span_mm / from.span_mm) ** k;
    if (t >= 1) {
      Object.assign(this, end);
      this.flight = null;
    }
    return true;
  }
}
