// The picture: draws one mesh with WebGL2, only when something changed. Everything on the card can be made again from
// what is kept here, for when the browser takes it away.

import { programs } from "./shaders.js";
import { DAY, NIGHT, STUFF } from "./tints.js";
import { less, middle, size } from "./space.js";

const NO_CUT = [0, 0, 0, 1];
const TINTS_WIDE = 256;
const REST_MS = 180; // without a drawing for so long, the picture is at rest
const REST_SHARP = 1.6; // how much sharper it is drawn then, where edges aren't smoothed while moving

// Whether a graphics card draws, as far as the browser says.
function hasCard(wish) {
  const gl = document.createElement("canvas").getContext("webgl2", { ...wish, failIfMajorPerformanceCaveat: true });
  if (!gl) return false;
  const about = gl.getExtension("WEBGL_debug_renderer_info");
  const drawer = about ? gl.getParameter(about.UNMASKED_RENDERER_WEBGL) : "";
  gl.getExtension("WEBGL_lose_context")?.loseContext();
  return !/swiftshader|llvmpipe|software|basic render/i.test(drawer);
}

export class View {
  constructor(canvas, camera, drawn) {
    this.canvas = canvas;
    this.camera = camera;
    this.drawn = drawn; // called after each drawing
    this.mesh = null;
    this.parts = null; // buffers of the mesh
    this.tints = new Uint8Array(0); // four bytes a feature, the last says how it is lit
    this.glows = []; // { mesh, colour, parts }, metal that came or went
    this.glow = 0;
    this.cut = null; // { normal, reach, axis, at, lines }
    this.map = null; // { places, wide, corners, count, ramp, under, parts }: values instead of the features' colours
    this.limit = 1; // mm, under which a wall is thin
    this.stage = "finished";
    this.night = false;
    this.faded = false;
    this.coarse = 1; // share of full sharpness, less while moving where drawing is slow
    this.asked = 0;
    this.count = 0;
    this.waits = []; // for the next drawing
    const wish = { stencil: true, alpha: false, powerPreference: "high-performance" };
    // Without a graphics card smooth edges cost four times the drawing; there they wait until the picture is at rest.
    this.slow = !hasCard(wish);
    this.resting = 0;
    this.gl = canvas.getContext("webgl2", { ...wish, antialias: !this.slow });
    if (!this.gl) throw new Error("this browser has no WebGL2");
    canvas.addEventListener("webglcontextlost", (e) => { e.preventDefault(); this.lost = true; });
    canvas.addEventListener("webglcontextrestored", () => { this.lost = false; this.furnish(); this.ask(); });
    this.furnish();
    new ResizeObserver(() => this.ask()).observe(canvas);
  }

