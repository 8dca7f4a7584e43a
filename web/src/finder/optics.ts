/**
 * The set lens as projections: for each point E of the entrance pupil, one matrix from the place to the film.
 *
 * An ideal lens images a point P, seen from the principal point O, at Q = P f / (f - a.P); the ray that comes through
 * E leaves through E' = p E, its image, p being the pupil ratio. So the film point is where the line from E' to Q
 * meets the film: a projection of a collineation, and exact for swing, tilt, rise, shift, ring and pupil ratio at
 * once. A point on the plane of focus stays put for every E. Field curvature is no projection: it moves each corner of
 * what is drawn by what it adds (shaders.ts), and nothing of the pass through the pupil's middle.
 *
 * Body frame: x right, y up, z forward along the film's normal, the film at z = -d from O. Metres.
 */
import { type Mat4, type Vec3, apply, dot, length, minus, multiply, plus, rows, seenFrom, times, unit } from "./matrix";

/** A camera and its lens as they are set. Metres and radians, place frame. */
export interface Setup {
  at: Vec3;
  aim: Vec3;
  level: boolean;
  focal: number;
  pivot: number;
  pupilRatio: number;
  blades: number;
  /** Field curvature kappa: seen at an angle t from the axis, the power is (1 + kappa tan^2 t) / f. */
  curvature: number;
  swing: number;
  tilt: number;
  rise: number;
  shift: number;
  extension: number;
  fNumber: number;
  film: readonly [number, number];
}

/** Where the glass stands: O and the axis in the body frame, the pupil, and the place seen from O. */
export interface Glass {
  setup: Setup;
  right: Vec3;
  up: Vec3;
  forward: Vec3;
  axis: Vec3;
  principal: Vec3;
  filmDistance: number;
  pupilOffset: number;
  pupilRadius: number;
  across: Vec3;
  along: Vec3;
  toGlass: Mat4;
}

/** What of the film is shown: its middle and width as seen upright, from the film's centre. [m] */
export interface Window {
  centre: readonly [number, number];
  width: number;
  height: number;
}

const NEAR = 0.12;
const FAR = 900;
const UP: Vec3 = [0, 0, 1];

export function glassOf(setup: Setup): Glass {
  let forward = minus(setup.aim, setup.at);
  if (setup.level) forward = [forward[0], forward[1], 0];
  forward = unit(forward);
  const right = unit([forward[1] * UP[2] - forward[2] * UP[1], forward[2] * UP[0] - forward[0] * UP[2], 0]);
  const up: Vec3 = [
    right[1] * forward[2] - right[2] * forward[1],
    right[2] * forward[0] - right[0] * forward[2],
    right[0] * forward[1] - right[1] * forward[0],
  ];
  const { swing, tilt, focal, pivot, extension } = setup;
  const axis: Vec3 = [Math.sin(swing) * Math.cos(tilt), Math.sin(tilt), Math.cos(swing) * Math.cos(tilt)];
  const arm = pivot + extension;
  const principal = plus([setup.shift, setup.rise, -pivot], times(axis, arm));
  const toBody = seenFrom(setup.at, right, up, forward);
  const move = rows([1, 0, 0, -principal[0]], [0, 1, 0, -principal[1]], [0, 0, 1, -principal[2]], [0, 0, 0, 1]);
  const [across, along] = pupilAxes(axis);
  return {
    setup, right, up, forward, axis, principal, across, along,
    filmDistance: focal - pivot + arm * axis[2],
    pupilOffset: focal * (1 - 1 / setup.pupilRatio),
    pupilRadius: focal / (2 * setup.fNumber),
    toGlass: multiply(move, toBody),
  };
}

function pupilAxes(axis: Vec3): [Vec3, Vec3] {
  const helper: Vec3 = Math.abs(axis[1]) < 0.9 ? [0, 1, 0] : [1, 0, 0];
  const across = unit(minus(helper, times(axis, dot(helper, axis))));
  const along: Vec3 = [
    axis[1] * across[2] - axis[2] * across[1],
    axis[2] * across[0] - axis[0] * across[2],
    axis[0] * across[1] - axis[1] * across[0],
  ];
  return [across, along];
}

/** A point of the entrance pupil, seen from O, of `disc` in the unit circle or the blades' opening. [m] */
export function pupilPoint(glass: Glass, disc: readonly [number, number]): Vec3 {
  const r = glass.pupilRadius;
  return plus(times(glass.axis, glass.pupilOffset), plus(times(glass.across, disc[0] * r), times(glass.along, disc[1] * r)));
}

