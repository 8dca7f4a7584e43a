/** The upright section through the camera's view: where it cuts rooms, openings and blocks. */
import type { Drawn, DrawnRoom, Pair, Triple } from "../api/types";
import { clip, hull } from "./geometry";
import type { Box, Projection } from "./page.svelte";

export interface Cut {
  /** Wall, floor and ceiling as they are cut: polygons on the sheet. [m] */
  masonry: Pair[][];
  /** Gaps that openings leave in the cut walls. */
  gaps: Pair[][];
  /** Rooms as they are cut, inside. */
  rooms: Box[];
  /** Openings seen beyond, as outlines. */
  beyond: Pair[][];
}

/** The run of the section inside a box of the plan: [enter, leave] along the sheet; null if it passes by. */
function run({ origin, across }: Projection, box: [number, number, number, number]): [number, number] | null {
  const end = (s: number): Pair => [origin[0] + s * across[0], origin[1] + s * across[1]];
  const inside = clip(end(-200), end(200), box);
  if (!inside) return null;
  const s = (p: Pair) => (p[0] - origin[0]) * across[0] + (p[1] - origin[1]) * across[1];
  return [s(inside[0]), s(inside[1])];
}

const rectangle = (u0: number, v0: number, u1: number, v1: number): Pair[] => [[u0, v0], [u1, v0], [u1, v1], [u0, v1]];

export function section(drawn: Drawn, sheet: Projection): Cut {
  const cut: Cut = { masonry: [], gaps: [], rooms: [], beyond: [] };
  for (const room of drawn.place.rooms) {
    const inner = run(sheet, plan(room, 0));
    const outer = run(sheet, plan(room, room.thickness));
    if (!inner || !outer) continue;
    const [z0, z1] = [room.at[2], room.at[2] + room.size[2]];
    const t = room.thickness;
    cut.rooms.push([inner[0], z0, inner[1], z1]);
    cut.masonry.push(rectangle(outer[0], z0 - t, outer[1], z0), rectangle(outer[0], z1, outer[1], z1 + t));
    cut.masonry.push(rectangle(outer[0], z0, inner[0], z1), rectangle(inner[1], z0, outer[1], z1));
    openings(room, sheet, inner, outer, cut);
  }
  return cut;
}

const plan = (room: DrawnRoom, out: number): [number, number, number, number] => [
  room.at[0] - out, room.at[1] - out, room.at[0] + room.size[0] + out, room.at[1] + room.size[1] + out,
];

function openings(room: DrawnRoom, sheet: Projection, inner: [number, number], outer: [number, number], cut: Cut): void {
  for (const opening of room.openings) {
    const corners = opening.corners as Triple[];
    const [low, high] = [Math.min(...corners.map((c) => c[2])), Math.max(...corners.map((c) => c[2]))];
    const s = corners.map((c) => (c[0] - sheet.origin[0]) * sheet.across[0] + (c[1] - sheet.origin[1]) * sheet.across[1]);
    const off = corners.map((c) => (c[0] - sheet.origin[0]) * -sheet.across[1] + (c[1] - sheet.origin[1]) * sheet.across[0]);
    const crosses = Math.min(...off) < 0 && Math.max(...off) > 0;
    const middle = s.reduce((a, b) => a + b, 0) / s.length;
    if (crosses && high - low > 0.01) {
      const [from, to] = Math.abs(middle - inner[0]) < Math.abs(middle - inner[1]) ? [outer[0], inner[0]] : [inner[1], outer[1]];
      cut.gaps.push(rectangle(from, low, to, high));
    } else if (high - low > 0.01) cut.beyond.push(rectangle(Math.min(...s), low, Math.max(...s), high));
  }
}

/** A block as it is seen square to the section. */
export function face(block: { outline: Pair[]; bottom: number; top: number }, sheet: Projection): Pair[] {
  const s = block.outline.map(([x, y]) => (x - sheet.origin[0]) * sheet.across[0] + (y - sheet.origin[1]) * sheet.across[1]);
  return hull(s.flatMap((u): Pair[] => [[u, block.bottom], [u, block.top]]));
}
