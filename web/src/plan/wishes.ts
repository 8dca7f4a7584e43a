/** Which names a sheet wants to show, where and how important they are. */
import type { Drawn, DrawnShot, Focus, Pair, Triple } from "../api/types";
import type { Wish } from "./labels";
import type { Page } from "./page.svelte";
import { keyOf, sillOf } from "./things";

/** First words of names where they tell people apart, else the whole names. */
function short(names: readonly string[]): (name: string) => string {
  const first = (name: string) => name.split(" ")[0]!;
  return (name) => (names.filter((other) => first(other) === first(name)).length === 1 ? first(name) : name);
}

const SIGN = { sharp: "● ", soft: "○ ", free: "" } as const;

/** Names of everything in sight. `side` is the elevation, on which blocks and openings go without names. */
export function wishes(page: Page, drawn: Drawn, shot: DrawnShot | null, focus: Focus | null, side: boolean): Wish[] {
  const px = page.px;
  const brief = short(drawn.people.map((p) => p.name));
  const wanted = (name: string) => focus?.points.find((p) => p.name === name)?.wanted ?? "free";
  const wish = (key: string, words: string, at: Triple, clear: number, rank: number, letters = 13): Wish => ({
    key, words, at: page.draw(at), clear: Math.max(clear * 100, 8 * px), size: letters * px, rank,
  });
  const names: Wish[] = [
    ...drawn.people.map((p) => wish(keyOf("person", p.name), SIGN[wanted(p.name)] + brief(p.name), side ? p.eyes : p.at, side ? 0.16 : 0.24, wanted(p.name) === "sharp" ? 0 : 1, wanted(p.name) === "sharp" ? 15 : 13)),
    ...drawn.marks.map((m) => wish(keyOf("mark", m.name), SIGN[wanted(m.name)] + m.name, m.at, 0.06, wanted(m.name) === "free" ? 3 : 2, 12)),
    ...(shot?.lights ?? []).map((l) => wish(keyOf("light", l.name), l.name, l.at, Math.max(0.2, Math.max(...(l.size ?? [0.2])) / 2 + 0.05), 1)),
  ];
  if (shot) names.push(wish(keyOf("camera", "camera"), shot.lens, shot.camera.at, 0.24, 1));
  if (side) return names;
  const area = (p: Pair) => Math.min(p[0], p[1]) / page.grain;
  return [
    ...names,
    ...drawn.place.rooms.flatMap((r) => r.openings.filter((o) => o.wall !== "floor").map((o) => ({ ...wish(keyOf("opening", o.name), o.name, outside(r.thickness, o.wall, sillOf(o.corners)), 0.02, 3, 12) }))),
    ...[...drawn.place.blocks, ...drawn.place.meshes]
      .filter((b) => b.bottom < 1.75 && area([b.size[0], b.size[1]]) > 16 && (Math.max(b.size[0], b.size[1]) / page.grain > 45))
      .map((b): Wish => ({ key: keyOf(b.kind === "mesh" ? "mesh" : "block", b.name), words: b.name, at: page.draw(b.at), clear: 0, size: 11 * px, rank: 4 })),
  ];
}

function outside(thickness: number, wall: string, at: Triple): Triple {
  const by = thickness * 1.0;
  const ways: Record<string, Pair> = { left: [-by, 0], right: [by, 0], near: [0, -by], far: [0, by] };
  const [x, y] = ways[wall] ?? [0, 0];
  return [at[0] + x, at[1] + y, at[2]];
}
