/** Vectors, the camera's body frame, rays out of the lens and outlines. Frames and signs as in the server. */
import type { DrawnShot, Focus, Pair, Triple } from "../api/types";

export const add = (a: Triple, b: Triple, times = 1): Triple => [a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2]];
export const subtract = (a: Triple, b: Triple): Triple => add(a, b, -1);
export const dot = (a: Triple, b: Triple) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const scale = (a: Triple, times: number): Triple => [a[0] * times, a[1] * times, a[2] * times];
export const cross = (a: Triple, b: Triple): Triple => [
  a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0],
];
export function unit(a: Triple): Triple {
  const size = Math.hypot(...a);
  return size > 1e-9 ? scale(a, 1 / size) : [0, 1, 0];
}
export const rad = (degrees: number) => (degrees * Math.PI) / 180;
export const deg = (radians: number) => (radians * 180) / Math.PI;

/** The camera's body in the place: right, up and forward, seen from behind it. */
export interface Body {
  at: Triple;
  right: Triple;
  up: Triple;
  forward: Triple;
}

export function bodyOf(at: Triple, aim: Triple, level: boolean): Body {
  const way = subtract(aim, at);
  const forward = unit(level ? [way[0], way[1], 0] : way);
  const right = unit(cross(forward, [0, 0, 1]));
  return { at, right, up: cross(right, forward), forward };
}

const toPlace = (body: Body, v: Triple): Triple =>
  add(add(scale(body.right, v[0]), body.up, v[1]), body.forward, v[2]);

/** The lens as it stands: its principal point in the place, its axis, and two rays for two film points. */
export interface Glass {
  point: Triple;
  axis: Triple;
  /** The ray through the pupil's middle that ends on the film at [x, y], upright, in metres from its middle. */
  ray: (image: Pair) => { from: Triple; way: Triple };
}

/**
 * The glass of a shot: an image point F and its object point P are tied by P = F f / (f + a.F); the ray seen from the
 * place leaves through the middle of the entrance pupil. An upright image point lies opposite on the film.
 */
export function glassOf(body: Body, shot: DrawnShot, focus: Focus | null): Glass {
  const facts = shot.lens_facts;
  const f = facts.focal_mm / 1e3;
  const [s, t] = [rad(focus?.lens.swing_deg ?? 0), rad(focus?.lens.tilt_deg ?? 0)];
  const a: Triple = [Math.sin(s) * Math.cos(t), Math.sin(t), Math.cos(s) * Math.cos(t)];
  const pivot = facts.pivot_mm / 1e3;
  const extension = (focus?.lens.extension_mm ?? 0) / 1e3;
  const [rise, shift] = [(focus?.lens.rise_mm ?? shot.camera.rise_mm) / 1e3, (focus?.lens.shift_mm ?? shot.camera.shift_mm) / 1e3];
  const point = add([shift, rise, -pivot], a, pivot + extension);
  const pupil = scale(a, f * (1 - 1 / facts.pupil_ratio));
  return {
    point: add(body.at, toPlace(body, point)),
    axis: toPlace(body, a),
    ray: ([x, y]) => {
      const film = subtract([-x, -y, -f], point);
      const beyond = -dot(a, film) - f;
      const way = unit(subtract(scale(film, -f), scale(pupil, beyond)));
      return { from: add(body.at, toPlace(body, add(point, pupil))), way: toPlace(body, way) };
    },
  };
}

/** Eight corners of a box: half width and half height across, from `near` to `far` along an axis. */
export function slab(at: Triple, axis: Triple, halfWidth: number, halfHeight: number, near: number, far: number): Triple[] {
  const level = cross(axis, [0, 0, 1]);
  const across: Triple = Math.hypot(...level) > 1e-6 ? unit(level) : [1, 0, 0];
  const up = cross(across, axis);
  const corners: Triple[] = [];
  for (const x of [-halfWidth, halfWidth])
    for (const y of [-halfHeight, halfHeight])
      for (const z of [near, far]) corners.push(add(add(add(at, across, x), up, y), axis, z));
  return corners;
}

/** Points given across and up from a middle, on a plane square to an axis and `ahead` of it. */
export function facing(points: readonly Pair[], at: Triple, axis: Triple, ahead: number): Triple[] {
  const level = cross(axis, [0, 0, 1]);
  // straight up or down a front lies with its height along y, as the server has it
  const up = Math.hypot(...level) > 1e-6 ? cross(unit(level), axis) : ([0, 1, 0] as Triple);
  const across = cross(axis, up);
  return points.map(([x, y]) => add(add(add(at, across, x), up, y), axis, ahead));
}

/** Convex hull by Andrew's monotone chain, anticlockwise. */
export function hull(points: Pair[]): Pair[] {
  const ordered = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (run: Pair[]) => {
    const chain: Pair[] = [];
    for (const p of run) {
      while (chain.length > 1 && turn(chain[chain.length - 2]!, chain[chain.length - 1]!, p) <= 0) chain.pop();
      chain.push(p);
    }
    return chain.slice(0, -1);
  };
  return ordered.length < 3 ? ordered : [...half(ordered), ...half([...ordered].reverse())];
}

const turn = (a: Pair, b: Pair, c: Pair) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

/** The part of a segment inside a box [left, bottom, right, top], by Liang and Barsky; null if there is none. */
export function clip(a: Pair, b: Pair, box: [number, number, number, number]): [Pair, Pair] | null {
  let [from, to] = [0, 1];
  for (const axis of [0, 1] as const) {
    const run = b[axis] - a[axis];
    const [low, high] = [box[axis] - a[axis], box[axis === 0 ? 2 : 3] - a[axis]];
    if (Math.abs(run) < 1e-12) {
      if (low > 0 || high < 0) return null;
      continue;
    }
    const [enter, leave] = run > 0 ? [low / run, high / run] : [high / run, low / run];
    from = Math.max(from, enter);
    to = Math.min(to, leave);
  }
  if (from > to) return null;
  const on = (share: number): Pair => [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
  return [on(from), on(to)];
}

/** A bearing in the plan, clockwise from +y, of the way from one point to another. [degrees, 0 to 360] */
export const bearing = (from: Pair | Triple, to: Pair | Triple) => (deg(Math.atan2(to[0] - from[0], to[1] - from[1])) + 360) % 360;

export const mm = (metres: number) => Math.round(metres * 1e3) / 1e3;
