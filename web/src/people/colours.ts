/** The colour of each light of a shot: that of a white card in it under the balance, heads, sun and sky alike. */
import type { DrawnShot } from "../api/types";

/** Of a light that is not known. */
export const UNKNOWN = "var(--edge)";

export function coloursOf(shot: DrawnShot | null): Record<string, string> {
  const found = Object.fromEntries((shot?.lights ?? []).map((light) => [light.name, light.colour]));
  if (shot?.sun_colour) found["sun"] = shot.sun_colour;
  if (shot?.sky_colour) found["sky"] = shot.sky_colour;
  return found;
}
