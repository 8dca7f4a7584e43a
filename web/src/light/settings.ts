/** The light view's settings: where they start, what they make of a picture's layers, and the edits that keep them. */
import type { DrawnShot, Edit, LightTable, Step } from "../api/types";
import type { SceneHead, SceneLight } from "../finder/lighting";
import { isoMark, shutterMark, fMark } from "../finder/marks";
import { type PointStops, type Settings, lossAboveSync } from "./arithmetic";
import { type Whites, filmToLinear, underOtherGels } from "./colour";
import type { LayersHead } from "./relit";

export interface LightSettings {
  shutter: number;
  iso: number;
  fNumber: number;
  balance: number;
  powers: Record<string, number>;
  gels: Record<string, string[]>;
  off: string[];
}

interface TableStrobe { name: string; power: number }

/** The shot's own settings: as metered, else as the picture was made, else as the file gives them. */
export function shotSettings(scene: SceneLight, shot: DrawnShot, table: LightTable | null, layers: LayersHead | null, fNumber: number): LightSettings {
  const metered = (table?.strobes ?? []) as unknown as TableStrobe[];
  return {
    shutter: table?.shutter_s ?? shot.shutter ?? layers?.shutter_s ?? scene.sync_s,
    iso: table?.iso ?? shot.iso,
    fNumber: table?.f_number ?? fNumber,
    balance: shot.balance_K,
    powers: Object.fromEntries(
      scene.heads.map((h) => [h.name, metered.find((s) => s.name === h.name)?.power ?? h.power ?? layers?.heads.find((l) => l.name === h.name)?.power ?? 1]),
    ),
    gels: Object.fromEntries(scene.heads.map((h) => [h.name, h.gels_on])),
    off: [],
  };
}

/** A stack of gels in whatever order it lies. */
export const stack = (ids: readonly string[]) => [...ids].sort().join("\n");

/** What a head's light becomes behind a stack of gels; undefined where the server did not tell. */
export const gelChoice = (head: SceneHead, ids: readonly string[]) => head.gels.find((g) => stack(g.ids) === stack(ids));

/** The same in the words of the arithmetic of stops. */
export function asSettings(scene: SceneLight, set: LightSettings): Settings {
  return {
    shutter: set.shutter,
    iso: set.iso,
    fNumber: set.fNumber,
    powers: set.powers,
    shares: Object.fromEntries(scene.heads.map((h) => [h.name, gelChoice(h, set.gels[h.name] ?? h.gels_on)?.share ?? 1])),
    sync: scene.sync_s,
    off: set.off,
  };
}

/** What the shader weighs a picture's layers by. */
export function weighing(scene: SceneLight, layers: LayersHead, set: LightSettings): { toLinear: number[]; counts: Record<string, number>; gels: Record<string, number[]> } {
  const counts: Record<string, number> = {};
  const gels: Record<string, number[]> = {};
  const aperture = (layers.f_number / set.fNumber) ** 2;
  const loss = 2 ** (lossAboveSync(layers.shutter_s, scene.sync_s) - lossAboveSync(set.shutter, scene.sync_s));
  layers.names.forEach((name, i) => {
    const traced = layers.heads.find((h) => h.name === name);
    const head = scene.heads.find((h) => h.name === name);
    const steady = layers.flash[i] ? loss : set.shutter;
    const power = traced ? (set.powers[name] ?? traced.power) / traced.power : 1;
    counts[name] = set.off.includes(name) ? 0 : aperture * steady * power;
    const wanted = set.gels[name];
    if (!traced || !head || !wanted || stack(wanted) === stack(traced.gels)) return;
    const [here, there] = [gelChoice(head, traced.gels), gelChoice(head, wanted)];
    if (here && there) gels[name] = underOtherGels(here.cones, there.cones);
  });
  return { toLinear: filmToLinear(layers.whites, set.iso * 2 ** -(layers.nd_stops ?? 0), set.balance), counts, gels };
}

