/** Everything that can be taken hold of, where it is, and the edits that move, turn and remove it. */
import type { DrawnLight, Drawn, DrawnShot, Edit, Pair, Step, Triple } from "../api/types";
import type { Kind, Selection } from "../app/state.svelte";
import { point, spelled, spelledAll } from "./lengths";

type Table = Record<string, unknown>;
const list = (value: unknown): Table[] => (Array.isArray(value) ? (value as Table[]) : []);
const table = (value: unknown): Table => (value && typeof value === "object" ? (value as Table) : {});

export const keyOf = (kind: Kind, name: string) => `${kind}:${name}`;

/** What the file says, and where the chosen shot stands in it. */
export interface Source {
  file: Table;
  drawn: Drawn;
  shot: DrawnShot | null;
  shotPath: Step[];
}

/** The path of a named item of a list: by its name where the file states it, else by its position; null where it has none. */
function itemPath(where: Step[], tables: Table[], index: number, key = "name"): Step[] | null {
  if (index < 0) return null;
  const name = tables[index]?.[key];
  return typeof name === "string" && name ? [...where, { is: name }] : [...where, index];
}

/** Path of the table that stands behind something drawn; null if it is not in the file. */
export function pathOf({ file, drawn, shot, shotPath }: Source, { kind, name }: Selection): Step[] | null {
  const place = table(file["place"]);
  const shotTable = list(file["shots"])[drawn.shots.findIndex((s) => s.id === shot?.id)] ?? {};
  const at = <T extends { name: string }>(things: readonly T[]) => things.findIndex((thing) => thing.name === name);
  switch (kind) {
    case "person": return itemPath(["people"], list(file["people"]), at(drawn.people));
    case "mark": return itemPath(["marks"], list(file["marks"]), at(drawn.marks));
    case "block": return itemPath(["place", "blocks"], list(place["blocks"]), at(drawn.place.blocks));
    case "mesh": return itemPath(["place", "meshes"], list(place["meshes"]), at(drawn.place.meshes));
    case "room": return itemPath(["place", "rooms"], list(place["rooms"]), at(drawn.place.rooms));
    case "opening": {
      const room = drawn.place.rooms.findIndex((r) => at(r.openings) >= 0);
      if (room < 0) return null;
      const rooms = list(place["rooms"]);
      const own = itemPath(["place", "rooms"], rooms, room);
      return own && itemPath([...own, "openings"], list(rooms[room]?.["openings"]), at(drawn.place.rooms[room]!.openings));
    }
    case "camera": return [...shotPath, "camera"];
    case "light": return lightPath(shotPath, list(shotTable["lights"]), shot?.lights.find((l) => l.name === name));
    case "shot": return itemPath(["shots"], list(file["shots"]), drawn.shots.findIndex((s) => s.id === name), "id");
    case "place": return [];
    case "kit": {
      const [part = "", ...id] = name.split("/");
      return ["kit", part, { is: id.join("/") }];
    }
  }
}

const lightPath = (shotPath: Step[], lights: Table[], light: DrawnLight | undefined): Step[] | null =>
  light && light.index < lights.length ? [...shotPath, "lights", light.index] : null;

/** Names that things of the same kind have; those of people and marks are shared. */
export function namesOf({ file, drawn, shot }: Source, { kind, name }: Selection): string[] {
  switch (kind) {
    case "person":
    case "mark": return [...drawn.people, ...drawn.marks].map((thing) => thing.name);
    case "block": return drawn.place.blocks.map((thing) => thing.name);
    case "mesh": return drawn.place.meshes.map((thing) => thing.name);
    case "room": return drawn.place.rooms.map((thing) => thing.name);
    case "opening": return drawn.place.rooms.flatMap((room) => room.openings.map((thing) => thing.name));
    case "light": return (shot?.lights ?? []).map((thing) => thing.name);
    case "shot": return drawn.shots.map((thing) => thing.id);
    case "kit": return list(table(file["kit"])[name.split("/")[0] ?? ""]).map((piece) => String(piece["id"] ?? ""));
    default: return [];
  }
}

