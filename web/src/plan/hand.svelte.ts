/** What the hand holds: one thing at a time, moved or turned but not yet saved; and how it snaps. */
import type { Edit, Triple } from "../api/types";
import { desk, type Selection } from "../app/state.svelte";
import { readChoice, writeChoice } from "../app/choices";
import { length } from "../app/words";
import { bearing } from "./geometry";
import { aimEdits, atOf, keyOf, lines, moveEdits, targets, turnEdits, type Source } from "./things";

export type Part = "at" | "aim" | "turn";

export interface Held {
  key: string;
  part: Part;
  /** Where the part is now; of a turn, the point that is faced. */
  at: Triple;
  /** Whom the aim has snapped to. */
  name: string | null;
}

/** What things snap to: 5 cm, or 2 inches where lengths are in feet. [m] */
const grid = () => (desk.units === "metric" ? 0.05 : 2 * 0.0254);
/** Things this near on the screen pull. [CSS pixels] */
const PULL = 7;

class Hand {
  held = $state.raw<Held | null>(null);
  snapping = $state(readChoice("snap", ["on", "off"]) === "on");
  /** Lines that the held thing has snapped to. [m] */
  guides = $state.raw<{ x: number | null; y: number | null }>({ x: null, y: null });
  /** What is held, or was last. */
  thing = $state.raw<Selection | null>(null);
  private soon: ReturnType<typeof setTimeout> | undefined;

  setSnapping(on: boolean): void {
    this.snapping = on;
    writeChoice("snap", on ? "on" : "off");
  }

  /** Where a thing is drawn: as held, else as saved. */
  where(key: string, part: Part, saved: Triple): Triple {
    return this.held?.key === key && this.held.part === part ? this.held.at : saved;
  }

  /** Move the held part to a point of the place; `free` lets it stand anywhere, `grain` is metres for a pixel. */
  hold(thing: Selection, part: Part, wanted: Triple, free: boolean, grain: number): void {
    const source = sourceNow();
    if (!source || !desk.mayEdit) return;
    const key = keyOf(thing.kind, thing.name);
    this.thing = thing;
    this.guides = { x: null, y: null };
    let [at, name] = [wanted, null as string | null];
    if (!free && this.snapping) {
      if (part === "at") at = this.snapped(source, key, wanted, grain);
      else [at, name] = this.aimed(source, thing, wanted, grain);
    }
    this.held = { key, part, at, name };
    const edits = this.edits(source);
    if (edits.length) desk.drag(edits);
  }

  /** Move by the keys: at once on the sheet, saved when the keys have rested. */
  nudge(thing: Selection, part: Part, from: Triple, by: Triple): void {
    const key = keyOf(thing.kind, thing.name);
    const now = this.where(key, part, from);
    this.hold(thing, part, [now[0] + by[0], now[1] + by[1], now[2] + by[2]], true, 0);
    clearTimeout(this.soon);
    this.soon = setTimeout(() => void this.release(), 450);
  }

  /** Let go: what is held is saved, and stays where it is until the saved shoot has come back. */
  async release(): Promise<void> {
    clearTimeout(this.soon);
    const [held, source, thing] = [this.held, sourceNow(), this.thing];
    this.guides = { x: null, y: null };
    if (!held || !source || !thing) return;
    await desk.drop(this.label(held, source, thing), this.edits(source));
    if (this.held === held) this.held = null;
  }

  /** Give up: everything back to where it was. */
  drop(): void {
    clearTimeout(this.soon);
    this.held = null;
    this.guides = { x: null, y: null };
    desk.undrag();
  }

  private edits(source: Source): Edit[] {
    const [held, thing] = [this.held, this.thing];
    if (!held || !thing) return [];
    if (held.part === "at") return moveEdits(source, thing, held.at);
    if (held.name !== null) return aimEdits(source, thing, held.name);
    if (held.part === "aim") return aimEdits(source, thing, held.at);
    const from = atOf(source, thing);
    if (!from) return [];
    const towards = bearing(from, held.at);
    if (thing.kind === "person") return turnEdits(source, thing, this.snapping ? Math.round(towards) : towards);
    const turn = (450 - towards) % 360;
    return turnEdits(source, thing, this.snapping ? Math.round(turn / 5) * 5 : turn);
  }

  private label(held: Held, source: Source, thing: Selection): string {
    const name = thing.kind === "camera" ? `camera of ${desk.shot}` : thing.kind === "kit" ? thing.name.replace(/^\w+\//, "") : thing.name;
    if (held.part === "turn") return `turn ${name}`;
    if (held.part === "aim") return `aim ${name}${held.name ? ` at ${held.name}` : ""}`;
    const from = atOf(source, thing);
    const far = from ? Math.hypot(held.at[0] - from[0], held.at[1] - from[1], held.at[2] - from[2]) : 0;
    return `move ${name} by ${length(far)}`;
  }

  private snapped(source: Source, key: string, at: Triple, grain: number): Triple {
    const near = PULL * grain;
    const to = lines(source.drawn, source.shot, key);
    const pull = (value: number, ways: number[]) => {
      const best = ways.reduce<number | null>((b, w) => (Math.abs(w - value) < Math.min(near, b === null ? Infinity : Math.abs(b - value)) ? w : b), null);
      return best;
    };
    const [x, y] = [pull(at[0], to.x), pull(at[1], to.y)];
    this.guides = { x, y };
    const step = grid();
    const stepped = (value: number) => Math.round(value / step) * step;
    const from = this.thing ? atOf(source, this.thing) : null;
    // what the hand has not moved, such as the place on the floor of what is only raised, stays as it is
    const still = (axis: 0 | 1 | 2) => from !== null && Math.abs(from[axis] - at[axis]) < 1e-9;
    const settled = (axis: 0 | 1 | 2, line: number | null) => (still(axis) ? at[axis] : (line ?? stepped(at[axis])));
    return [settled(0, x), settled(1, y), settled(2, null)];
  }

  private aimed(source: Source, thing: Selection, at: Triple, grain: number): [Triple, string | null] {
    const near = Math.max(12 * grain, 0.08);
    const own = (name: string) => thing.kind === "person" && name === thing.name;
    const hit = targets(source.drawn).find((t) => !own(t.name) && Math.hypot(t.at[0] - at[0], t.at[1] - at[1]) < near);
    return hit ? [hit.at, hit.name] : [at, null];
  }
}

/** The shoot as edits need it; null while none could be drawn. */
export function sourceNow(): Source | null {
  const shoot = desk.shoot;
  if (!shoot?.drawn) return null;
  return { file: shoot.file, drawn: shoot.drawn, shot: desk.drawnShot, shotPath: desk.shotPath() };
}

export const hand = new Hand();
