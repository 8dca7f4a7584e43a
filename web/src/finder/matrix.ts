/** Four by four matrices, row by row, in double precision; the graphics card gets them once they are multiplied. */
export type Vec3 = readonly [number, number, number];
export type Mat4 = readonly number[];

export const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const plus = (a: Vec3, b: Vec3): Vec3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const times = (a: Vec3, s: number): Vec3 => [a[0] * s, a[1] * s, a[2] * s];
export const length = (a: Vec3): number => Math.hypot(a[0], a[1], a[2]);
export const unit = (a: Vec3): Vec3 => times(a, 1 / Math.max(length(a), 1e-12));
export const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

export const identity: Mat4 = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** a . b, both 16 numbers row by row. */
export function multiply(a: Mat4, b: Mat4): Mat4 {
  const out = new Array<number>(16);
  for (let i = 0; i < 4; i++)
    for (let j = 0; j < 4; j++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += (a[i * 4 + k] as number) * (b[k * 4 + j] as number);
      out[i * 4 + j] = sum;
    }
  return out;
}

/** matrix . (x, y, z, w). */
export function apply(m: Mat4, p: Vec3, w = 1): [number, number, number, number] {
  const row = (i: number) =>
    (m[i * 4] as number) * p[0] + (m[i * 4 + 1] as number) * p[1] + (m[i * 4 + 2] as number) * p[2] + (m[i * 4 + 3] as number) * w;
  return [row(0), row(1), row(2), row(3)];
}

export const rows = (a: readonly number[], b: readonly number[], c: readonly number[], d: readonly number[]): Mat4 => [...a, ...b, ...c, ...d];

/** Rotation and move that turn a point of the place into components along three axes, seen from `origin`. */
export function seenFrom(origin: Vec3, x: Vec3, y: Vec3, z: Vec3): Mat4 {
  return rows([...x, -dot(x, origin)], [...y, -dot(y, origin)], [...z, -dot(z, origin)], [0, 0, 0, 1]);
}

/** For uniformMatrix4fv: column by column, single precision. */
export function columns(m: Mat4, out = new Float32Array(16)): Float32Array {
  for (let i = 0; i < 4; i++) for (let j = 0; j < 4; j++) out[j * 4 + i] = m[i * 4 + j] as number;
  return out;
}

/** Inverse of a three by three matrix, row by row. */
export function inverse3(m: readonly number[]): number[] {
  const [a, b, c, d, e, f, g, h, i] = m as [number, number, number, number, number, number, number, number, number];
  const A = e * i - f * h, B = f * g - d * i, C = d * h - e * g;
  const s = 1 / (a * A + b * B + c * C);
  return [A, c * h - b * i, b * f - c * e, B, a * i - c * g, c * d - a * f, C, b * g - a * h, a * e - b * d].map((v) => v * s);
}

export function multiply3(a: readonly number[], b: readonly number[]): number[] {
  const out = new Array<number>(9).fill(0);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      for (let k = 0; k < 3; k++) out[i * 3 + j] = (out[i * 3 + j] as number) + (a[i * 3 + k] as number) * (b[k * 3 + j] as number);
  return out;
}

export const apply3 = (m: readonly number[], v: readonly number[]): Vec3 => {
  const row = (i: number) => (m[i * 3] as number) * (v[0] as number) + (m[i * 3 + 1] as number) * (v[1] as number) + (m[i * 3 + 2] as number) * (v[2] as number);
  return [row(0), row(1), row(2)];
};
