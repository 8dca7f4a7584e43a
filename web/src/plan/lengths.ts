/** Lengths as they may stand in the file: metres, or words such as "8 ft 2 in" and "90 mm"; read, and written again as they were. */
import type { Triple } from "../api/types";
import { mm } from "./geometry";

const INCH = 0.0254;
const METRES: Record<string, number> = { m: 1, cm: 0.01, mm: 0.001, ft: 12 * INCH, "'": 12 * INCH, "′": 12 * INCH, in: INCH, '"': INCH, "″": INCH };

/** Metres of a length of the file; null where it is none. */
export function metres(value: unknown): number | null {
  if (typeof value === "number") return value;
  if (typeof value !== "string") return null;
  const sign = value.trim().startsWith("-") ? -1 : 1;
  const parts = [...value.matchAll(/(\d+(?:\.\d+)?)(?:\s+(\d+)\s*\/\s*(\d+)|\s*\/\s*(\d+))?\s*(mm|cm|m|ft|in|['"′″])?/g)];
  if (!parts.length) return null;
  return sign * parts.reduce((sum, [, whole, top, bottom, under, unit]) => {
    const number = under ? Number(whole) / Number(under) : Number(whole) + (top ? Number(top) / Number(bottom) : 0);
    return sum + number * (METRES[unit ?? "m"] ?? 1);
  }, 0);
}

/** A point of the file; null for a name or nothing. */
export function point(value: unknown): Triple | null {
  if (!Array.isArray(value) || value.length < 2) return null;
  const [x, y, z] = [metres(value[0]), metres(value[1]), value.length > 2 ? metres(value[2]) : 0];
  return x === null || y === null || z === null ? null : [x, y, z];
}

/** Feet and inches as the file takes them, to a sixteenth of an inch: "8 ft 2 1/2 in"; with marks where those are used. */
function feet(length: number, marks: boolean, inchesOnly = false): string {
  const all = Math.round((Math.abs(length) / INCH) * 16);
  const whole = inchesOnly ? 0 : Math.floor(all / 192);
  const inches = Math.floor((all - whole * 192) / 16);
  const part = fraction((all - whole * 192) % 16);
  const small = [inches || !part ? String(inches) : "", part].filter(Boolean).join(" ");
  const words = [whole ? `${whole}${marks ? "'" : " ft"}` : "", whole && small === "0" ? "" : `${small}${marks ? '"' : " in"}`];
  return (length < 0 && all ? "-" : "") + words.filter(Boolean).join(" ");
}

function fraction(sixteenths: number): string {
  let [top, bottom] = [sixteenths, 16];
  for (; top && top % 2 === 0; top /= 2) bottom /= 2;
  return top ? `${top}/${bottom}` : "";
}

/** A length in the unit and spelling that a length of the file has; in metres to a millimetre where that is a number. */
export function spelled(length: number, like: unknown): number | string {
  const before = metres(like);
  if (before !== null && Math.abs(before - length) < 5e-4) return like as number | string;
  const unit = typeof like === "string" ? /mm|cm|m|ft|in|['"′″]/.exec(like)?.[0] : undefined;
  switch (unit) {
    case "mm": return `${Math.round(length * 1e3)} mm`;
    case "cm": return `${Math.round(length * 1e3) / 10} cm`;
    case "m": return `${mm(length)} m`;
    case "ft": return feet(length, false);
    case "in": return feet(length, false, true);
    case "'": case "′": return feet(length, true);
    case '"': case "″": return feet(length, true, true);
    default: return mm(length);
  }
}

/**
 * A point or size as the file has it. Each number is written as the one that it replaces; one that is new, or that was
 * a plain number among words, as its neighbours; where nothing stood before, as the shoot's `units` say.
 */
export function spelledAll(lengths: readonly number[], before: unknown, imperial: boolean): (number | string)[] {
  const had = Array.isArray(before) ? (before as unknown[]) : [];
  const words = had.find((item) => typeof item === "string" && metres(item) !== null);
  const usual = words ?? (had.length || !imperial ? 0 : "1 ft");
  return lengths.map((length, at) => {
    const own = had[at];
    const now = metres(own);
    if (now !== null && Math.abs(now - length) < 5e-4) return own as number | string;
    // nought is nought in every unit, and is not turned into words for it
    return typeof own === "string" ? spelled(length, own) : mm(length) === 0 ? 0 : spelled(length, usual === 0 ? null : usual);
  });
}

/** A point of the file moved by metres, spelled as it was. */
export function moved(value: readonly unknown[], by: Triple): unknown[] {
  const from = value.map(metres);
  if (from.some((length) => length === null)) return [...value];
  return spelledAll(from.map((length, axis) => length! + (by[axis] ?? 0)), value, false);
}
