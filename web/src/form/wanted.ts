/** Who shall be sharp or soft as the file has it: names, or tables that say which part and how soft at the least. */

/** What the file says of one of them: a name, or `{ who, part, least }`. */
export type Entry = string | Record<string, unknown>;

export const entriesOf = (value: unknown): Entry[] => (value === undefined || value === null ? [] : Array.isArray(value) ? (value as Entry[]) : [value as Entry]);

export const whoOf = (entry: Entry): string => (typeof entry === "object" ? String(entry["who"] ?? "") : String(entry));

/** The list with somebody in it or not; what it says of the others stays as it is written. */
export function withWho(value: unknown, name: string, wanted: boolean): Entry[] {
  const entries = entriesOf(value);
  if (!wanted) return entries.filter((entry) => whoOf(entry) !== name);
  return entries.some((entry) => whoOf(entry) === name) ? entries : [...entries, name];
}

const PART: Record<string, string> = { face: "whole face", figure: "whole figure" };

/** What is asked beyond a name, in words: "whole face, blur at least 120 µm"; "" where a name is all. */
export function askedOf(value: unknown, name: string): string {
  const entry = entriesOf(value).find((one) => whoOf(one) === name);
  if (typeof entry !== "object") return "";
  const least = Number(entry["least"] ?? 0);
  return [PART[String(entry["part"])], least > 0 ? `blur at least ${least} µm` : undefined].filter(Boolean).join(", ");
}
