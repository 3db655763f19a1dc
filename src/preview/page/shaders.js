// The programs that the graphics card runs. A cut is made by the card's own clip distance where it has one (exact to the
// sample), else by leaving out pixels. `CUT` is defined as one or the other.

const SURFACE = `
in vec3 place;
uniform mat4 sight;
uniform vec4 cut; // kept where dot(cut.xyz, place) <= cut.w
CUT_OUT
void side() { CUT_SET(cut.w - dot(cut.xyz, place)); }
`;

const INK = `
uniform vec4 ink;
out vec4 colour;
void main() {
  CUT_IN
  colour = ink;
}`;

// Metal: tint of its feature, two lights fixed to the eye, edges of round surfaces a little darker.
const metal = [`${SURFACE}
in vec3 normal;
in uint feature;
uniform mat3 axes;
uniform sampler2D tints;
uniform vec4 stuff; // what the stage is of, and how much it covers the tints
uniform vec3 lit[3]; // of a feature: pointed at, chosen, named by a finding
out vec3 facing;
flat out vec3 tint;
void main() {
  gl_Position = sight * vec4(place, 1.0);
  facing = normal * axes;
  int f = int(min(feature, 65534u));
  ivec2 size = textureSize(tints, 0);
  vec4 own = f < size.x * size.y ? texelFetch(tints, ivec2(f % size.x, f / size.x), 0) : vec4(0.7, 0.7, 0.7, 0.0);
  int state = int(own.a * 255.0 + 0.5);
  tint = mix(own.rgb, stuff.rgb, stuff.a);
  if (state > 0) tint = mix(tint, lit[(state - 1) % 3], 0.66);
  side();
}`, `
in vec3 facing;
flat in vec3 tint;
uniform float faded;
out vec4 colour;
void main() {
  CUT_IN
  vec3 n = normalize(facing);
  float key = max(dot(n, vec3(-0.40, 0.56, 0.725)), 0.0);
  float fill = max(dot(n, vec3(0.75, -0.18, 0.64)), 0.0);
  float rim = 1.0 - max(n.z, 0.0);
  float gloss = pow(max(dot(n, vec3(-0.25, 0.33, 0.91)), 0.0), 24.0);
  float edge = rim * rim;
  vec3 shade = tint * (0.40 + 0.60 * key + 0.22 * fill) * (vec3(1.0) + rim * vec3(-0.05, -0.025, 0.05));
  shade = (shade + 0.10 * gloss) * (1.0 - 0.42 * edge * edge);
  float grey = dot(shade, vec3(0.3, 0.59, 0.11));
  colour = vec4(mix(shade, vec3(grey), faded), 1.0);
}`];

// A map: a ramp of colours in limits, striped under so many of them, or in a seam; grey where nothing is known. Facets
// show as they are.
const valued = [`${SURFACE}
in float value;
in float seam;
uniform mat3 axes;
out vec3 spot;
out float held;
out float met;
void main() {
  gl_Position = sight * vec4(place, 1.0);
  spot = place * axes;
  held = min(value, 1.0e6);
  met = seam;
  side();
}`, `
in vec3 spot;
in float held;
in float met;
uniform float limit;
uniform float under;
uniform float stripe; // pixels
uniform vec4 ramp[6]; // colours, and at how many limits
uniform float faded;
out vec4 colour;
void main() {
  CUT_IN
  vec3 n = normalize(cross(dFdx(spot), dFdy(spot)));
  float t = held / limit;
  vec3 tint = ramp[0].rgb;
  for (int i = 0; i < 5; i++) {
    tint = mix(tint, ramp[i + 1].rgb, clamp((t - ramp[i].a) / (ramp[i + 1].a - ramp[i].a), 0.0, 1.0));
  }
  float way = mod(gl_FragCoord.x - gl_FragCoord.y, stripe);
  if (held < 0.0) tint = vec3(0.62);
  else if (t < under && way < stripe * 0.3) tint *= 0.62;
  if (met > 0.5) tint = way < stripe * 0.5 ? vec3(0.1) : vec3(1.0, 0.62, 0.2);
  float shade = 0.62 + 0.38 * max(dot(n, vec3(-0.40, 0.56, 0.725)), 0.0);
  float grey = dot(tint, vec3(0.3, 0.59, 0.11));
  colour = vec4(mix(tint, vec3(grey), faded) * shade, 1.0);
}`];

// One colour: for counting surfaces at a cut, lighting up through the metal, and metal that came or went.
const plain = [`${SURFACE}
void main() {
  gl_Position = sight * vec4(place, 1.0);
  side();
}`, INK];

// Lines as long thin boxes of the same width in pixels, a little before the surface they lie on.
const line = [`
in vec3 first;
in vec3 second;
uniform mat4 sight;
uniform vec4 cut;
uniform vec2 half_px;  // half the picture, in pixels
uniform vec2 shape;    // half width in pixels; how far to lift
CUT_OUT
void main() {
  vec3 place = (gl_VertexID & 1) == 0 ? first : second;
  vec4 a = sight * vec4(first, 1.0);
  vec4 b = sight * vec4(second, 1.0);
  vec2 way = (b.xy - a.xy) * half_px;
  float far = length(way);
  way = far > 1e-6 ? way / far : vec2(1.0, 0.0);
  float side = (gl_VertexID & 2) == 0 ? -1.0 : 1.0;
  float end = (gl_VertexID & 1) == 0 ? -0.5 : 0.5;
  vec4 p = (gl_VertexID & 1) == 0 ? a : b;
  p.xy += (vec2(-way.y, way.x) * side + way * end) * shape.x / half_px;
  p.z -= shape.y;
  gl_Position = p;
  CUT_SET(cut.w - dot(cut.xyz, place));
}`, INK];

