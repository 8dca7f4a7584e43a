/** Boxes that hold what is drawn. */
import type { Drawn, DrawnShot, Pair, Triple } from "../api/types";
import type { Box, Projection } from "./page.svelte";
import { dot, subtract } from "./geometry";

function around(points: readonly Pair[], margin: number): Box {
  if (!points.length) return [-3, -3, 3, 3];
  const [us, vs] = [points.map((p) => p[0]), points.map((p) => p[1])];
  return [Math.min(...us) - margin, Math.min(...vs) - margin, Math.max(...us) + margin, Math.max(...vs) + margin];
}

/** The plan: rooms, people, camera, lights; blocks and marks where there is no room. */
export function planBox(drawn: Drawn, shot: DrawnShot | null): Box {
  const points: Pair[] = drawn.place.rooms.flatMap((r): Pair[] => [
    [r.at[0] - r.thickness, r.at[1] - r.thickness], [r.at[0] + r.size[0] + r.thickness, r.at[1] + r.size[1] + r.thickness],
  ]);
  const near = (p: readonly number[], reach: number): Pair[] => [[p[0]! - reach, p[1]! - reach], [p[0]! + reach, p[1]! + reach]];
  points.push(...drawn.people.flatMap((p) => near(p.at, 0.4)), ...(shot ? near(shot.camera.at, 0.5) : []));
  points.push(...(shot?.lights ?? []).flatMap((l) => near(l.at, 0.5)));
  if (!drawn.place.rooms.length) {
    points.push(...drawn.place.blocks.flatMap((b) => near(b.at, Math.max(b.size[0], b.size[1]) / 2)), ...drawn.marks.flatMap((m) => near(m.at, 0.2)));
  }
  return around(points, 0.15);
}

/** The elevation: the rooms that the section cuts, people, camera and lights, as they fall on it. */
export function sideBox(drawn: Drawn, shot: DrawnShot, sheet: Projection): Box {
  const fall = (p: Triple): Pair => [dot(subtract(p, sheet.origin), sheet.across), dot(subtract(p, sheet.origin), sheet.up)];
  const points: Pair[] = drawn.people.flatMap((p): Pair[] => [fall(p.at as Triple), fall([p.eyes[0], p.eyes[1], p.eyes[2] + 0.15])]);
  points.push(fall(shot.camera.at as Triple), ...shot.lights.map((l) => fall(l.at as Triple)), [-0.6, 0], [0.6, 0]);
  const room = drawn.place.rooms.find((r) => [0, 1].every((i) => shot.camera.aim[i]! >= r.at[i]! - r.thickness && shot.camera.aim[i]! <= r.at[i]! + r.size[i]! + r.thickness));
  if (room) {
    const [x0, y0, z0] = room.at;
    const [x1, y1, z1] = [x0 + room.size[0], y0 + room.size[1], z0 + room.size[2]];
    const corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map(([x, y]) => fall([x!, y!, 0]));
    const lines = corners.map((c) => c[0]);
    const people = points.map((p) => p[0]);
    // a room far longer than the scene is shown as far as the scene goes, and a metre beyond
    points.push([Math.max(Math.min(...lines), Math.min(...people) - 2), z0 - 0.1], [Math.min(Math.max(...lines), Math.max(...people) + 3), z1 + 0.15]);
  }
  return around(points, 0.2);
}
