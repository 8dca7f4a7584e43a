/**
 * From film exposure as tristimulus values to linear sRGB under a balance, with the server's own numbers: primaries and
 * white of IEC 61966-2-1, the Bradford transform, middle grey at 10 / S of ISO 12232.
 */
import { type Vec3, apply3, inverse3, multiply3 } from "../finder/matrix";

/** XYZ (Y = 1) of what balances turn neutral, as the server's table gives it: X and Z at even steps of mireds. */
export interface Whites {
  step: number;
  daylight: { first: number; xz: [number, number][] };
  planck: { first: number; xz: [number, number][] };
}

export const MIDDLE_GREY = 0.18;
const GREY_TIMES_ISO = 10;
/** From this colour temperature up a balance means a phase of daylight. [K] */
const DAYLIGHT_FROM = 4000;

const D65: Vec3 = [0.3127 / 0.329, 1, (1 - 0.3127 - 0.329) / 0.329];
const PRIMARIES = [[0.64, 0.33], [0.3, 0.6], [0.15, 0.06]] as const;
export const BRADFORD = [0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296];
/** From responses back to tristimulus values. */
export const BRADFORD_BACK = inverse3(BRADFORD);

export const RGB_TO_XYZ = rgbToXyz();
export const XYZ_TO_RGB = inverse3(RGB_TO_XYZ);

function rgbToXyz(): number[] {
  const column = PRIMARIES.map(([x, y]) => [x / y, 1, (1 - x - y) / y]);
  const m = [0, 1, 2].flatMap((row) => column.map((c) => c[row] as number));
  const share = apply3(inverse3(m), D65);
  return m.map((v, i) => v * (share[i % 3] as number));
}

const diagonal = (v: Vec3) => [v[0], 0, 0, 0, v[1], 0, 0, 0, v[2]];

/** XYZ, Y = 1, of the light that a balance [K] turns neutral. */
export function whiteOf(whites: Whites, balance: number): Vec3 {
  const mired = 1e6 / balance;
  const part = balance >= DAYLIGHT_FROM ? whites.daylight : whites.planck;
  const place = Math.min(Math.max((mired - part.first) / whites.step, 0), part.xz.length - 1);
  const i = Math.min(Math.floor(place), part.xz.length - 2);
  const [a, b] = [part.xz[i], part.xz[i + 1]];
  if (!a || !b) throw new Error("the table of whites is too short");
  const t = place - i;
  return [a[0] + (b[0] - a[0]) * t, 1, a[1] + (b[1] - a[1]) * t];
}

/** Three by three, row by row: film exposure XYZ [lx s] to linear sRGB, middle grey 0.18, the balance made white. */
export function filmToLinear(whites: Whites, iso: number, balance: number): number[] {
  const from = apply3(BRADFORD, whiteOf(whites, balance));
  const to = apply3(BRADFORD, D65);
  const gains: Vec3 = [to[0] / from[0], to[1] / from[1], to[2] / from[2]];
  const adapted = multiply3(BRADFORD_BACK, multiply3(diagonal(gains), BRADFORD));
  const gain = (MIDDLE_GREY * iso) / GREY_TIMES_ISO;
  return multiply3(XYZ_TO_RGB, adapted).map((v) => v * gain);
}

/** What a layer lit by a head is multiplied by when its gels change: Bradford responses there over those here. */
export function underOtherGels(here: readonly number[], there: readonly number[]): number[] {
  const gains: Vec3 = [0, 1, 2].map((k) => (there[k] as number) / Math.max(here[k] as number, 1e-9)) as unknown as Vec3;
  return multiply3(BRADFORD_BACK, multiply3(diagonal(gains), BRADFORD));
}

/** Encoded sRGB, 0..1, of a linear value. */
export function encoded(linear: number): number {
  const v = Math.min(Math.max(linear, 0), 1);
  return v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055;
}

/** A CSS colour of linear sRGB scaled so that its greatest channel is `peak`. */
export function cssOf(linear: readonly number[], peak = 1): string {
  const greatest = Math.max(...linear, 1e-9);
  const channel = (v: number) => Math.round(encoded((Math.max(v, 0) / greatest) * peak) * 255);
  return `rgb(${linear.map(channel).join(" ")})`;
}