/** What the thing at a place of its list is called, as it is drawn; null where things of its kind are found otherwise. */
export function nameAt({ drawn, shot }: Source, kind: Kind, at: number): string | null {
  const named: Partial<Record<Kind, readonly { name: string }[]>> = {
    light: shot?.lights ?? [], block: drawn.place.blocks, mesh: drawn.place.meshes, room: drawn.place.rooms,
    shot: drawn.shots.map((one) => ({ name: one.id })),
  };
  return named[kind]?.[at]?.name ?? null;
}

/** Where a thing stands among its like, in the order of the file, and among how many; null where there is one only. */
export function orderOf(source: Source, thing: Selection): { path: Step[]; at: number; of: number } | null {
  const path = thing.kind === "camera" || thing.kind === "place" ? null : pathOf(source, thing);
  if (!path) return null;
  const items = list(valueAt(source.file, path.slice(0, -1)));
  const at = items.indexOf(valueAt(source.file, path) as Table);
  return at < 0 || items.length < 2 ? null : { path, at, of: items.length };
}

/** The value at a path of the file; undefined if there is none. */
export function valueAt(file: Table, path: readonly Step[]): unknown {
  return path.reduce<unknown>((here, step) => {
    if (typeof step === "object") return list(here).find((item) => item["name"] === step.is || String(item["id"]) === step.is);
    return (here as Record<string | number, unknown> | undefined)?.[step];
  }, file);
}

/** The edits that put something at a point. */
export function moveEdits(source: Source, thing: Selection, at: Triple): Edit[] {
  const path = pathOf(source, thing);
  if (!path) return [];
  if (thing.kind === "opening") return slideEdits(source, thing, path, at);
  const now = valueAt(source.file, [...path, "at"]);
  const flat = Array.isArray(now) ? now.length === 2 && Math.abs(at[2]) < 5e-4 : Math.abs(at[2]) < 5e-4 && thing.kind !== "camera";
  return [{ op: "set", path: [...path, "at"], value: spelledAll(flat ? at.slice(0, 2) : at, now, source.drawn.imperial) }];
}

/** An opening slides along its wall: `at` is the new middle of its sill. */
function slideEdits({ file, drawn }: Source, { name }: Selection, path: Step[], at: Triple): Edit[] {
  const room = drawn.place.rooms.find((r) => r.openings.some((o) => o.name === name));
  const opening = room?.openings.find((o) => o.name === name);
  if (!room || !opening) return [];
  const level = opening.wall === "floor" || opening.wall === "ceiling";
  const first = opening.wall === "left" || opening.wall === "right" ? 1 : 0;
  const second = level ? 1 : 2;
  const span = (axis: 0 | 1 | 2) => opening.corners.map((c) => c[axis]!);
  const half = (axis: 0 | 1 | 2) => (Math.max(...span(axis)) - Math.min(...span(axis))) / 2;
  const along = Math.max(0, Math.min(room.size[first] - 2 * half(first), at[first] - room.at[first] - half(first)));
  const low = level ? half(second) : 0;
  const sill = Math.max(0, Math.min(room.size[second] - 2 * half(second), at[second] - room.at[second] - low));
  const pair = valueAt(file, [...path, "at"]);
  if (pair !== undefined) return [{ op: "set", path: [...path, "at"], value: spelledAll([along, sill], pair, drawn.imperial) }];
  const as = (key: string, length: number) => spelled(length, valueAt(file, [...path, key]) ?? valueAt(file, [...path, "along"]));
  const edits: Edit[] = [{ op: "set", path: [...path, "along"], value: as("along", along) }];
  const before = Math.min(...span(second)) - room.at[second];
  if (Math.abs(before - sill) > 5e-4) edits.push({ op: "set", path: [...path, "sill"], value: as("sill", sill) });
  return edits;
}

