/** The chosen shot's lens as the optics take it, and the edits that a turn of a dial means. */
import type { DrawnShot, Edit, Focus, Step } from "../api/types";
import { type Vec3, plus, times } from "./matrix";
import { type Glass, type Setup, glassOf, imageOf, rayThrough, sharpness } from "./optics";

export interface ShotSource {
  file: Record<string, unknown>;
  path: Step[];
  shot: DrawnShot;
  focus: Focus;
}

const radians = (degrees: number) => (degrees * Math.PI) / 180;
const table = (value: unknown): Record<string, unknown> => (value && typeof value === "object" ? (value as Record<string, unknown>) : {});
const fine = (v: number, digits: number) => Number(v.toFixed(digits)) + 0;

/** The camera and its lens as they are set now. */
export function setupOf(shot: DrawnShot, focus: Focus): Setup {
  const { lens_facts: facts, camera } = shot;
  return {
    at: camera.at,
    aim: camera.aim,
    level: camera.level,
    focal: facts.focal_mm / 1e3,
    pivot: facts.pivot_mm / 1e3,
    pupilRatio: facts.pupil_ratio,
    blades: facts.blades,
    curvature: facts.field_curvature,
    swing: radians(focus.lens.swing_deg),
    tilt: radians(focus.lens.tilt_deg),
    rise: focus.lens.rise_mm / 1e3,
    shift: focus.lens.shift_mm / 1e3,
    extension: focus.lens.extension_mm / 1e3,
    fNumber: focus.f_number,
    film: [shot.film_mm[0] / 1e3, shot.film_mm[1] / 1e3],
  };
}

/** The shot's own table in the file. */
export function shotTable({ file, path }: ShotSource): Record<string, unknown> {
  const shots = Array.isArray(file["shots"]) ? (file["shots"] as Record<string, unknown>[]) : [];
  const last = path[path.length - 1];
  return table(typeof last === "number" ? shots[last] : shots.find((s) => typeof last === "object" && String(s["id"]) === last.is));
}

/** Swing and tilt in degrees: both are written, a movement with its rotation gives way to them. */
export function swingEdits(source: ShotSource, change: { swing?: number; tilt?: number }): Edit[] {
  const at = [...source.path, "movement"];
  const old = table(shotTable(source)["movement"]);
  const { lens, focus_on } = source.focus;
  const edits: Edit[] = [];
  for (const key of ["movement", "rotation"]) if (key in old) edits.push({ op: "remove", path: [...at, key] });
  edits.push({ op: "set", path: [...at, "swing"], value: fine(change.swing ?? lens.swing_deg, 2) });
  edits.push({ op: "set", path: [...at, "tilt"], value: fine(change.tilt ?? lens.tilt_deg, 2) });
  if (!("focus_on" in old)) edits.push({ op: "set", path: [...at, "focus_on"], value: focus_on });
  return edits;
}

/** Rise or shift in millimetres, where the file has it or in the camera. */
export function riseEdits(source: ShotSource, key: "rise" | "shift", mm: number): Edit[] {
  const movement = table(shotTable(source)["movement"]);
  return [{ op: "set", path: [...source.path, key in movement ? "movement" : "camera", key], value: fine(mm, 2) }];
}

export const stopEdits = (source: ShotSource, marked: number): Edit[] => [{ op: "set", path: [...source.path, "aperture"], value: marked }];

/** Set the ring for somebody or for a mark. */
export const focusEdits = (source: ShotSource, name: string): Edit[] => [{ op: "set", path: [...source.path, "movement", "focus_on"], value: name }];

/** Find movement and stop anew. */
export function findEdits(source: ShotSource): Edit[] {
  const now = shotTable(source);
  const old = table(now["movement"]);
  const edits: Edit[] = ["swing", "tilt", "movement", "rotation"].filter((key) => key in old).map((key) => ({ op: "remove", path: [...source.path, "movement", key] }));
  if ("aperture" in now) edits.push({ op: "remove", path: [...source.path, "aperture"] });
  return edits;
}

export const ringMarkName = (shot: string) => `focus of ${shot}`;

/** Set the ring for a point of the place: a mark of the shot's own is put there. */
export function pointEdits(source: ShotSource, marks: readonly { name: string }[], at: Vec3): Edit[] {
  const name = ringMarkName(source.shot.id);
  const value = at.map((v) => fine(v, 3));
  const there = marks.some((m) => m.name === name);
  const put: Edit = there ? { op: "set", path: ["marks", { is: name }, "at"], value } : { op: "add", path: ["marks"], value: { name, at: value } };
  return [put, ...focusEdits(source, name)];
}

/**
 * Where the ray through the picture's middle meets the plane of focus that the ring makes at an extension [m]; null
 * where the plane runs along the ray or behind the camera.
 */
export function pointInFocus(setup: Setup, extension: number): Vec3 | null {
  const glass = glassOf({ ...setup, extension });
  const ray = rayThrough(glass, [0, 0]);
  const level = (t: number) => sharpness(glass, plus(ray.from, times(ray.towards, t)));
  // straight along the ray for a flat field; a curved one is nearly so, and the secant is at its nought in a few steps
  let [t0, t1] = [1, 2];
  let [a, b] = [level(t0), level(t1)];
  for (let k = 0; k < 12 && Math.abs(b - a) > 1e-15 && Math.abs(t1 - t0) > 1e-9; k++) {
    const t = t1 - (b * (t1 - t0)) / (b - a);
    [t0, a, t1, b] = [t1, b, t, level(t)];
  }
  return Math.abs(b) < 1e-9 && t1 > 4 * setup.focal && t1 < 200 ? plus(ray.from, times(ray.towards, t1)) : null;
}

/** The edge of the image circle on the film, upright [m]: the cone about the axis, cut by the film; empty if not stated. */
export function imageCircle(glass: Glass, diameter: number | null, points = 96): [number, number][] {
  if (diameter === null) return [];
  const slope = diameter / 2 / glass.setup.focal;
  const found: [number, number][] = [];
  for (let k = 0; k < points; k++) {
    const turn = (2 * Math.PI * k) / points;
    const edge = plus(glass.axis, plus(times(glass.across, slope * Math.cos(turn)), times(glass.along, slope * Math.sin(turn))));
    if (edge[2] < 1e-3) continue;
    const t = glass.filmDistance / edge[2];
    found.push([edge[0] * t - glass.principal[0], edge[1] * t - glass.principal[1]]);
  }
  return found;
}

/** Where level things far away come out: two points of the horizon, upright on the film [m]. */
export function horizon(glass: Glass): [[number, number], [number, number]] | null {
  const { at } = glass.setup;
  const flat = (side: number): Vec3 => {
    const way = plus(glass.forward, times(glass.right, side));
    const size = Math.hypot(way[0], way[1]) || 1;
    return [at[0] + (way[0] / size) * 1e6, at[1] + (way[1] / size) * 1e6, at[2]];
  };
  const [a, b] = [imageOf(glass, flat(-0.5)), imageOf(glass, flat(0.5))];
  return a && b ? [a, b] : null;
}
