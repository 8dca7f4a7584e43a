/** Panels that lights are bounced off, where the file gives them a place of their own. */
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
  return list(table?.["lights"]).flatMap((light, index): Panel[] => {
    const bounce = light["bounce"] as Table | undefined;
    const at = point(bounce?.["at"]) ?? point(light["aim"]);
    const size = kit.find((m) => m["id"] === bounce?.["panel"])?.["size"];
    const from = shot.lights.find((l) => l.index === index);
    if (!bounce?.["panel"] || !at || !from) return [];
    const to = bounce["to"];
    const lit = point(to) ?? targets(drawn).find((t) => t.name === (to ?? from.target?.who ?? shot.focus_on))?.at ?? from.aim;
    const [width, height] = Array.isArray(size) ? [metres(size[0]) ?? 1, metres(size[1]) ?? 1] : [metres(size) ?? 1, metres(size) ?? 1];
    return [{ name: `${String(bounce["panel"])} ${index}`, at, size: [width, height], axis: unit(add(unit(subtract(from.at, at)), unit(subtract(lit, at)))) }];
  });
}