/** The edit that aims a camera or light, or turns a face, at a point or at somebody. */
export function aimEdits(source: Source, thing: Selection, aim: Triple | string): Edit[] {
  const path = pathOf(source, thing);
  if (!path) return [];
  const key = thing.kind === "person" ? "facing" : "aim";
  return [{ op: "set", path: [...path, key], value: typeof aim === "string" ? aim : spelledAll(aim, valueAt(source.file, [...path, key]), source.drawn.imperial) }];
}

/** The edit that turns a person to a bearing of the plan, or a block by an angle. [degrees] */
export function turnEdits(source: Source, thing: Selection, degrees: number): Edit[] {
  const path = pathOf(source, thing);
  if (!path) return [];
  if (thing.kind === "person") {
    const north = source.drawn.place.north_deg;
    return [{ op: "set", path: [...path, "facing"], value: Math.round((((degrees + north) % 360) + 360) % 360 * 10) / 10 }];
  }
  return [{ op: "set", path: [...path, "turn"], value: Math.round(degrees * 10) / 10 }];
}

export function removeEdits(source: Source, thing: Selection): Edit[] {
  const path = pathOf(source, thing);
  return path && thing.kind !== "camera" && thing.kind !== "place" ? [{ op: "remove", path }] : [];
}

/** Where something stands: the point that is moved. */
export function atOf(source: Source, { kind, name }: Selection): Triple | null {
  const { drawn, shot } = source;
  const named = <T extends { name: string }>(things: readonly T[] | undefined) => things?.find((thing) => thing.name === name);
  switch (kind) {
    case "person": return named(drawn.people)?.at ?? null;
    case "mark": return named(drawn.marks)?.at ?? null;
    case "block": return named(drawn.place.blocks)?.at ?? null;
    case "mesh": return named(drawn.place.meshes)?.at ?? null;
    case "room": return named(drawn.place.rooms)?.at ?? null;
    case "camera": return shot?.camera.at ?? null;
    case "light": return named(shot?.lights)?.at ?? null;
    case "kit": return point(valueAt(source.file, [...(pathOf(source, { kind, name }) ?? []), "at"]));
    case "opening": {
      const opening = drawn.place.rooms.flatMap((r) => r.openings).find((o) => o.name === name);
      return opening ? sillOf(opening.corners) : null;
    }
    default: return null;
  }
}

/** The middle of an opening, at its lowest. */
export function sillOf(corners: readonly Triple[]): Triple {
  const mean = (axis: 0 | 1) => corners.reduce((sum, c) => sum + c[axis], 0) / corners.length;
  return [mean(0), mean(1), Math.min(...corners.map((c) => c[2]))];
}

/** Points that can be aimed at: people's eyes and marks. */
export const targets = (drawn: Drawn): { name: string; at: Triple }[] => [
  ...drawn.people.map((p) => ({ name: p.name, at: p.eyes })),
  ...drawn.marks.map((m) => ({ name: m.name, at: m.at })),
];

/** Lines along which things like to stand: middles of people, blocks, lights; faces of walls. [m on the plan] */
export function lines(drawn: Drawn, shot: DrawnShot | null, without: string): { x: number[]; y: number[] } {
  const points: Pair[] = [
    ...drawn.people.filter((p) => keyOf("person", p.name) !== without).map((p): Pair => [p.at[0], p.at[1]]),
    ...drawn.marks.filter((m) => keyOf("mark", m.name) !== without).map((m): Pair => [m.at[0], m.at[1]]),
    ...(shot?.lights ?? []).filter((l) => keyOf("light", l.name) !== without).map((l): Pair => [l.at[0], l.at[1]]),
    ...(shot && without !== keyOf("camera", "camera") ? [[shot.camera.at[0], shot.camera.at[1]] as Pair] : []),
    ...drawn.place.rooms.flatMap((r): Pair[] => [[r.at[0], r.at[1]], [r.at[0] + r.size[0], r.at[1] + r.size[1]]]),
  ];
  return { x: points.map((p) => p[0]), y: points.map((p) => p[1]) };
}

