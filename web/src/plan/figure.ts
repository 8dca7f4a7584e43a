/** How a person is drawn from the side: a body and a head by shares of the stature. A drawing; nothing rests on it. */
import type { DrawnPerson, Pair, Triple } from "../api/types";
import { rad } from "./geometry";

const [SHOULDERS, HIPS, KNEES, HALF] = [0.115, 0.42, 0.28, 0.128];

function limb(u0: number, z0: number, u1: number, z1: number, half0: number, half1: number): Pair[] {
  const size = Math.hypot(u1 - u0, z1 - z0) || 1;
  const [nu, nz] = [-(z1 - z0) / size, (u1 - u0) / size];
  return [[u0 + nu * half0, z0 + nz * half0], [u1 + nu * half1, z1 + nz * half1], [u1 - nu * half1, z1 - nz * half1], [u0 - nu * half0, z0 - nz * half0]];
}

/** Bands of the body, and the head with its nose, on a sheet whose across is (ax, ay) of the place. [m] */
export function fromSide(person: DrawnPerson, [u, z]: Pair, across: Triple): { body: Pair[][]; head: Pair; radius: number; nose: Pair[] } {
  const [stature, facing] = [person.height, rad(person.facing_deg)];
  const ahead = Math.sin(facing) * across[0] + Math.cos(facing) * across[1];
  const side = 1 - Math.abs(ahead);
  const half = stature * (HALF * Math.sqrt(Math.max(0, 1 - ahead ** 2)) + 0.075 * Math.abs(ahead));
  const [body, feet] = [u - 0.1 * ahead, person.at[2]];
  const [shoulders, hips, knees, legs] = [z - SHOULDERS * stature, z - HIPS * stature, feet + KNEES * stature, 0.7 * half];
  const bands: Pair[][] = [];
  if (person.pose === "standing") bands.push(limb(body, hips + 0.05, body, feet, legs, 0.62 * legs));
  else if (person.pose === "sitting") {
    const [kneeU, kneeZ] = [body + 0.42 * ahead, Math.min(hips, knees + 0.05)];
    bands.push(limb(kneeU, kneeZ, kneeU + 0.03 * ahead, feet, 0.07 + 0.5 * legs * side, 0.05 + 0.4 * legs * side), limb(body, hips + 0.02, kneeU, kneeZ, 0.1, 0.08));
  } else bands.push(limb(body, feet + 0.06, body - 0.42 * ahead, feet + 0.05, 0.06, 0.05), limb(body, hips + 0.05, body, feet + 0.02, legs, 0.7 * legs));
  const drop = 0.035 * stature;
  bands.push([
    [body - legs, hips], [body + legs, hips], [body + half, shoulders - 2 * drop], [body + 0.86 * half, shoulders - 0.6 * drop],
    [body + 0.45 * half, shoulders + 0.2 * drop], [body - 0.45 * half, shoulders + 0.2 * drop],
    [body - 0.86 * half, shoulders - 0.6 * drop], [body - half, shoulders - 2 * drop],
  ]);
  bands.push(limb(u - 0.09 * ahead, z - 0.02, body, shoulders + 0.01, 0.055, 0.065));
  const way = Math.sign(ahead);
  const nose: Pair[] = Math.abs(ahead) > 0.25 ? [[u, z + 0.03], [u + 0.055 * way, z - 0.025], [u, z - 0.045]] : [];
  return { body: bands, head: [u - 0.08 * ahead, z + 0.005], radius: 0.06 * stature, nose };
}
