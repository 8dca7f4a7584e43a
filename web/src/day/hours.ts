/** Hours of a day: from ISO times to minutes and back, and the span of the day that is worth drawing. */
import type { Day } from "../api/types";
import { clockOf } from "../app/words";

/** Minutes since midnight, local time, of an ISO time such as "2026-03-14T07:05:00+01:00". */
export function minuteOf(when: string): number {
  const clock = when.slice(11);
  return Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3, 5)) + (Number(clock.slice(6, 8)) || 0) / 60;
}

/** The time of the file at another minute of the same day, without an offset: the place's zone holds. */
export const atMinute = (date: string, minute: number) => `${date}T${clockOf(minute)}:00`;

/** From the whole hour before the first thing of the day to the one after the last. [minutes] */
export function spanOf(day: Day): [number, number] {
  const civil = day.twilights.find((t) => t.name === "civil");
  const seen = [
    ...(civil?.dawn ? [minuteOf(civil.dawn)] : []),
    ...(civil?.dusk ? [minuteOf(civil.dusk)] : []),
    ...day.shots.map((shot) => minuteOf(shot.when)),
  ];
  if (day.always || seen.length < 2) return [0, 1440];
  return [Math.max(0, Math.floor(Math.min(...seen) / 60 - 0.2) * 60), Math.min(1440, Math.ceil(Math.max(...seen) / 60 + 0.2) * 60)];
}

/** Spans of light and dark: [from, to, how dark 0..3]. */
export function darkness(day: Day): [number, number, number][] {
  if (day.always) return [[0, 1440, day.always === "up" ? 0 : 3]];
  const dawn = (name: string) => day.twilights.find((t) => t.name === name)?.dawn;
  const dusk = (name: string) => day.twilights.find((t) => t.name === name)?.dusk;
  const edges = (list: (string | null | undefined)[], none: number) => list.map((when) => (when ? minuteOf(when) : none));
  const morning = edges([dawn("nautical"), dawn("civil"), day.rise], 0);
  const evening = edges([day.set, dusk("civil"), dusk("nautical")], 1440);
  const all = [0, ...morning, ...evening, 1440];
  return [3, 2, 1, 0, 1, 2, 3].map((dark, i): [number, number, number] => [all[i]!, all[i + 1]!, dark]).filter(([from, to]) => to > from);
}

export interface Row {
  name: string;
  kind: string;
  bars: [number, number][];
}

/** The rows under the sun's curve: every opening, then everybody. */
export function rowsOf(day: Day): Row[] {
  const bars = (list: [string, string][]) => list.map(([from, to]): [number, number] => [minuteOf(from), minuteOf(to)]);
  return [
    ...day.openings.map((o) => ({ name: o.name, kind: day.openings.some((p) => p !== o && p.name === o.name) ? o.room : "opening", bars: bars(o.intervals) })),
    ...day.people.map((p) => ({ name: p.name, kind: "person", bars: bars(p.intervals) })),
  ];
}

/** Minutes of a row as words: "06:37 to 13:53", or what there is instead. */
export function barsInWords(bars: [number, number][]): string {
  return bars.length ? bars.map(([from, to]) => `${clockOf(from)} to ${clockOf(to)}`).join(", ") : "no sun";
}