/**
 * f P_z - d (a.P - f), less what field curvature takes off: nought where a point of the place is sharp, above it nearer.
 * The same as the server's (lens/curvature.py).
 */
export function sharpness(glass: Glass, place: Vec3): number {
  const { axis, filmDistance: d, pupilOffset: h } = glass;
  const { focal: f, curvature } = glass.setup;
  const p = apply(glass.toGlass, place).slice(0, 3) as unknown as Vec3;
  const u = dot(axis, p);
  const flat = f * p[2] - d * (u - f);
  if (curvature === 0) return flat;
  const aside = minus(p, times(axis, u));
  const crossing = (h * (u * axis[2] - p[2])) / (u - h);
  return flat - ((curvature * dot(aside, aside)) / u) * (crossing + d);
}

/** Place frame to clip space for one pupil point: x right, y up as in the picture, depth along the ray. */
export function passMatrix(glass: Glass, pupil: Vec3, shown: Window, jitter: readonly [number, number] = [0, 0]): Mat4 {
  const { axis, filmDistance: d, principal } = glass;
  const f = glass.setup.focal;
  const e = times(pupil, glass.setup.pupilRatio);
  // rows over (P, 1): Q's numerators, its denominator s, and D = Q_z - E'_z s, which vanishes at the pupil point
  const s = [-axis[0], -axis[1], -axis[2], f];
  const through = (k: 0 | 1 | 2): number[] => [k === 0 ? f : 0, k === 1 ? f : 0, k === 2 ? f : 0, 0];
  const less = (a: readonly number[], b: readonly number[], m: number) => a.map((v, i) => v - m * (b[i] as number));
  const depth = less(through(2), s, e[2]);
  const steep = length([depth[0] as number, depth[1] as number, depth[2] as number]);
  const film = (k: 0 | 1) => {
    const offset = less(through(k), s, e[k]);
    return depth.map((v, i) => (e[k] + principal[k]) * v - (d + e[2]) * (offset[i] as number));
  };
  const clip = (k: 0 | 1, size: number, shift: number) => {
    const x = film(k);
    const centre = shown.centre[k];
    // upright: the picture's x and y run against the film's
    return x.map((v, i) => ((-v - centre * (depth[i] as number)) * 2) / size / steep + (shift * (depth[i] as number)) / steep);
  };
  const w = depth.map((v) => v / steep);
  const A = (FAR + NEAR) / (FAR - NEAR);
  const B = (-2 * FAR * NEAR) / (FAR - NEAR);
  const z = w.map((v, i) => A * v + (i === 3 ? B : 0));
  return multiply(rows(clip(0, shown.width, jitter[0]), clip(1, shown.height, jitter[1]), z, w), glass.toGlass);
}

/** The whole film. */
export function wholeFilm(setup: Setup): Window {
  return { centre: [0, 0], width: setup.film[0], height: setup.film[1] };
}

/** Where a point of the place comes out through the middle of the pupil, upright from the film's centre [m], or null. */
export function imageOf(glass: Glass, point: Vec3): [number, number] | null {
  const film = wholeFilm(glass.setup);
  const [x, y, , w] = apply(passMatrix(glass, pupilPoint(glass, [0, 0]), film), point);
  return w > 1e-4 ? [((x / w) * film.width) / 2, ((y / w) * film.height) / 2] : null;
}

/** The direction, place frame, from the pupil's middle to what an upright image position shows, and where it starts. */
export function rayThrough(glass: Glass, image: readonly [number, number]): { from: Vec3; towards: Vec3 } {
  const { principal, axis, filmDistance: d } = glass;
  const f = glass.setup.focal;
  const q: Vec3 = [-image[0] - principal[0], -image[1] - principal[1], -d];
  const pupil = pupilPoint(glass, [0, 0]);
  // backwards through the lens: with v = -q.a the ray leaves E along -q - E (v / f - 1), as the tracer's
  const v = -dot(q, axis);
  const way = minus(times(q, -1), times(pupil, v / f - 1));
  const out = (a: Vec3): Vec3 => plus(plus(times(glass.right, a[0]), times(glass.up, a[1])), times(glass.forward, a[2]));
  return { from: plus(glass.setup.at, out(plus(pupil, principal))), towards: unit(out(way)) };
}

/** Film irradiance over radiance on the axis of the lens unmoved, at this ring and stop. [sr] */
export function straightGain(glass: Glass): number {
  const { focal, extension, pupilRatio, fNumber } = glass.setup;
  return Math.PI / (4 * fNumber ** 2 * (1 + extension / focal / pupilRatio) ** 2);
}