  // What doesn't depend on the part, and again what does.
  furnish() {
    const { gl } = this;
    const { made, exact } = programs(gl);
    this.made = made;
    this.exact = exact;
    this.bare = gl.createVertexArray();
    this.square = gl.createVertexArray();
    gl.bindVertexArray(this.square);
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array([-1, -1, 1, -1, -1, 1, 1, 1]), gl.STATIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 2, gl.FLOAT, false, 0, 0);
    this.texture = gl.createTexture();
    this.parts = this.mesh && this.load(this.mesh);
    for (const glow of this.glows) glow.parts = this.load(glow.mesh);
    this.cutLines = this.cut && this.lines(this.cut.lines);
    if (this.map) this.map.parts = this.loadMap(this.map);
    this.paint(this.tints);
  }

  show(mesh) {
    this.free(this.parts);
    this.mesh = mesh;
    this.parts = mesh && this.load(mesh);
    if (mesh) this.camera.ball = { centre: middle(mesh.low, mesh.high), radius: size(less(mesh.high, mesh.low)) / 2 };
    this.ask();
  }

  setGlows(glows) {
    for (const old of this.glows) this.free(old.parts);
    this.glows = glows.map((g) => ({ ...g, parts: this.load(g.mesh) }));
    this.ask();
  }

  setCut(cut) {
    this.free(this.cutLines);
    this.cut = cut;
    this.cutLines = cut && this.lines(cut.lines);
    this.ask();
  }

  setMap(map) {
    this.free(this.map?.parts);
    this.map = map && { ...map, parts: this.loadMap(map) };
    this.ask();
  }

  setLimit(mm) {
    this.limit = mm;
    this.ask();
  }

  paint(tints) {
    const { gl } = this;
    this.tints = tints;
    const tall = Math.max(1, Math.ceil(tints.length / 4 / TINTS_WIDE));
    const all = new Uint8Array(TINTS_WIDE * tall * 4);
    all.set(tints);
    gl.bindTexture(gl.TEXTURE_2D, this.texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, TINTS_WIDE, tall, 0, gl.RGBA, gl.UNSIGNED_BYTE, all);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
    this.ask();
  }

  // Lights features: a map from feature to 1 pointed at, 2 chosen, 3 named by a finding; 5: as 2, but not through others.
  light(states) {
    for (let i = 3; i < this.tints.length; i += 4) this.tints[i] = 0;
    for (const [f, state] of states) if (4 * f + 3 < this.tints.length) this.tints[4 * f + 3] = state;
    this.lit = states;
    this.paint(this.tints);
  }

  load(mesh) {
    const { gl } = this;
    const seats = [[0, 3, gl.FLOAT, 0], [1, 3, gl.SHORT, 12], [2, 1, gl.UNSIGNED_SHORT, 18]];
    return { ...this.seat(mesh.vertices, 20, seats, mesh.corners), rim: this.lines(mesh.rim) };
  }

  loadMap(map) {
    const { FLOAT } = this.gl;
    const seats = [[0, 3, FLOAT, 0], [1, 1, FLOAT, 12], [2, 1, FLOAT, 16]];
    return this.seat(map.places, 4 * map.wide, seats.slice(0, map.wide - 2), map.corners);
  }

  // Vertices of so many bytes, and triangles of them; a seat: where an attribute sits, how many numbers, of what, from which byte.
  seat(vertices, stride, seats, corners) {
    const { gl } = this;
    const vao = gl.createVertexArray();
    gl.bindVertexArray(vao);
    const buffers = [[gl.ARRAY_BUFFER, vertices], [gl.ELEMENT_ARRAY_BUFFER, corners]].map(([kind, data]) => {
      const buffer = gl.createBuffer();
      gl.bindBuffer(kind, buffer);
      gl.bufferData(kind, data, gl.STATIC_DRAW);
      return buffer;
    });
    for (const [at, count, kind, from] of seats) {
      gl.enableVertexAttribArray(at);
      if (kind === gl.UNSIGNED_SHORT) gl.vertexAttribIPointer(at, count, kind, stride, from);
      else gl.vertexAttribPointer(at, count, kind, kind === gl.SHORT, stride, from);
    }
    gl.bindVertexArray(null);
    return { vao, buffers };
  }

  // Four corners a line, each with both ends; which corner it is, its number says. (One draw of many small instances
  // would be shorter here and slower where there is no graphics card.)
  lines(ends) {
    const { FLOAT } = this.gl;
    const count = ends.length / 6;
    const four = new Float32Array(count * 24);
    const corners = new Uint32Array(count * 6);
    for (let i = 0; i < count; i++) {
      const both = ends.subarray(6 * i, 6 * i + 6);
      for (let k = 0; k < 4; k++) four.set(both, 24 * i + 6 * k);
      for (let k = 0; k < 6; k++) corners[6 * i + k] = 4 * i + [0, 1, 2, 2, 1, 3][k];
    }
    return { ...this.seat(four, 24, [[0, 3, FLOAT, 0], [1, 3, FLOAT, 12]], corners), count };
  }

  free(parts) {
    if (!parts) return;
    const { gl } = this;
    for (const b of parts.buffers) gl.deleteBuffer(b);
    gl.deleteVertexArray(parts.vao);
    this.free(parts.rim);
  }

  // Asks for a drawing at the next chance.
  ask() {
    if (!this.asked) this.asked = requestAnimationFrame((now) => this.frame(now));
  }

  // Resolves once what is there now has been drawn.
  whenDrawn() {
    this.ask();
    return new Promise((done) => { this.waits.push(done); });
  }

  frame(now) {
    this.asked = 0;
    const more = this.camera.step(now);
    this.draw();
    if (more) this.ask();
    for (const done of this.waits.splice(0)) done();
    if (!this.slow) return;
    clearTimeout(this.resting);
    this.canvas.dataset.rests = "";
    this.resting = setTimeout(() => {
      this.draw(REST_SHARP);
      this.canvas.dataset.rests = "yes";
    }, REST_MS);
  }

  fitCanvas(more = 1) {
    const { canvas, camera } = this;
    const box = canvas.getBoundingClientRect();
    [camera.width, camera.height] = [Math.max(1, box.width), Math.max(1, box.height)];
    this.sharp = Math.min(devicePixelRatio || 1, 2.5) * (more > 1 ? more : this.coarse);
    const [w, h] = [Math.round(camera.width * this.sharp), Math.round(camera.height * this.sharp)];
    if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
  }

  // `more`: how many times sharper than the screen.
  draw(more = 1) {
    if (this.lost) return;
    const { gl, canvas } = this;
    this.fitCanvas(more);
    this.colours = this.night ? NIGHT : DAY;
    this.sight = this.camera.matrix();
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.depthMask(true);
    gl.colorMask(true, true, true, true);
    gl.stencilMask(0xff);
    gl.clear(gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.disable(gl.BLEND);
    this.drawBehind();
    if (this.parts) {
      gl.enable(gl.DEPTH_TEST);
      gl.depthFunc(gl.LEQUAL);
      if (this.cut) this.clip(true);
      if (this.cut) this.countFaces();
      this.drawMetal();
      if (this.cut) this.drawFace();
      this.drawLines();
      this.drawLit();
      this.drawGlows();
      this.clip(false);
    }
    this.count += 1;
    this.drawn(this);
  }

  clip(on) {
    const { gl, exact } = this;
    if (exact) gl[on ? "enable" : "disable"](exact.CLIP_DISTANCE0_WEBGL);
  }

  // Takes a program; what it gives sets more of its uniforms.
  use(name, uniforms) {
    const { program, set } = this.made[name];
    this.gl.useProgram(program);
    const put = (all) => { for (const one in all) set[one]?.(all[one]); };
    put({ sight: this.sight, cut: this.cut ? [...this.cut.normal, this.cut.reach] : NO_CUT, ...uniforms });
    return put;
  }

  drawBehind() {
    const { gl } = this;
    this.use("behind", this.colours);
    gl.disable(gl.DEPTH_TEST);
    gl.disable(gl.CULL_FACE);
    gl.bindVertexArray(this.bare);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  surface(parts, first, count) {
    const { gl } = this;
    gl.bindVertexArray(parts.vao);
    gl.drawElements(gl.TRIANGLES, 3 * count, gl.UNSIGNED_INT, 12 * first);
  }

  drawMetal() {
    const { gl, map } = this;
    const put = this.use(map ? "valued" : "metal", { axes: this.camera.axes().flat(), faded: this.faded ? 0.75 : 0 });
    if (map) put({ limit: this.limit, under: map.under, stripe: 7 * this.sharp, ramp: map.ramp.flatMap(([limits, tint]) => [...tint.map((x) => x / 255), limits]) });
    else {
      put({ stuff: STUFF[this.stage] ?? STUFF.finished, lit: [...this.colours.pointed, ...this.colours.chosen, ...this.colours.marked] });
      gl.bindTexture(gl.TEXTURE_2D, this.texture);
    }
    gl.enable(gl.CULL_FACE);
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(1, 1);
    if (map) this.surface(map.parts, 0, map.count);
    else this.surface(this.parts, 0, this.mesh.count);
    gl.disable(gl.POLYGON_OFFSET_FILL);
    gl.disable(gl.CULL_FACE);
  }

  // At each pixel: backs less fronts behind the cut, which is how deep in metal the line of sight meets it.
  countFaces() {
    const { gl } = this;
    this.use("plain");
    gl.colorMask(false, false, false, false);
    gl.depthMask(false);
    gl.disable(gl.DEPTH_TEST);
    gl.enable(gl.STENCIL_TEST);
    gl.stencilFunc(gl.ALWAYS, 0, 0xff);
    gl.stencilOpSeparate(gl.FRONT, gl.KEEP, gl.KEEP, gl.DECR_WRAP);
    gl.stencilOpSeparate(gl.BACK, gl.KEEP, gl.KEEP, gl.INCR_WRAP);
    this.surface(this.parts, 0, this.mesh.count);
    gl.disable(gl.STENCIL_TEST);
    gl.enable(gl.DEPTH_TEST);
    gl.depthMask(true);
    gl.colorMask(true, true, true, true);
  }

  drawFace() {
    const { gl, cut, colours } = this;
    this.clip(false);
    const { centre, radius } = this.camera.ball;
    const origin = [...centre];
    origin[cut.axis] = cut.at;
    const [across, up] = [[0, 0, 0], [0, 0, 0]];
    across[(cut.axis + 1) % 3] = radius * 1.1;
    up[(cut.axis + 2) % 3] = radius * 1.1;
    const foam = this.stage !== "finished" && this.stage !== "casting";
    const pixel = 1 / (this.camera.px_per_mm * this.sharp * radius * 1.1);
    // Keeps the same marks on screen while zooming, by halves and doubles.
    const pitch = 2 ** Math.round(Math.log2(pixel * this.sharp * (foam ? 9 : 14)));
    const [ground, ink] = foam ? [colours.foamGround, colours.foamInk] : [colours.cutGround, colours.cutInk];
    this.use("face", { origin, across, up, ground, ink, foam, pixel, pitch });
    gl.enable(gl.STENCIL_TEST);
    gl.stencilFunc(gl.NOTEQUAL, 0, 0xff);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    gl.bindVertexArray(this.square);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
    gl.disable(gl.STENCIL_TEST);
    this.clip(true);
  }

  drawLines() {
    const { gl, canvas, camera, colours } = this;
    const lift = (px) => px / (camera.px_per_mm * this.sharp * camera.reach_mm);
    this.blend(true);
    const put = this.use("line", { half_px: [canvas.width / 2, canvas.height / 2] });
    const run = (lines, wide, up, ink) => {
      put({ shape: [wide, lift(up)], ink });
      this.surface(lines, 0, 2 * lines.count);
    };
    run(this.parts.rim, Math.max(0.5, 0.55 * this.sharp), 1.6, [...colours.crease, this.faded ? 0.5 : colours.strength]);
    if (this.cutLines?.count) {
      this.clip(false);
      put({ cut: NO_CUT });
      run(this.cutLines, 0.95 * this.sharp, 2.2, [...colours.rim, 1]);
      this.clip(true);
    }
    this.blend(false);
  }

  // Over what is there, as far as the colour covers it.
  blend(on) {
    const { gl } = this;
    gl[on ? "enable" : "disable"](gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(!on);
  }

  // Each pixel once, however many surfaces lie there.
  once(draw) {
    const { gl } = this;
    gl.clear(gl.STENCIL_BUFFER_BIT);
    gl.enable(gl.STENCIL_TEST);
    gl.stencilFunc(gl.EQUAL, 0, 0xff);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.INCR);
    this.blend(true);
    draw(this.use("plain"));
    this.blend(false);
    gl.disable(gl.STENCIL_TEST);
  }

  // Lit features shine through what stands before them.
  drawLit() {
    const { gl, colours } = this;
    if (!this.lit?.size) return;
    this.once((put) => {
      gl.depthFunc(gl.GREATER);
      for (const [f, state] of this.lit) {
        const run = this.mesh.runs.get(f);
        if (!run || state > 3) continue;
        put({ ink: [...[colours.pointed, colours.chosen, colours.marked][state - 1], 0.42] });
        this.surface(this.parts, run[0], run[1]);
      }
      gl.depthFunc(gl.LEQUAL);
    });
  }

  drawGlows() {
    const { gl } = this;
    if (this.glow <= 0) return;
    for (const { mesh, parts, kind } of this.glows) {
      this.once((put) => {
        gl.disable(gl.DEPTH_TEST);
        put({ ink: [...this.colours[kind], 0.72 * this.glow] });
        this.surface(parts, 0, mesh.count);
        gl.enable(gl.DEPTH_TEST);
      });
    }
  }
}
