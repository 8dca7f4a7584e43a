/** Where names stand on a sheet so that none lies on another: the more important first, the rest where there is room. */
import type { Pair } from "../api/types";

export interface Wish {
  key: string;
  words: string;
  /** Middle of what is named, and how far around it must stay free. [drawn units, y down] */
  at: Pair;
  clear: number;
  /** Size of the letters. [drawn units] */
  size: number;
  rank: number;
}

export interface Placed extends Wish {
  /** Middle of the words from `at`. */
  offset: Pair;
}

type Rectangle = [number, number, number, number];
const apart = (a: Rectangle, b: Rectangle) => a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];

/** Width of words in letters of size 1: an estimate by the mean width of the face used. */
const wide = (words: string) => words.length * 0.5;

/** Names with a place; those of rank 3 and more are left out where there is none. */
export function place(wishes: readonly Wish[]): Placed[] {
  const taken: Rectangle[] = wishes.filter((w) => w.rank < 3).map((w) => around(w.at, w.clear * 0.8, w.clear * 0.8));
  const placed: Placed[] = [];
  for (const wish of [...wishes].sort((a, b) => a.rank - b.rank)) {
    const [halfWide, halfHigh] = [(wide(wish.words) * wish.size) / 2, wish.size * 0.6];
    const [x, y] = [wish.clear + halfWide, wish.clear + halfHigh];
    const ways: Pair[] = wish.clear === 0
      ? [[0, 0]]
      : [[0, -y], [0, y], [x, 0], [-x, 0], [x * 0.8, -y * 0.8], [-x * 0.8, -y * 0.8], [x * 0.8, y * 0.8], [-x * 0.8, y * 0.8]];
    const boxes = ways.map((way) => around([wish.at[0] + way[0], wish.at[1] + way[1]], halfWide, halfHigh));
    const free = boxes.findIndex((box) => taken.every((other) => apart(box, other)));
    if (free < 0 && wish.rank >= 3) continue;
    const pick = Math.max(0, free);
    taken.push(boxes[pick]!);
    placed.push({ ...wish, offset: ways[pick]! });
  }
  return placed;
}

const around = ([x, y]: Pair, halfWide: number, halfHigh: number): Rectangle => [x - halfWide, y - halfHigh, x + halfWide, y + halfHigh];
