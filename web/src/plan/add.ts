/** What can be added to the shoot, with values that stand on their own until they are changed. */
import type { Edit, Pair, Triple } from "../api/types";
import type { Selection } from "../app/state.svelte";
import { MESHES } from "../form/files";
import { moved, spelledAll } from "./lengths";
import { namesOf, pathOf, valueAt, type Source } from "./things";

export interface Made {
  words: string;
  edits: Edit[];
  selection: Selection;
}
export interface Addition {
  name: string;
  heading?: string;
  /** Endings of the file that it is made from, which lies in the shoot's folder by then. */
  file?: string;
  make: (source: Source, middle: Pair, chosen: Selection | null, file: string) => Made;
}

type Table = Record<string, unknown>;
const list = (value: unknown): Table[] => (Array.isArray(value) ? (value as Table[]) : []);
const kitOf = (source: Source, part: string) => list((source.file["kit"] as Table | undefined)?.[part]);

/** A name that nothing has yet: "Crate", then "Crate 2". */
export function fresh(word: string, taken: readonly string[]): string {
  for (let count = 1; ; count += 1) {
    const name = count === 1 ? word : `${word} ${count}`;
    if (!taken.includes(name)) return name;
  }
}

/** Lengths of something new, in the units that the shoot is in. */
const put = (source: Source, lengths: readonly number[]) => spelledAll(lengths, undefined, source.drawn.imperial);

/** Sizes that nobody has stated yet, in round figures of those units. */
const round = (source: Source, lengths: readonly number[]) => put(source, source.drawn.imperial ? lengths.map((length) => Math.max(1, Math.round(length / 0.1524)) * 0.1524) : lengths);

const everyone = (source: Source) => [...source.drawn.people, ...source.drawn.marks].map((thing) => thing.name);

function person(source: Source, [x, y]: Pair): Made {
  const name = fresh("Person", everyone(source));
  return { words: name, selection: { kind: "person", name }, edits: [{ op: "add", path: ["people"], value: { name, at: put(source, [x, y]) } }] };
}

function mark(source: Source, [x, y]: Pair): Made {
  const name = fresh("Mark", everyone(source));
  return { words: name, selection: { kind: "mark", name }, edits: [{ op: "add", path: ["marks"], value: { name, at: put(source, [x, y, 1]) } }] };
}

function room(source: Source): Made {
  const rooms = source.drawn.place.rooms;
  const name = fresh("room", rooms.map((r) => r.name));
  const right = rooms.length ? Math.max(...rooms.map((r) => r.at[0] + r.size[0] + r.thickness)) + 0.5 : 0;
  return { words: name, selection: { kind: "room", name }, edits: [{ op: "add", path: ["place", "rooms"], value: { name, at: put(source, [right, 0]), size: round(source, [6, 4, 2.6]) } }] };
}

function opening(source: Source, _middle: Pair, chosen: Selection | null): Made {
  const rooms = source.drawn.place.rooms;
  const host = rooms.findIndex((r) => chosen?.kind === "room" && r.name === chosen.name);
  const index = Math.max(0, host);
  const name = fresh("window", rooms.flatMap((r) => r.openings.map((o) => o.name)));
  const wide = Math.min(1.2, (rooms[index]?.size[0] ?? 4) / 2);
  const value = { name, wall: "near", kind: "window", at: round(source, [((rooms[index]?.size[0] ?? 4) - wide) / 2, 0.9]), size: round(source, [wide, 1.2]), glass: 0.85 };
  const edits: Edit[] = rooms.length ? [] : room(source).edits;
  return { words: name, selection: { kind: "opening", name }, edits: [...edits, { op: "add", path: ["place", "rooms", index, "openings"], value }] };
}

function block(source: Source, [x, y]: Pair): Made {
  const name = fresh("crate", source.drawn.place.blocks.map((b) => b.name));
  return { words: name, selection: { kind: "block", name }, edits: [{ op: "add", path: ["place", "blocks"], value: { name, kind: "crate", at: put(source, [x, y]), size: round(source, [0.8, 0.5, 0.4]) } }] };
}

