/** The kit as a list: groups of pieces, what is rented, what it weighs, what each shot uses. */
import type { Drawn } from "../api/types";

export type Part = keyof Drawn["kit"];
export type Piece = Drawn["kit"][Part][number];

export const PARTS: readonly [Part, string][] = [
  ["bodies", "Bodies"], ["lenses", "Lenses"], ["strobes", "Heads"], ["lamps", "Lamps"], ["modifiers", "Modifiers"],
  ["gels", "Gels"], ["filters", "Filters"], ["power", "Power"], ["haze", "Haze"],
];

export interface Totals {
  pieces: number;
  rented: number;
  rent: number;
  weight: number;
  unused: number;
}

/** Sums over the pieces that some shot uses, or over all. */
export function totalsOf(kit: Drawn["kit"]): Totals {
  const all = PARTS.flatMap(([part]) => kit[part]);
  const rented = all.filter((piece) => !piece.owned);
  return {
    pieces: all.length,
    rented: rented.length,
    rent: rented.reduce((sum, piece) => sum + piece.rent_per_day, 0),
    weight: all.reduce((sum, piece) => sum + piece.weight, 0),
    unused: all.filter((piece) => piece.used_by.length === 0).length,
  };
}
