/** Shaders of the live view: one pass through one pupil point, the shadows, the sum of the passes, the picture. */
import { DEVELOP_GLSL } from "../light/develop";

export const MOST_HEADS = 8;
export const SHADOW_LAYERS = MOST_HEADS + 1;

export const SCENE_VERTEX = `#version 300 es
precision highp float;
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;
layout(location = 2) in vec4 shares;
uniform mat4 toClip;
uniform mat4 toPlace;
out vec3 at;
out vec3 facing;
out vec3 open;
void main() {
  at = (toPlace * vec4(position, 1.0)).xyz;
  facing = mat3(toPlace) * normal;
  open = shares.xyz;
  gl_Position = toClip * vec4(position, 1.0);
}`;

/**
 * Radiance, times the film's gain on the axis, under every light: heads by Lambert's law from the middle of their
 * front, with a shadow; the sun with its shadow; sky, ground and the room's even light by how open the place is.
 */
export const SCENE_FRAGMENT = `#version 300 es
precision highp float;
precision highp sampler2DArrayShadow;
in vec3 at;
in vec3 facing;
in vec3 open;
uniform vec3 colour;
uniform vec3 glow;
uniform float covers;
uniform float pass;
uniform vec3 eye;
uniform int heads;
uniform vec3 headAt[${MOST_HEADS}];
uniform vec3 headAxis[${MOST_HEADS}];
uniform vec3 headLight[${MOST_HEADS}];
/** Cosine's exponent (-1: all round), square of the front's mean radius, tangent of half the grid's angle (0: none). */
uniform vec3 headShape[${MOST_HEADS}];
uniform vec3 headShift[${MOST_HEADS}];
uniform mat4 headShadow[${MOST_HEADS}];
uniform vec3 toSun;
uniform vec3 sunLight;
uniform mat4 sunShadow;
uniform vec3 skyLight;
uniform vec3 groundLight;
uniform vec3 evenLight;
uniform bool shaded;
uniform bool work;
uniform sampler2DArrayShadow shadows;
layout(location = 0) out vec4 light;

float hash(vec2 p) {
  vec3 q = fract(vec3(p.xyx) * 0.1031);
  q += dot(q, q.yzx + 33.33);
  return fract((q.x + q.y) * q.z);
}

float reaches(mat4 to, vec3 from, float layer) {
  vec4 p = to * vec4(from, 1.0);
  vec3 s = p.xyz / p.w * 0.5 + 0.5;
  bool within = p.w > 0.0 && all(greaterThan(s, vec3(0.0))) && all(lessThan(s, vec3(1.0)));
  return within ? texture(shadows, vec4(s.xy, layer, s.z)) : 1.0;
}

void main() {
  if (covers < 0.999 && hash(gl_FragCoord.xy + pass * 17.31) > covers) discard;
  vec3 n = normalize(facing);
  if (dot(n, eye - at) < 0.0) n = -n;
  if (work) {
    float lamp = 0.35 + 0.65 * max(dot(n, normalize(eye - at)), 0.0);
    light = vec4(colour * lamp, 1.0);
    return;
  }
  vec3 sum = evenLight * (shaded ? 0.25 + 0.75 * open.z : 0.7);
  sum += shaded ? skyLight * open.x + groundLight * open.y : vec3(0.0);
  for (int i = 0; i < ${MOST_HEADS}; i++) {
    if (i >= heads) break;
    vec3 way = headAt[i] - at;
    float squared = dot(way, way);
    vec3 l = way * inversesqrt(max(squared, 1e-8));
    float here = max(dot(n, l), 0.0);
    float there = headShape[i].x < 0.0 ? 1.0 : pow(max(-dot(headAxis[i], l), 0.0), max(headShape[i].x, 1e-3));
    if (headShape[i].z > 0.0) {
      float c = max(-dot(headAxis[i], l), 1e-4);
      float x = clamp(sqrt(1.0 - c * c) / c / headShape[i].z, 0.0, 1.0);
      there *= 0.6366198 * (acos(x) - x * sqrt(1.0 - x * x));
    }
    if (here * there <= 0.0) continue;
    float lit = reaches(headShadow[i], at + n * 0.012 + headShift[i] * min(1.0, squared * 0.05), float(i));
    sum += headLight[i] * (lit * here * there / (squared + headShape[i].y));
  }
  float slant = dot(n, toSun);
  if (slant > 0.0 && sunLight.g > 0.0) sum += sunLight * slant * reaches(sunShadow, at + n * 0.02, ${MOST_HEADS}.0);
  light = vec4(min(colour * sum + glow, vec3(30000.0)), 1.0);
}`;

export const SHADOW_VERTEX = `#version 300 es
precision highp float;
layout(location = 0) in vec3 position;
uniform mat4 toClip;
void main() { gl_Position = toClip * vec4(position, 1.0); }`;

export const SHADOW_FRAGMENT = `#version 300 es
precision mediump float;
uniform float covers;
void main() { if (covers < 0.5) discard; }`;

/**
 * One more pass onto the sum, weighed by what this pupil point sends to each place of the film: the flux that the pupil
 * takes in from the patch imaged there, over that patch of film, as the tracer's sensor.
 */
export const SUM_FRAGMENT = `#version 300 es
precision highp float;
uniform highp sampler2D one;
uniform highp sampler2D sum;
uniform bool fresh;
uniform float counts;
uniform vec2 size;
uniform vec2 centre;
uniform vec2 extent;
uniform vec3 principal;
uniform vec3 axis;
uniform vec3 pupil;
uniform float filmDistance;
uniform float focal;
uniform float pupilRatio;
uniform float gain;
layout(location = 0) out vec4 total;
void main() {
  ivec2 pixel = ivec2(gl_FragCoord.xy);
  vec2 image = centre + (gl_FragCoord.xy / size - 0.5) * extent;
  vec3 q = vec3(-image - principal.xy, -filmDistance);
  float v = -dot(q, axis);
  vec3 g = -q - pupil * (v / focal - 1.0);
  float weight = v > 0.0 ? dot(g, axis) * (pupilRatio * pupil.z + filmDistance) / (pupilRatio * pow(dot(g, g), 2.0)) : 0.0;
  vec4 add = vec4(texelFetch(one, pixel, 0).rgb * weight * gain, 1.0) * counts;
  total = fresh ? add : texelFetch(sum, pixel, 0) + add;
}`;

export const SHOW_FRAGMENT = `#version 300 es
precision highp float;
uniform highp sampler2D sum;
uniform vec2 size;
uniform vec2 shownSize;
uniform bool work;
layout(location = 0) out vec4 colour;
${DEVELOP_GLSL}
void main() {
  // the sum may be coarser than what is shown: between its pixels by straight lines
  vec2 p = gl_FragCoord.xy / shownSize * size - 0.5;
  ivec2 low = ivec2(floor(p));
  vec2 t = p - vec2(low);
  ivec2 most = ivec2(size) - 1;
  vec4 a = texelFetch(sum, clamp(low, ivec2(0), most), 0), b = texelFetch(sum, clamp(low + ivec2(1, 0), ivec2(0), most), 0);
  vec4 c = texelFetch(sum, clamp(low + ivec2(0, 1), ivec2(0), most), 0), d = texelFetch(sum, clamp(low + ivec2(1, 1), ivec2(0), most), 0);
  vec4 mean = mix(mix(a, b, t.x), mix(c, d, t.x), t.y);
  vec3 linear = mean.rgb / max(mean.a, 1e-6);
  colour = vec4(developed(linear), 1.0);
}`;
