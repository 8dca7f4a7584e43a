/** Who shall be sharp or soft as the file has it: names, or tables that say which part and how soft at the least. */
import type { Edit, Step, Wanted } from "../api/types";

/** What the file says of one of them: a name, or `{ who, part, least }`. */
export type Entry = string | Record<string, unknown>;

export const entriesOf = (value: unknown): Entry[] => (value === undefined || value === null ? [] : Array.isArray(value) ? (value as Entry[]) : [value as Entry]);

export const whoOf = (entry: Entry): string => (typeof entry === "object" ? String(entry["who"] ?? "") : String(entry));

/** What is asked of somebody beyond the name. */
export interface Asked {
  part?: string;
  least?: number;
}

export function askedIn(value: unknown, name: string): Asked {
  const entry = entriesOf(value).find((one) => whoOf(one) === name);
  if (typeof entry !== "object") return {};
  const least = Number(entry["least"] ?? 0);
  return { ...(typeof entry["part"] === "string" ? { part: entry["part"] } : {}), ...(least > 0 ? { least } : {}) };
}

/** As the file has it: a name where that is all. */
const entry = (who: string, asked: Asked): Entry => (asked.part === undefined && asked.least === undefined ? who : { who, ...asked });

/** The list with something else asked of one of them. */
export const asking = (value: unknown, name: string, asked: Asked): Entry[] => entriesOf(value).map((one) => (whoOf(one) === name ? entry(name, asked) : one));

/** The list without somebody; what it says of the others stays as it is written. */
export const without = (value: unknown, name: string): Entry[] => entriesOf(value).filter((one) => whoOf(one) !== name);

/** What was asked of people when they left a list, for as long as the page is open: it is asked again when they come back. */
const left = new Map<string, Asked>();

/**
 * The edits that make somebody wanted sharp, soft or neither, of a shot's table in the file. The part that counts goes
 * along; a least blur is asked of the soft alone, and waits for them to come back.
 */
export function wantEdits(shot: Record<string, unknown>, path: readonly Step[], name: string, wanted: Wanted): Edit[] {
  const place = (key: string) => JSON.stringify([path, key, name]);
  const listed = (["sharp", "soft"] as const).find((key) => entriesOf(shot[key]).some((one) => whoOf(one) === name));
  const had = listed ? askedIn(shot[listed], name) : {};
  if (listed && wanted !== listed) left.set(place(listed), had);
  return (["sharp", "soft"] as const).flatMap((key): Edit[] => {
    const before = entriesOf(shot[key]);
    const then = left.get(place(key)) ?? {};
    const part = had.part ?? (listed ? undefined : then.part);
    const asked = { ...(part === undefined ? {} : { part }), ...(key === "soft" && then.least ? { least: then.least } : {}) };
    const there = before.some((one) => whoOf(one) === name);
    if (there === (key === wanted)) return [];
    // added, not set, so that two touches in quick succession both count
    return [there ? { op: "set", path: [...path, key], value: without(before, name) } : { op: "add", path: [...path, key], value: entry(name, asked) }];
  });
}

export const PARTS: readonly [string, string][] = [["eyes", "eyes"], ["face", "whole face"], ["figure", "whole figure"]];

/** What is asked beyond a name, in words: "whole face, blur at least 120 µm"; "" where a name is all. */
export function askedOf(value: unknown, name: string): string {
  const { part, least } = askedIn(value, name);
  const words = part === "eyes" ? undefined : PARTS.find(([key]) => key === part)?.[1];
  return [words, least ? `blur at least ${least} µm` : undefined].filter(Boolean).join(", ");
}
