/** The scale bar: round lengths, in metres or in feet. */
import type { Units } from "../app/state.svelte";

export interface Bar {
  pixels: number;
  parts: { from: number; wide: number }[];
  marks: { at: number; words: string }[];
}

const ROUND = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50];

/** The longest round bar of at most so many pixels, in five parts; `grain` is metres for a pixel. */
export function scaleBar(grain: number, units: Units, most: number): Bar {
  const one = units === "metric" ? 1 : 0.3048;
  const whole = [...ROUND].reverse().find((round) => (round * one) / grain <= most) ?? ROUND[0]!;
  const pixels = (whole * one) / grain;
  const count = String(whole).endsWith("2") ? 4 : 5;
  const parts = Array.from({ length: count }, (_, i) => ({ from: (i * pixels) / count, wide: pixels / count }));
  const unit = units === "metric" ? (whole < 1 ? "cm" : "m") : whole < 1 ? "in" : "ft";
  const shown = units === "metric" ? (whole < 1 ? whole * 100 : whole) : whole < 1 ? whole * 12 : whole;
  return { pixels, parts, marks: [{ at: 0, words: "0" }, { at: pixels, words: `${Number(shown.toFixed(1))} ${unit}` }] };
}
