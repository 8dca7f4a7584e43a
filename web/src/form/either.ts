/** Keys that exclude each other: to write one is to leave the others out, in the same edit. */
import type { Edit, Step } from "../api/types";

/** For each table the ways to say the same thing; a way may have more than one key. */
const EITHER: Record<string, readonly (readonly (readonly string[])[])[]> = {
  LightTable: [[["strobe"], ["lamp"]], [["power"], ["target"]]],
  BounceTable: [[["surface"], ["panel"]]],
  MovementTable: [[["swing", "tilt"], ["movement", "rotation"]]],
  OpeningTable: [[["at"], ["along", "sill"]], [["size"], ["width", "height"]]],
  StrobeTable: [[["guide_number", "guide_modifier"], ["efficacy"], ["reading"]]],
  LampTable: [[["lumens"], ["reading"]]],
  MeterReading: [[["lux_seconds"], ["aperture"]]],
  ReadingTable: [[["stops"], ["lux"], ["lux_seconds"]]],
  WishTable: [[["stops"], ["at_most"], ["at_least"]]],
};

type Table = Record<string, unknown>;

/** The edits that leave out what a key excludes; a pair [along, sill] or [width, height] that is taken apart keeps its other half. */
export function instead(table: string, path: readonly Step[], key: string, here: Table): Edit[] {
  const group = (EITHER[table] ?? []).find((ways) => ways.some((way) => way.includes(key)));
  const way = group?.find((keys) => keys.includes(key)) ?? [];
  const out = (group ?? []).filter((keys) => keys !== way).flat().filter((other) => here[other] !== undefined);
  const kept = out.flatMap((other): Edit[] => {
    const pair = here[other];
    if (!Array.isArray(pair) || pair.length !== way.length) return [];
    return way.flatMap((own, at): Edit[] => (own === key || here[own] !== undefined ? [] : [{ op: "set", path: [...path, own], value: pair[at] }]));
  });
  // set to nothing rather than removed: it may be gone already, when keys are written faster than they are saved
  return [...out.map((other): Edit => ({ op: "set", path: [...path, other], value: null })), ...kept];
}
