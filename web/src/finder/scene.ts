/** What the live view needs from the server: the scene once a shoot, its openness, the shot's light. */
import { ask, bytes } from "../api/client";
import type { DrawnLight, DrawnShot, LightTable } from "../api/types";
import { type Exposing, type SceneLight, unshadowed } from "./lighting";
import type { Vec3 } from "./matrix";

export const getScene = () => bytes("api/scene.glb");
export const getShotScene = (shot: string) => bytes(`api/shots/${encodeURIComponent(shot)}/scene.glb`);
export const getShade = async () => new Uint16Array(await bytes("api/scene-shade.bin"));
export const getSceneLight = (shot: string) => ask<SceneLight>("GET", `api/shots/${encodeURIComponent(shot)}/scene-light`);

interface TableStrobe { name: string; power: number }
interface TableLight { name: string; flat_lx?: number; flat_lxs?: number; stops: number | null }
interface TablePoint { name: string; lights: TableLight[] }

/** Power of every head: as metered, as the file gives it, or the guess that would meet its target. */
export function powersOf(scene: SceneLight, shot: DrawnShot, table: LightTable | null, fNumber: number, eyes: Record<string, Vec3>): Record<string, number> {
  const metered = (table?.strobes ?? []) as unknown as TableStrobe[];
  return Object.fromEntries(
    scene.heads.map((head, i) => {
      const known = metered.find((s) => s.name === head.name)?.power ?? head.power;
      return [head.name, known ?? guess(scene, head.name, shot, shot.lights[i], fNumber, eyes)];
    }),
  );
}

function guess(scene: SceneLight, head: string, shot: DrawnShot, light: DrawnLight | undefined, fNumber: number, eyes: Record<string, Vec3>): number {
  const at = light?.target ? eyes[light.target.who] : undefined;
  if (!light?.target || !at) return 1;
  const wanted = ((10 / shot.iso) * 2 ** light.target.stops * 4 * fNumber ** 2) / 0.18;
  const full = unshadowed(scene, head, at, { [head]: 1 });
  return full > 0 ? Math.min(1, Math.max(2 ** -(scene.heads.find((h) => h.name === head)?.range_stops ?? 8), wanted / full)) : 1;
}

/** By what this view's heads must be multiplied to give what was metered at people, in the median. */
export function meteredFactors(scene: SceneLight, table: LightTable | null, powers: Record<string, number>, eyes: Record<string, Vec3>): Record<string, number> {
  const factors: Record<string, number> = {};
  for (const head of scene.heads) {
    const ratios: number[] = [];
    for (const point of (table?.points ?? []) as unknown as TablePoint[]) {
      const light = point.lights.find((l) => l.name === head.name);
      const read = light?.flat_lxs ?? light?.flat_lx;
      const at = eyes[point.name];
      const here = at ? unshadowed(scene, head.name, at, powers) : 0;
      if (read && here > 0) ratios.push(read / here);
    }
    ratios.sort((a, b) => a - b);
    const middle = ratios[Math.floor(ratios.length / 2)];
    if (middle !== undefined) factors[head.name] = Math.min(4, Math.max(0.25, middle));
  }
  return factors;
}

/** The shot's own settings. */
export function exposingOf(scene: SceneLight, shot: DrawnShot, table: LightTable | null, fNumber: number, eyes: Record<string, Vec3>): Exposing {
  const powers = powersOf(scene, shot, table, fNumber, eyes);
  return {
    shutter: table?.shutter_s ?? shot.shutter ?? scene.sync_s,
    iso: table?.iso ?? shot.iso,
    balance: shot.balance_K,
    powers,
    gels: {},
    sun: true,
    sky: true,
    metered: meteredFactors(scene, table, powers, eyes),
  };
}
