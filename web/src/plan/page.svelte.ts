/** A sheet of paper onto which the place is projected: which part of it is seen, and how large. */
import type { Pair, Triple } from "../api/types";
import { add, dot, scale, subtract } from "./geometry";

export type Box = [number, number, number, number];
/** Drawn units for a metre. */
export const UNIT = 100;

/** What is across and what is up on the sheet. `origin` lies at its nought. */
export interface Projection {
  origin: Triple;
  across: Triple;
  up: Triple;
}

export const PLAN: Projection = { origin: [0, 0, 0], across: [1, 0, 0], up: [0, 1, 0] };

export class Page {
  projection: Projection = $state.raw(PLAN);
  /** Size of the drawing on the screen. [CSS pixels] */
  width = $state(600);
  height = $state(400);
  /** What is in the middle. [m on the sheet] */
  middle: Pair = $state.raw([0, 0]);
  /** Metres for a pixel. */
  grain = $state(0.01);
  /** The box that holds all there is. [m on the sheet] */
  whole: Box = $state.raw([0, 0, 1, 1]);
  /** Whether the user has zoomed or moved the sheet; until then it is kept whole. */
  moved = false;

  readonly viewBox = $derived.by(() => {
    const [w, h] = [this.width * this.grain * UNIT, this.height * this.grain * UNIT];
    return `${this.middle[0] * UNIT - w / 2} ${-this.middle[1] * UNIT - h / 2} ${w} ${h}`;
  });

  /** Drawn units for a pixel: of strokes and letters that keep their size. */
  readonly px = $derived(this.grain * UNIT);

  project(p: Triple): Pair {
    const from = subtract(p, this.projection.origin);
    return [dot(from, this.projection.across), dot(from, this.projection.up)];
  }

  /** Drawn units of a point of the place. */
  draw(p: Triple): Pair {
    const [u, v] = this.project(p);
    return [u * UNIT, -v * UNIT];
  }

  /** A point moved along the sheet to where [u, v] is; what the sheet does not show of it stays. */
  place(p: Triple, [u, v]: Pair): Triple {
    const [u0, v0] = this.project(p);
    return add(add(p, scale(this.projection.across, u - u0)), scale(this.projection.up, v - v0));
  }

  /** Where on the sheet a pixel of the drawing is. [m] */
  at(x: number, y: number): Pair {
    return [this.middle[0] + (x - this.width / 2) * this.grain, this.middle[1] - (y - this.height / 2) * this.grain];
  }

  fit(margin: { left: number; right: number; top: number; bottom: number }): void {
    const [left, bottom, right, top] = this.whole;
    const room: Pair = [Math.max(40, this.width - margin.left - margin.right), Math.max(40, this.height - margin.top - margin.bottom)];
    this.grain = Math.max((right - left) / room[0], (top - bottom) / room[1], 1e-4);
    this.middle = [
      (left + right) / 2 + ((margin.right - margin.left) / 2) * this.grain,
      (bottom + top) / 2 + ((margin.top - margin.bottom) / 2) * this.grain,
    ];
  }

  /** Zoom by a factor about a pixel of the drawing. */
  zoom(factor: number, x = this.width / 2, y = this.height / 2): void {
    const [u, v] = this.at(x, y);
    this.grain = Math.min(0.2, Math.max(0.0004, this.grain / factor));
    const [u1, v1] = this.at(x, y);
    this.middle = [this.middle[0] + u - u1, this.middle[1] + v - v1];
    this.moved = true;
  }

  pan(dx: number, dy: number): void {
    this.middle = [this.middle[0] - dx * this.grain, this.middle[1] + dy * this.grain];
    this.moved = true;
  }
}

/** The words of an SVG path through points in metres on the sheet. */
export const outline = (points: readonly Pair[], closed = true) =>
  points.map(([u, v], i) => `${i ? "L" : "M"}${(u * UNIT).toFixed(2)} ${(-v * UNIT).toFixed(2)}`).join("") + (closed ? "Z" : "");
