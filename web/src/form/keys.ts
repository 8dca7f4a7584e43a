/** The keys of the shoot file with their meanings: made from the models by tools/make_desk_keys.py. */
import page from "./keys.json";

export type FieldKind = "table" | "tables" | "choice" | "flag" | "names" | "ids" | "finish" | "text" | "aim" | "list" | "name" | "value" | "word";

export interface Key {
  means: string;
  unit: string;
  usual: string;
  kind: FieldKind;
  table?: string;
  choices?: string[];
}

const tables = page.tables as Record<string, Record<string, Key>>;

export const keysOf = (table: string): [string, Key][] => Object.entries(tables[table] ?? {});
export const finishes: readonly string[] = page.words.finish;

/** The table behind each kind of thing, and what has a form of its own elsewhere. */
export const TABLES = {
  person: "PersonTable", mark: "MarkTable", block: "BlockTable", mesh: "MeshTable", room: "RoomTable", opening: "OpeningTable",
  camera: "CameraTable", light: "LightTable", shot: "ShotTable", place: "ShootFile",
} as const;

export const KIT = {
  bodies: "BodyTable", lenses: "LensTable", strobes: "StrobeTable", lamps: "LampTable", modifiers: "ModifierTable", gels: "GelTable",
  filters: "FilterTable", power: "PowerTable", haze: "HazeTable",
} as const;

/** The key under which a table that was written as one value goes on, as in `finish = "lime wash"`. */
export const IN_SHORT: Record<string, string> = { FinishTable: "all", BounceTable: "surface" };

/** Lists whose items are things on the plan and have their own forms. */
export const ELSEWHERE = new Set(["lights", "openings", "rooms", "blocks", "meshes", "people", "marks", "shots", "kit", "sidelong"]);

/** What a person typed as the file's value: a number, true or false, a list in brackets or with commas, else words; null: left out. */
export function typed(text: string, key: Key): unknown {
  const bare = text.trim();
  if (bare === "") return null;
  if (key.kind === "name" || key.kind === "text" || key.kind === "word") return bare;
  if (bare.startsWith("[") && bare.endsWith("]") && key.kind !== "aim" && parted(bare).length === 1) return listed(bare);
  if ((key.kind === "list" || key.kind === "aim") && bare.includes(",")) return listed(parted(bare).length === 1 && bare.startsWith("[") ? bare : `[${bare}]`);
  return one(bare);
}

/** Parts between the commas that stand in no bracket. */
function parted(text: string): string[] {
  const parts = [""];
  let depth = 0;
  for (const letter of text) {
    depth += letter === "[" ? 1 : letter === "]" ? -1 : 0;
    if (letter === "," && depth === 0) parts.push("");
    else parts[parts.length - 1] += letter;
  }
  return parts.map((part) => part.trim()).filter((part, at) => part !== "" || at < parts.length - 1);
}

const listed = (text: string): unknown[] => parted(text.replace(/^\[|\]$/g, "")).map((part) => (/^\[.*\]$/.test(part) ? listed(part) : one(part)));

function one(text: string): unknown {
  if (text === "true" || text === "false") return text === "true";
  return /^[-−+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(text) ? Number(text.replace("−", "-")) : text.replace(/^(["'])(.*)\1$/, "$2");
}

/** The file's value as it is typed. */
export function written(value: unknown): string {
  if (value === undefined || value === null) return "";
  if (Array.isArray(value)) return value.map((item) => (Array.isArray(item) ? `[${written(item)}]` : written(item))).join(", ");
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}

/** Words in quotes in the sentence under a key: what one may well write there. */
export const suggested = (key: Key): string[] => [...key.means.matchAll(/"([^"]+)"/g)].map((found) => found[1]!);
