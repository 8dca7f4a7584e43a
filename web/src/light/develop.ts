/**
 * Developing in a shader: shoulder, fading to white, gamut and encoding of the server's own picture, number for number
 * (src/sidelong/picture/develop.py and gamut.py are the reference; a test compares the two). Without its dither.
 */
import { inverse3, multiply3 } from "../finder/matrix";

const SHOULDER = 0.18 * 4;
const SATURATION = 0.18 * 7.8;
const POWER = (SATURATION - SHOULDER) / (1 - SHOULDER);
const KNEE = 0.9;
const NEAR_EDGE = 0.08;
const LIGHTNESSES = 129;
const HUES = 541;

/** Published for linear sRGB (ottosson2020); rows scaled and opponent rows centred so that a grey has no hue at all. */
const CONES = scaledRows([
  0.4122214708, 0.5363325363, 0.0514459929, 0.2119034982, 0.6806995451, 0.1073969566, 0.0883024619, 0.2817188376, 0.6299787005,
]);
const LAB = centred([
  0.2104542553, 0.793617785, -0.0040720468, 1.9779984951, -2.428592205, 0.4505937099, 0.0259040371, 0.7827717662, -0.808675766,
]);
const ROOTS = inverse3(LAB);
const RGB = inverse3(CONES);

function scaledRows(m: number[]): number[] {
  const sums = [0, 3, 6].map((i) => (m[i] as number) + (m[i + 1] as number) + (m[i + 2] as number));
  return m.map((v, i) => v / (sums[Math.floor(i / 3)] as number));
}

function centred(m: number[]): number[] {
  const mean = (i: number) => ((m[i] as number) + (m[i + 1] as number) + (m[i + 2] as number)) / 3;
  const sum = 3 * mean(0);
  return m.map((v, i) => (i < 3 ? v / sum : v - mean(i - (i % 3))));
}

function fromOklab(l: number, a: number, b: number): [number, number, number] {
  const cube = [0, 1, 2].map((i) => ((ROOTS[i * 3] as number) * l + (ROOTS[i * 3 + 1] as number) * a + (ROOTS[i * 3 + 2] as number) * b) ** 3);
  const row = (i: number) => (RGB[i * 3] as number) * (cube[0] as number) + (RGB[i * 3 + 1] as number) * (cube[1] as number) + (RGB[i * 3 + 2] as number) * (cube[2] as number);
  return [row(0), row(1), row(2)];
}

/** Greatest chroma inside sRGB over lightness (rows) and hue (columns), by halving: the server's table. */
export function chromaTable(): { width: number; height: number; data: Float32Array } {
  const data = new Float32Array(LIGHTNESSES * HUES);
  for (let i = 0; i < LIGHTNESSES; i++)
    for (let j = 0; j < HUES; j++) {
      const hue = -Math.PI + (2 * Math.PI * j) / (HUES - 1);
      const [c, s] = [Math.cos(hue), Math.sin(hue)];
      let inside = 0, outside = 0.4;
      for (let step = 0; step < 15; step++) {
        const middle = 0.5 * (inside + outside);
        const rgb = fromOklab(i / (LIGHTNESSES - 1), middle * c, middle * s);
        if (Math.min(...rgb) >= -1e-6 && Math.max(...rgb) <= 1 + 1e-6) inside = middle;
        else outside = middle;
      }
      data[i * HUES + j] = inside;
    }
  return { width: HUES, height: LIGHTNESSES, data };
}

const number = (v: number) => (Number.isInteger(v) ? v.toFixed(1) : v.toPrecision(10));
/** Row by row here, column by column there. */
const mat3 = (m: number[]) => `mat3(${[0, 3, 6, 1, 4, 7, 2, 5, 8].map((i) => number(m[i] as number)).join(", ")})`;

