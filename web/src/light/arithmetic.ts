/**
 * Stops at new settings from stops at old ones, without asking the server: everything is linear in the exposure.
 * Shutter moves steady light, power and gels move their head (a lamp that burns steadily too), ISO and aperture all.
 */
export interface Settings {
  shutter: number;
  iso: number;
  fNumber: number;
  /** Fraction of full power by head. */
  powers: Record<string, number>;
  /** Share of the bare flash that gels leave, by head; 1 where none are told. */
  shares: Record<string, number>;
  /** The body's sync time; a shorter shutter costs flash light. [s] */
  sync: number;
  /** Lights that are switched off. */
  off: readonly string[];
}

export interface LightStops {
  light: string;
  flash: boolean;
  stops: number | null;
}

export interface PointStops {
  name: string;
  lights: LightStops[];
}

const log2 = (v: number) => (v > 0 ? Math.log2(v) : -Infinity);

/** How far a light moves between two settings. [stops] */
export function moved(light: string, flash: boolean, from: Settings, to: Settings): number {
  if (to.off.includes(light)) return -Infinity;
  const all = log2(to.iso / from.iso) - 2 * log2(to.fNumber / from.fNumber);
  const power = log2((to.powers[light] ?? 1) / (from.powers[light] ?? 1));
  const gels = log2((to.shares[light] ?? 1) / (from.shares[light] ?? 1));
  if (!flash) return all + power + gels + log2(to.shutter / from.shutter);
  return all + power + gels - (lossAboveSync(to.shutter, to.sync) - lossAboveSync(from.shutter, from.sync));
}

/** Sum of stops. [stops] */
export const together = (stops: readonly number[]): number => log2(stops.reduce((sum, s) => sum + 2 ** s, 0));

/** Every light's stops at a point and their sums at new settings; a light at null reaches nobody. */
export function stopsAt(point: PointStops, from: Settings, to: Settings): { lights: { light: string; flash: boolean; stops: number }[]; total: number; ambient: number; flash: number } {
  const lights = point.lights.map((l) => ({ light: l.light, flash: l.flash, stops: (l.stops ?? -Infinity) + moved(l.light, l.flash, from, to) }));
  const of = (flash: boolean) => together(lights.filter((l) => l.flash === flash).map((l) => l.stops));
  return { lights, total: together(lights.map((l) => l.stops)), ambient: of(false), flash: of(true) };
}

/** Light that a pulsed flash loses at a shutter shorter than sync. [stops] */
export const lossAboveSync = (shutter: number, sync: number): number =>
  shutter < sync * (1 - 1e-9) ? Math.log2((sync + shutter) / shutter) : 0;
