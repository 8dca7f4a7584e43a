/** The cables of the chosen shot, as the server leads them; they follow the shoot as it is saved. */
import { ask, of } from "../api/client";
import type { Cables, DrawnCable, Pair, Triple } from "../api/types";
import { length } from "../app/words";
import type { Wish } from "./labels";
import type { Page } from "./page.svelte";

class Laid {
  now = $state.raw<Cables | null>(null);

  async follow(shot: string): Promise<void> {
    const found = await ask<Cables>("GET", `${of(shot)}/cables`).catch(() => null);
    if (!found || found.shot === shot) this.now = found;
  }
}

export const laid = new Laid();

/** "7.0 m", and what is wrong with it. */
export function figure(cable: DrawnCable): string {
  const whole = length(cable.length_m, 1);
  return cable.too_short && cable.has_m !== null ? `${whole}, the kit has ${length(cable.has_m, 1)}` : whole;
}

export function inWords(cable: DrawnCable): string {
  const parts = [`cable from ${cable.source} to ${cable.head}, ${figure(cable)}: ${length(cable.along_m)} along the floor, ${length(cable.up_m)} up to the head`];
  if (cable.straight) parts.push("measured straight, no way along the floor was found");
  for (const crossing of cable.crossings) parts.push(`crosses the way out at ${crossing.opening}, to be ramped or taped`);
  return parts.join("; ");
}

/** Middle of the longest piece of a way. [m] */
export function middle(way: readonly Pair[]): Pair {
  let [best, at]: [number, Pair] = [-1, way[0] ?? [0, 0]];
  for (let k = 0; k + 1 < way.length; k++) {
    const [a, b] = [way[k]!, way[k + 1]!];
    const far = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (far > best) [best, at] = [far, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]];
  }
  return at;
}

/** The length of each cable, beside the longest piece of its way. */
export function lengths(page: Page): Wish[] {
  return (laid.now?.cables ?? []).map((cable): Wish => {
    const [x, y] = middle(cable.way as Pair[]);
    return { key: `cable:${cable.source}/${cable.head}`, words: `cable ${figure(cable)}`, at: page.draw([x, y, 0]), clear: 4 * page.px, size: 12 * page.px, rank: cable.too_short ? 2 : 3 };
  });
}

/** A way in the place: down from its source, over the floor, up to its head. */
export function inPlace(cable: DrawnCable, source: Triple, head: Triple, floor: number): Triple[] {
  return [source, ...cable.way.map(([x, y]): Triple => [x, y, floor]), head];
}
