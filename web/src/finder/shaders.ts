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
/** Field curvature: what the lens is, and where in the pupil this pass goes through, from its middle. */
uniform float curvature;
uniform mat4 toGlass;
uniform vec3 lensAxis;
uniform vec3 aside;
uniform float pupilOffset;
uniform float focalLength;
uniform float filmReach;
uniform vec2 filmScale;
out vec3 at;
out vec3 facing;
out vec3 open;

/**
 * By how much field curvature moves the image of a point P, seen from the principal point, on the film: its sharp
 * image slides along the ray through the pupil's middle, which meets the principal plane in C; this pass's ray meets it
 * in B and aims there. Written as a difference from the flat field's, so that single precision keeps its digits.
 */
vec2 slid(vec3 p) {
  float u = dot(lensAxis, p);
  float k = u - focalLength;
  if (k < 0.05 * focalLength) return vec2(0.0);
  vec3 off = p - u * lensAxis;
  float c = curvature * u * min(dot(off, off) / (u * u), 4.0);
  vec3 b = (u * (pupilOffset * lensAxis + aside) - pupilOffset * p) / (u - pupilOffset);
  vec3 toMiddle = -u / (u - pupilOffset) * aside;
  vec3 way = -(p * focalLength + b * k);
  float w = -way.z, bent = w - toMiddle.z * c;
  return w > 0.0 && bent > 0.0 ? (filmReach + b.z) * c * (toMiddle.xy * w + way.xy * toMiddle.z) / (w * bent) : vec2(0.0);
}

void main() {
  at = (toPlace * vec4(position, 1.0)).xyz;
  facing = mat3(toPlace) * normal;
  open = shares.xyz;
  gl_Position = toClip * vec4(position, 1.0);
  if (curvature != 0.0) gl_Position.xy -= slid((toGlass * vec4(at, 1.0)).xyz) * filmScale * gl_Position.w;
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
uniform bool oneWay;
uniform float covers;
uniform float through;
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
/** Haze: extinction, albedo, g, and how far through the haze this pass looks for light; shares of sky and ground. */
uniform vec4 air;
uniform vec2 airOpen;
uniform vec3 airLow;
uniform vec3 airHigh;
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

/** What a head gives at a place from where it is: towards l, at a squared distance. */
float given(int i, vec3 l, float squared) {
  float c = max(-dot(headAxis[i], l), 0.0);
  float there = headShape[i].x < 0.0 ? 1.0 : pow(c, max(headShape[i].x, 1e-3));
  if (headShape[i].z > 0.0) {
    c = max(c, 1e-4);
    float x = clamp(sqrt(1.0 - c * c) / c / headShape[i].z, 0.0, 1.0);
    there *= 0.6366198 * (acos(x) - x * sqrt(1.0 - x * x));
  }
  return there / (squared + headShape[i].y);
}

/** Henyey and Greenstein's phase function, times pi as lights are over pi. */
float scattered(float cosine) {
  float g = air.z;
  return 0.25 * (1.0 - g * g) / pow(max(1.0 + g * g - 2.0 * g * cosine, 1e-4), 1.5);
}

/** Light that haze sends along a look from a place in it. */
vec3 lit(vec3 from, vec3 look) {
  vec3 sum = evenLight + skyLight * airOpen.x + groundLight * airOpen.y;
  for (int i = 0; i < ${MOST_HEADS}; i++) {
    if (i >= heads) break;
    vec3 way = headAt[i] - from;
    float squared = dot(way, way);
    vec3 l = way * inversesqrt(max(squared, 1e-8));
    float strength = given(i, l, squared) * scattered(dot(l, look));
    if (strength > 0.0) sum += headLight[i] * strength * reaches(headShadow[i], from, float(i));
  }
  if (sunLight.g > 0.0) sum += sunLight * scattered(dot(toSun, look)) * reaches(sunShadow, from, ${MOST_HEADS}.0);
  return sum;
}

/** Koschmieder's law: what comes through the haze of what lies behind it, and its own veil. */
vec3 veiled(vec3 behind) {
  vec3 look = at - eye;
  float far = length(look);
  look /= max(far, 1e-6);
  vec3 steep = 1.0 / (look + vec3(equal(look, vec3(0.0))) * 1e-9);
  vec3 one = (airLow - eye) * steep, two = (airHigh - eye) * steep;
  vec3 ins = min(one, two), outs = max(one, two);
  float enter = max(max(ins.x, max(ins.y, ins.z)), 0.0);
  float run = max(min(min(outs.x, min(outs.y, outs.z)), far) - enter, 0.0);
  float clear = exp(-air.x * run);
  // each pass looks at one place along the way, another in every pixel: grain at first, smooth once passes are summed
  float share = fract(air.w + hash(gl_FragCoord.xy));
  float there = enter - log(1.0 - share * (1.0 - clear)) / air.x;
  return behind * clear + lit(eye + look * there, look) * air.y * (1.0 - clear);
}

void main() {
  if (covers < 0.999 && hash(gl_FragCoord.xy + pass * 17.31) > covers) discard;
  vec3 n = normalize(facing);
  bool back = dot(n, eye - at) < 0.0;
  if (back) n = -n;
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
    float here = dot(n, l);
    vec3 side = here < 0.0 ? -n : n;
    here = here < 0.0 ? -here * through : here;
    float strength = here * given(i, l, squared);
    if (strength <= 0.0) continue;
    float reached = reaches(headShadow[i], at + side * 0.012 + headShift[i] * min(1.0, squared * 0.05), float(i));
    sum += headLight[i] * (reached * strength);
  }
  float slant = dot(n, toSun);
  float sunny = slant < 0.0 ? -slant * through : slant;
  if (sunny > 0.0 && sunLight.g > 0.0) sum += sunLight * sunny * reaches(sunShadow, at + n * sign(slant) * 0.02, ${MOST_HEADS}.0);
  vec3 seen = colour * sum + (oneWay && back ? vec3(0.0) : glow);
  if (air.x > 0.0) seen = veiled(seen);
  light = vec4(min(seen, vec3(30000.0)), 1.0);
}`;

export const SHADOW_VERTEX = `#version 300 es
precision highp float;
layout(location = 0) in vec3 position;
uniform mat4 toClip;
void main() { gl_Position = toClip * vec4(position, 1.0); }`;

export const SHADOW_FRAGMENT = `#version 300 es
precision highp float;
uniform float holds;
/** What lets part of the light through holds back as many points of a grid of four by four; between them it is mixed. */
void main() {
  ivec2 p = ivec2(gl_FragCoord.xy) & 3;
  int order = ((p.x ^ p.y) & 1) * 8 + (p.y & 1) * 4 + (((p.x ^ p.y) >> 1) & 1) * 2 + ((p.y >> 1) & 1);
  if (float(order) + 0.5 > holds * 16.0) discard;
}`;

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