function mesh(source: Source, [x, y]: Pair, _chosen: Selection | null, file: string): Made {
  const stem = file.replace(/^.*\//, "").replace(/\.[^.]*$/, "");
  const name = fresh(stem, [...source.drawn.place.meshes, ...source.drawn.place.blocks].map((thing) => thing.name));
  return { words: name, selection: { kind: "mesh", name }, edits: [{ op: "add", path: ["place", "meshes"], value: { name, file, at: put(source, [x, y, 0]) } }] };
}

function light(source: Source): Made {
  const shot = source.shot;
  const strobe = kitOf(source, "strobes")[0]?.["id"];
  const edits: Edit[] = strobe ? [] : [{ op: "add", path: ["kit", "strobes"], value: HEAD }];
  const id = String(strobe ?? HEAD.id);
  const [from, to] = shot ? [shot.camera.at, shot.camera.aim] : [[0, 0, 1.5] as Triple, [0, 2, 1.5] as Triple];
  const way: Pair = [to[0] - from[0], to[1] - from[1]];
  const far = Math.hypot(...way) || 1;
  // beside the one looked at, on the camera's right and nearer: where a key is first put down
  const at = put(source, [to[0] - way[0] * 0.35 + (way[1] / far) * 1.2, to[1] - way[1] * 0.35 - (way[0] / far) * 1.2, 2]);
  const who = shot?.sharp[0] ?? source.drawn.people[0]?.name;
  const value = { strobe: id, at, ...(who ? { aim: who, target: { who, stops: 0 } } : { aim: put(source, to), power: 0.5 }) };
  return { words: `a light, ${id}`, selection: { kind: "light", name: lightNamed(source, value, (shot?.lights ?? []).length) }, edits: [...edits, { op: "add", path: [...source.shotPath, "lights"], value }] };
}

function shot(source: Source, middle: Pair): Made {
  const id = fresh("shot", source.drawn.shots.map((s) => s.id));
  const now = source.shot;
  const edits: Edit[] = kitOf(source, "lenses").length ? [] : [{ op: "add", path: ["kit", "lenses"], value: LENS }];
  const lens = String(kitOf(source, "lenses")[0]?.["id"] ?? LENS.id);
  const body = kitOf(source, "bodies")[0]?.["id"];
  const camera = now ? { at: put(source, now.camera.at), aim: put(source, now.camera.aim) } : { at: put(source, [middle[0], middle[1] - 2, 1.5]), aim: put(source, [middle[0], middle[1], 1.4]) };
  const value = { id, ...(now ? { when: now.when.slice(0, 19) } : {}), ...(body ? { body } : {}), lens: now?.lens ?? lens, sharp: source.drawn.people.slice(0, 1).map((p) => p.name), camera };
  return { words: id, selection: { kind: "shot", name: id }, edits: [...edits, { op: "add", path: ["shots"], value }] };
}

const LENS = { id: "90 mm moving", focal: 90, widest: 2.8, smallest: 22, movement: 8, shift: 11 };
const HEAD = { id: "head", energy: 400, range: 7, step: 0.1, efficacy: 35 };

const piece = (part: string, name: string, value: Table, heading?: string): Addition => ({
  name,
  ...(heading ? { heading } : {}),
  make: (source) => {
    const id = fresh(String(value["id"] ?? name.toLowerCase()), kitOf(source, part).map((p) => String(p["id"])));
    const size = value["size"];
    const own = { ...value, ...(Array.isArray(size) ? { size: round(source, size as number[]) } : {}), id };
    return { words: id, selection: { kind: "kit", name: `${part}/${id}` }, edits: [{ op: "add", path: ["kit", part], value: own }] };
  },
});

export const additions: readonly Addition[] = [
  { name: "Person", heading: "On the sheet", make: person },
  { name: "Mark", make: mark },
  { name: "Room", make: room },
  { name: "Opening", make: opening },
  { name: "Block", make: block },
  { name: "Mesh from a file", file: MESHES, make: mesh },
  { name: "Shot", heading: "Pictures", make: shot },
  { name: "Light", make: light },
  piece("bodies", "Body", { id: "body", film: [36, 24] }, "Into the kit"),
  piece("lenses", "Lens", LENS),
  piece("strobes", "Head", HEAD),
  piece("lamps", "Lamp", { id: "lamp", lumens: 10000 }),
  piece("modifiers", "Modifier", { id: "front", kind: "front", size: [0.6, 0.9], transmission: 0.5 }),
  piece("gels", "Gel", { id: "half CTO", mired: 92, transmission: 0.71 }),
  piece("filters", "Filter", { id: "ND 3", stops: 3 }),
  piece("power", "Power", { id: "socket", kind: "mains", watts: 2300 }),
  piece("haze", "Haze", { id: "haze machine", fluid: "glycol" }),
];

/** The same thing once more, half a metre to the right, after it in the file; null for what there is one of. */
export function again(source: Source, thing: Selection): Made | null {
  const path = pathOf(source, thing);
  const value = path && thing.kind !== "camera" && thing.kind !== "place" ? valueAt(source.file, path) : undefined;
  if (!path || !value || typeof value !== "object") return null;
  const copy = structuredClone(value) as Table;
  const stem = thing.name.replace(/^[a-z]+\//, "").replace(/ \d+$/, "");
  const name = fresh(stem, namesOf(source, thing));
  if (thing.kind !== "light") copy[thing.kind === "shot" || thing.kind === "kit" ? "id" : "name"] = name;
  if (Array.isArray(copy["at"]) && thing.kind !== "opening") copy["at"] = moved(copy["at"], [0.5, 0, 0]);
  const list = path.slice(0, -1);
  const at = (valueAt(source.file, list) as unknown[]).indexOf(value) + 1;
  const selected = { light: lightNamed(source, copy, at), kit: `${thing.name.split("/")[0]}/${name}` }[thing.kind as string] ?? name;
  return { words: `${name} after ${stem}`, selection: { kind: thing.kind, name: selected }, edits: [{ op: "add", path: list, value: copy, at }] };
}

/** What a light is called that stands at a place of its shot's list: its head, numbered from the second use on. */
function lightNamed(source: Source, value: Table, at: number): string {
  const id = String(value["strobe"] ?? value["lamp"]);
  const before = (source.shot?.lights ?? []).filter((light) => light.index < at && light.strobe === id).length;
  return before ? `${id} ${before + 1}` : id;
}
