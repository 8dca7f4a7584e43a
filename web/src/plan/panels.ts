/** Panels and scrims that stand in the shot: those that lights are bounced off, and sheets with a place of their own. */
import type { Drawn, DrawnShot, Triple } from "../api/types";
import { add, subtract, unit } from "./geometry";
import { metres, point } from "./lengths";
import { targets } from "./things";

export interface Panel {
  name: string;
  at: Triple;
  axis: Triple;
  size: [number, number];
}

type Table = Record<string, unknown>;
const list = (value: unknown): Table[] => (Array.isArray(value) ? (value as Table[]) : []);

/** A panel stands as a mirror would: half way between the ways to its light and to whom it lights. */
export function panelsOf(file: Table, drawn: Drawn, shot: DrawnShot): Panel[] {
  const table = list(file["shots"])[drawn.shots.findIndex((s) => s.id === shot.id)];
  const kit = list((file["kit"] as Table | undefined)?.["modifiers"]);
  const sizeOf = (value: unknown): [number, number] =>
    Array.isArray(value) ? [metres(value[0]) ?? 1, metres(value[1]) ?? 1] : [metres(value) ?? 1, metres(value) ?? 1];
  const sheets = list(table?.["sheets"]).flatMap((sheet, index): Panel[] => {
    const at = point(sheet["at"]);
    const first = Array.isArray(sheet["of"]) ? (sheet["of"] as unknown[])[0] : sheet["of"];
    const to = point(sheet["to"]) ?? targets(drawn).find((t) => t.name === (sheet["to"] ?? shot.focus_on))?.at;
    if (!at || !to) return [];
    return [{ name: `${String(first)} sheet ${index}`, at, axis: unit(subtract(to, at)), size: sizeOf(sheet["size"] ?? kit.find((m) => m["id"] === first)?.["size"]) }];
  });
  const bounced = list(table?.["lights"]).flatMap((light, index): Panel[] => {
    const bounce = light["bounce"] as Table | undefined;
    const at = point(bounce?.["at"]) ?? point(light["aim"]);
    const size = kit.find((m) => m["id"] === bounce?.["panel"])?.["size"];
    const from = shot.lights.find((l) => l.index === index);
    if (!bounce?.["panel"] || !at || !from) return [];
    const to = bounce["to"];
    const lit = point(to) ?? targets(drawn).find((t) => t.name === (to ?? from.target?.who ?? shot.focus_on))?.at ?? from.aim;
    return [{ name: `${String(bounce["panel"])} ${index}`, at, size: sizeOf(size), axis: unit(add(unit(subtract(from.at, at)), unit(subtract(lit, at)))) }];
  });
  return [...bounced, ...sheets];
}