// The face of a cut. Metal: lines in pairs, one whole and one broken. Foam: its beads.
const face = [`
in vec2 corner;
uniform mat4 sight;
uniform vec3 origin;
uniform vec3 across;
uniform vec3 up;
out vec2 spot; // mm in the plane
void main() {
  spot = corner;
  gl_Position = sight * vec4(origin + across * corner.x + up * corner.y, 1.0);
}`, `
in vec2 spot;
uniform vec3 ground;
uniform vec3 ink;
uniform float pitch; // mm between pairs
uniform float pixel; // mm a pixel
uniform bool foam;
out vec4 colour;
float band(float off, float half_width) {
  return 1.0 - smoothstep(half_width - pixel * 0.5, half_width + pixel * 0.5, abs(off));
}
void main() {
  float mark = 0.0;
  if (foam) {
    vec2 cell = vec2(pitch, pitch * 1.7320508);
    vec2 a = mod(spot, cell) - cell * 0.5;
    vec2 b = mod(spot + cell * 0.5, cell) - cell * 0.5;
    float d = min(length(a), length(b));
    mark = band(d - pitch * 0.42, pixel * 0.55) * 0.8;
  } else {
    float s = (spot.x + spot.y) * 0.70710678;
    float r = (spot.x - spot.y) * 0.70710678;
    float whole = band(mod(s, pitch) - pitch * 0.5, pixel * 0.6);
    float broken = band(mod(s + pitch * 0.28, pitch) - pitch * 0.5, pixel * 0.6) * step(mod(r, pitch * 1.4), pitch * 0.7);
    mark = max(whole, broken);
  }
  colour = vec4(mix(ground, ink, mark), 1.0);
}`];

// What lies behind: light falling off from the middle.
const behind = [`
out vec2 spot;
void main() {
  vec2 p = vec2(float((gl_VertexID << 1) & 2), float(gl_VertexID & 2)) * 2.0 - 1.0;
  spot = p;
  gl_Position = vec4(p, 0.9999, 1.0);
}`, `
in vec2 spot;
uniform vec3 inner;
uniform vec3 outer;
out vec4 colour;
void main() {
  float t = smoothstep(0.0, 1.5, length(spot - vec2(-0.15, 0.25)));
  colour = vec4(mix(inner, outer, t), 1.0);
}`];

const PROGRAMS = { metal, valued, plain, line, face, behind };

// Where attributes sit, the same in all programs.
const SEATS = { place: 0, normal: 1, feature: 2, value: 1, seam: 2, first: 0, second: 1, corner: 0 };

function compile(gl, kind, text) {
  const shader = gl.createShader(kind);
  gl.shaderSource(shader, text);
  gl.compileShader(shader);
  return shader;
}

// How a uniform of a type is set: float, two to four of them, true or false, matrices, textures.
const SETS = {
  0x1406: "uniform1f", 0x8b50: "uniform2fv", 0x8b51: "uniform3fv", 0x8b52: "uniform4fv", 0x8b56: "uniform1i",
  0x8b5b: "uniformMatrix3fv", 0x8b5c: "uniformMatrix4fv", 0x8b5e: "uniform1i",
};

// All programs, each with its uniforms by name.
export function programs(gl) {
  const exact = gl.getExtension("WEBGL_clip_cull_distance");
  const words = exact
    ? { OUT: "", SET: (x) => `gl_ClipDistance[0] = ${x}`, IN: "" }
    : { OUT: "out float kept;", SET: (x) => `kept = ${x}`, IN: "if (kept < 0.0) discard;" };
  const head = (vertex) => `#version 300 es
${exact && vertex ? "#extension GL_ANGLE_clip_cull_distance : require\n" : ""}precision highp float;
precision highp int;
precision highp sampler2D;
`;
  const fill = (text, vertex) => head(vertex) + text
    .replace("CUT_OUT", words.OUT)
    .replace(/CUT_SET\((.*)\);/, (_, x) => `${words.SET(x)};`)
    .replace("CUT_IN", words.IN)
    .replace(/void main/, vertex || exact || !text.includes("CUT_IN") ? "void main" : "in float kept;\nvoid main");
  const made = {};
  for (const [name, [vertex, fragment]] of Object.entries(PROGRAMS)) {
    const program = gl.createProgram();
    const parts = [compile(gl, gl.VERTEX_SHADER, fill(vertex, true)), compile(gl, gl.FRAGMENT_SHADER, fill(fragment, false))];
    for (const part of parts) gl.attachShader(program, part);
    for (const [seat, at] of Object.entries(SEATS)) gl.bindAttribLocation(program, at, seat);
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS) && !gl.isContextLost()) {
      throw new Error(`${name}: ${parts.map((p) => gl.getShaderInfoLog(p)).join(" ")} ${gl.getProgramInfoLog(program)}`);
    }
    const set = {};
    for (let i = 0; i < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); i++) {
      const { name: found, type } = gl.getActiveUniform(program, i);
      const [at, how] = [gl.getUniformLocation(program, found), SETS[type]];
      set[found.replace("[0]", "")] = (x) => (/M/.test(how) ? gl[how](at, false, x) : gl[how](at, x));
    }
    made[name] = { program, set };
  }
  return { made, exact };
}