/** Linear sRGB of a white card in a light, under a balance. */
export function cardColour(whites: Whites, balance: number, white: readonly number[]): number[] {
  const m = filmToLinear(whites, 100, balance);
  return [0, 3, 6].map((i) => (m[i] as number) * (white[0] as number) + (m[i + 1] as number) * (white[1] as number) + (m[i + 2] as number) * (white[2] as number));
}

const near = (a: number, b: number) => Math.abs(a / b - 1) < 1e-4;

/** The edits that write what differs from the shot's own settings into the file. */
export function keepEdits(path: Step[], shot: DrawnShot, file: Record<string, unknown>[], from: LightSettings, to: LightSettings): Edit[] {
  const edits: Edit[] = [];
  if (!near(from.shutter, to.shutter)) edits.push({ op: "set", path: [...path, "shutter"], value: shutterMark(to.shutter) });
  if (!near(from.iso, to.iso)) edits.push({ op: "set", path: [...path, "iso"], value: isoMark(to.iso) });
  if (!near(from.balance, to.balance)) edits.push({ op: "set", path: [...path, "balance"], value: Math.round(to.balance) });
  if (!near(from.fNumber, to.fNumber)) edits.push({ op: "set", path: [...path, "aperture"], value: Number(fMark(to.fNumber)) });
  for (const light of shot.lights) {
    const at = [...path, "lights", light.index];
    const table = file[light.index] ?? {};
    const [was, now] = [from.powers[light.name] ?? 1, to.powers[light.name] ?? 1];
    if (!near(was, now)) {
      if ("target" in table) edits.push({ op: "remove", path: [...at, "target"] });
      edits.push({ op: "set", path: [...at, "power"], value: Number(now.toPrecision(6)) });
    }
    const [worn, wanted] = [from.gels[light.name] ?? [], to.gels[light.name] ?? []];
    if (stack(worn) !== stack(wanted)) {
      if (wanted.length) edits.push({ op: "set", path: [...at, "gel"], value: wanted.length === 1 && !Array.isArray(table["gel"]) ? wanted[0] : wanted });
      else if ("gel" in table) edits.push({ op: "remove", path: [...at, "gel"] });
    }
  }
  return edits;
}

interface TableLight { name: string; stops: number | null; flat_lxs?: number }

/** A table's points as the arithmetic takes them: a flash is read in lux seconds. */
export function pointsOf(table: LightTable | null): PointStops[] {
  const points = (table?.points ?? []) as unknown as { name: string; lights: TableLight[] }[];
  return points.map((p) => ({ name: p.name, lights: p.lights.map((l) => ({ light: l.name, flash: "flat_lxs" in l, stops: l.stops })) }));
}

/** A power in words: stops under full and watt-seconds. */
export function powerText(power: number, energy: number): string {
  const stops = Math.log2(power);
  const joules = power * energy;
  const under = Math.abs(stops) < 0.05 ? "full" : `${stops.toFixed(1).replace("-", "−")} stops`;
  return `${under}, ${joules < 10 ? joules.toFixed(1) : joules.toFixed(0)} W s`;
}

/** A power from words: "1/4", "0.25", "−2.3 stops", "80 W s"; null if it is none. */
export function powerFrom(text: string, energy: number): number | null {
  const plain = text.replace("−", "-").trim();
  const fraction = /^1\s*\/\s*(\d+(?:\.\d+)?)$/.exec(plain);
  if (fraction) return 1 / Number(fraction[1]);
  if (/full/i.test(plain)) return 1;
  const found = /-?\d+(?:\.\d+)?/.exec(plain);
  if (!found) return null;
  const n = Number(found[0]);
  if (/w|j/i.test(plain) && !/stop/i.test(plain)) return n > 0 ? n / energy : null;
  return n < 0 || /stop/i.test(plain) ? 2 ** -Math.abs(n) : n > 0 && n <= 1 ? n : null;
}
