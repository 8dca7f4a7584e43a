/** Lengths as they may stand in the file: metres, or words such as "8 ft 2 in" and "90 mm". */
import type { Triple } from "../api/types";

const METRES: Record<string, number> = { m: 1, cm: 0.01, mm: 0.001, ft: 0.3048, "'": 0.3048, "′": 0.3048, in: 0.0254, '"': 0.0254, "″": 0.0254 };

/** Metres of a length of the file; null where it is none. */
export function metres(value: unknown): number | null {
  if (typeof value === "number") return value;
  if (typeof value !== "string") return null;
  const sign = value.trim().startsWith("-") ? -1 : 1;
  const parts = [...value.matchAll(/(\d+(?:\.\d+)?)(?:\s*\/\s*(\d+))?\s*(mm|cm|m|ft|in|['"′″])?/g)];
  if (!parts.length) return null;
  return sign * parts.reduce((sum, [, top, bottom, unit]) => sum + (Number(top) / Number(bottom ?? 1)) * (METRES[unit ?? "m"] ?? 1), 0);
}

/** A point of the file; null for a name or nothing. */
export function point(value: unknown): Triple | null {
  if (!Array.isArray(value) || value.length < 2) return null;
  const [x, y, z] = [metres(value[0]), metres(value[1]), value.length > 2 ? metres(value[2]) : 0];
  return x === null || y === null || z === null ? null : [x, y, z];
}