/** GLSL: `vec3 developed(vec3 linear)` gives encoded sRGB in 0..1; wants a uniform `chromaTable`. */
export const DEVELOP_GLSL = `
uniform highp sampler2D chromaTable;
const float SHOULDER = ${number(SHOULDER)};
const float SATURATION = ${number(SATURATION)};
const mat3 TO_CONES = ${mat3(CONES)};
const mat3 TO_LAB = ${mat3(LAB)};
const mat3 TO_ROOTS = ${mat3(ROOTS)};
const mat3 TO_RGB = ${mat3(RGB)};

float cubeRoot(float v) { return v == 0.0 ? 0.0 : sign(v) * pow(abs(v), 1.0 / 3.0); }
float shoulderOf(float v) {
  float left = clamp((SATURATION - v) / (SATURATION - SHOULDER), 0.0, 1.0);
  return v <= SHOULDER ? v : 1.0 - (1.0 - SHOULDER) * pow(left, ${number(POWER)});
}
float eased(float share) { float t = clamp(share, 0.0, 1.0); return t * t * (3.0 - 2.0 * t); }

float greatestChroma(float lightness, float hue) {
  float row = lightness * ${number(LIGHTNESSES - 1)};
  float column = (hue + ${number(Math.PI)}) * ${number((HUES - 1) / (2 * Math.PI))};
  int i = clamp(int(row), 0, ${LIGHTNESSES - 2});
  int j = clamp(int(column), 0, ${HUES - 2});
  float u = row - float(i), v = column - float(j);
  float a = texelFetch(chromaTable, ivec2(j, i), 0).r, b = texelFetch(chromaTable, ivec2(j + 1, i), 0).r;
  float c = texelFetch(chromaTable, ivec2(j, i + 1), 0).r, d = texelFetch(chromaTable, ivec2(j + 1, i + 1), 0).r;
  return mix(mix(a, b, v), mix(c, d, v), u);
}

vec3 pressed(vec3 lab) {
  float lightness = clamp(lab.x, 0.0, 1.0);
  float chroma = length(lab.yz);
  float hue = chroma > 0.0 ? atan(lab.z, lab.y) : 0.0;
  float share = chroma / max(greatestChroma(lightness, hue), 1e-6);
  float over = max(share - ${number(KNEE)}, 0.0) / ${number(1 - KNEE)};
  float press = ${number(KNEE)} + ${number(1 - KNEE)} * over / (1.0 + over);
  float gain = share > ${number(KNEE)} ? press / max(share, 1e-6) : 1.0;
  return vec3(lightness, lab.yz * gain);
}

vec3 toned(vec3 rgb) {
  float greatest = max(rgb.r, max(rgb.g, rgb.b)), least = min(rgb.r, min(rgb.g, rgb.b));
  if (greatest <= 0.0) return vec3(0.0);
  if (least >= SATURATION) return vec3(1.0);
  if (greatest <= SHOULDER && least >= ${number(NEAR_EDGE)} * greatest) return rgb;
  float luminance = max(dot(rgb, vec3(0.2126, 0.7152, 0.0722)), 1e-6);
  vec3 cones = TO_CONES * (rgb * (shoulderOf(greatest) / greatest));
  vec3 lab = TO_LAB * vec3(cubeRoot(cones.r), cubeRoot(cones.g), cubeRoot(cones.b));
  float fade = max(eased(log2(greatest / SHOULDER) / 6.0), eased(log2(luminance / SHOULDER) / 1.5));
  float grey = cubeRoot(shoulderOf(luminance));
  lab.x += fade * (grey - lab.x);
  lab.yz *= 1.0 - fade;
  vec3 roots = TO_ROOTS * pressed(lab);
  return clamp(TO_RGB * (roots * roots * roots), 0.0, 1.0);
}

vec3 encodedOf(vec3 v) {
  vec3 low = 12.92 * v, high = 1.055 * pow(max(v, vec3(1e-9)), vec3(1.0 / 2.4)) - 0.055;
  return mix(high, low, vec3(lessThanEqual(v, vec3(0.0031308))));
}

vec3 developed(vec3 linear) { return encodedOf(toned(linear)); }
`;

/** For tests of the tables: products of the matrices and their inverses. */
export const checks = () => [multiply3(CONES, RGB), multiply3(LAB, ROOTS)];
