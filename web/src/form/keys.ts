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

/** Lists whose items are things on the plan and have their own forms. */
export const ELSEWHERE = new Set(["lights", "openings", "rooms", "blocks", "meshes", "people", "marks", "shots", "readings", "kit", "sidelong"]);

/** What a person typed as the file's value: a number, a list in brackets or with commas, else words; null: left out. */
export function typed(text: string, key: Key): unknown {
  const bare = text.trim();
  if (bare === "") return null;
  const listed = bare.replace(/^\[|\]$/g, "");
  if ((key.kind === "list" || key.kind === "aim") && listed.includes(",")) return listed.split(",").map((part) => one(part.trim()));
  if (key.kind === "name" || key.kind === "text" || key.kind === "word") return bare;
  return one(bare);
}

const one = (text: string): unknown => (/^[-−+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(text) ? Number(text.replace("−", "-")) : text);

/** The file's value as it is typed. */
export function written(value: unknown): string {
  if (value === undefined || value === null) return "";
  if (Array.isArray(value)) return value.map(written).join(", ");
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}

/** Words in quotes in the sentence under a key: what one may well write there. */
export const suggested = (key: Key): string[] => [...key.means.matchAll(/"([^"]+)"/g)].map((found) => found[1]!);
