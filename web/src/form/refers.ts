/** Which names a key may refer to, and which fault belongs to which key. */
import type { Fault, ShootState, Step } from "../api/types";
import type { Key } from "./keys";

const IDS: Record<string, readonly string[]> = {
  strobe: ["strobes"], lamp: ["lamps"], modifier: ["modifiers"], guide_modifier: ["modifiers"], panel: ["modifiers"], body: ["bodies"],
  lens: ["lenses"], gel: ["gels"], filters: ["filters"], cover: ["modifiers", "gels"], of: ["modifiers", "gels"], fed_by: ["power"],
};

/** Names that a key may be given: kit for an id, people and marks for a name; a wish may also be for a window or a block. */
export function namesFor(name: string, key: Key, shoot: ShootState | null, path: readonly Step[] = []): string[] {
  const kit = (shoot?.file["kit"] ?? {}) as Record<string, { id?: unknown }[] | undefined>;
  const parts = IDS[name];
  if (parts) return parts.flatMap((part) => (kit[part] ?? []).map((piece) => String(piece.id ?? "")).filter(Boolean));
  if (name === "shot") return (shoot?.drawn?.shots ?? []).map((shot) => shot.id);
  if (["who", "focus_on", "sharp", "soft", "aim", "facing", "to"].includes(name)) {
    const people = [...(shoot?.drawn?.people ?? []), ...(shoot?.drawn?.marks ?? [])].map((thing) => thing.name);
    if (name === "who" && path.includes("wishes")) return [...people, ...seenOf(shoot)];
    return name === "facing" ? ["camera", ...people] : people;
  }
  if (name === "light") {
    const heads = [...(kit["strobes"] ?? []), ...(kit["lamps"] ?? [])].map((piece) => String(piece.id ?? ""));
    return [...(path.includes("wishes") ? ["all", "flash", "ambient"] : []), "sun", "sky", ...heads];
  }
  return key.kind === "aim" ? (shoot?.drawn?.people ?? []).map((person) => person.name) : [];
}

const seenOf = (shoot: ShootState | null): string[] => {
  const place = shoot?.drawn?.place;
  return place ? [...place.rooms.flatMap((room) => room.openings.map((o) => o.name)), ...place.blocks.map((block) => block.name)] : [];
};

/** Whether a fault lies at a path or inside it: a name in ours stands for a position in theirs. */
export const isUnder = (fault: Fault, path: readonly Step[]): boolean =>
  fault.path.length >= path.length && path.every((step, i) => (typeof step === "object" ? typeof fault.path[i] === "number" : String(step) === String(fault.path[i])));

export const faultAt = (faults: readonly Fault[], path: readonly Step[]): Fault | undefined => faults.find((fault) => isUnder(fault, path));
