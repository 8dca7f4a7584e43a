/** The people strip's figures: ellipses at the subject, ladders of stops, and the words beside them. */
import type { FocusPoint, LightAnswer } from "../api/types";

/** Height of a head, chin to crown: 0.132 of the stature, common practice in drawing, no source. [share] */
export const HEAD = 0.132;

export interface Ring {
  /** Full axes of the blur where the face is. [mm] */
  major: number;
  minor: number;
  /** Of the major axis, from the picture's x towards its y. [degrees] */
  angle: number;
}

/** The blur ring at a face; null where there is none, behind the camera. */
export function ringOf(point: FocusPoint): Ring | null {
  if (point.blur_at_subject_mm === null || point.blur_major_um === null || point.blur_minor_um === null) return null;
  const share = point.blur_major_um > 0 ? point.blur_minor_um / point.blur_major_um : 1;
  return { major: point.blur_at_subject_mm, minor: point.blur_at_subject_mm * share, angle: point.blur_angle_deg ?? 0 };
}

const FACTORS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

/** How much a ring must be enlarged so that it can be seen: the least round factor that makes it so many pixels. */
export function enlargement(major: number, pixelsForMm: number, least = 14): number {
  return FACTORS.find((factor) => major * factor * pixelsForMm >= least) ?? FACTORS[FACTORS.length - 1]!;
}

export interface Rung {
  name: string;
  stops: number;
  flash: boolean;
}

interface LightRow {
  name: string;
  lights: { name: string; stops: number | null; flat_lxs?: number }[];
  total_stops: number | null;
}

/** Stops of each light at somebody, and of all together; null until the light is metered. */
export function ladderOf(light: LightAnswer | undefined, name: string): { rungs: Rung[]; total: number | null } | null {
  const rows = (light?.table?.points ?? []) as unknown as LightRow[];
  const row = rows.find((r) => r.name === name);
  if (!row) return null;
  const rungs = row.lights.filter((l) => l.stops !== null && Number.isFinite(l.stops)).map((l) => ({ name: l.name, stops: l.stops as number, flash: "flat_lxs" in l }));
  return { rungs, total: row.total_stops };
}
