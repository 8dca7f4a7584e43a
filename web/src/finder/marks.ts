/** Marks on dials and the true values they stand for: thirds of a stop, as the server has them (units.py). */
const F_THIRDS = [
  "1", "1.1", "1.3", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2", "3.5", "4", "4.5", "5", "5.6", "6.3", "7.1", "8", "9",
  "10", "11", "13", "14", "16", "18", "20", "22", "25", "29", "32", "36", "40", "45", "51", "57", "64", "72", "80", "90",
] as const;
const SHUTTERS = [
  "1/8000", "1/6400", "1/5000", "1/4000", "1/3200", "1/2500", "1/2000", "1/1600", "1/1250", "1/1000", "1/800", "1/640", "1/500", "1/400",
  "1/320", "1/250", "1/200", "1/160", "1/125", "1/100", "1/80", "1/60", "1/50", "1/40", "1/30", "1/25", "1/20", "1/15", "1/13", "1/10",
  "1/8", "1/6", "1/5", "1/4", "0.3", "0.4", "0.5", "0.6", "0.8", "1", "1.3", "1.6", "2", "2.5", "3.2", "4", "5", "6", "8", "10", "13",
  "15", "20", "25", "30",
] as const;
const SLOWEST = 15;
const ISOS = [
  50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800,
  16000, 20000, 25600, 32000, 40000, 51200,
] as const;

export interface Mark {
  /** Where on the dial. */
  at: number;
  words?: string;
  /** As the file writes it. */
  written?: string | number;
}

const whole = (k: number) => k % 3 === 0;
const inside = (marks: Mark[], low: number, high: number) => marks.filter((m) => m.at > low - 1e-3 && m.at < high + 1e-3);

/** A dial of stops runs over log2 N; only full stops carry their figure. */
export function fMarks(widest: number, smallest: number): Mark[] {
  const all = F_THIRDS.map((words, k) => ({ at: k / 6, written: Number(words), ...(whole(k) ? { words } : {}) }));
  return inside(all, Math.log2(widest), Math.log2(smallest));
}

/** The mark nearest a true f-number. */
export const fMark = (n: number): string => F_THIRDS[Math.min(Math.max(Math.round(6 * Math.log2(n)), 0), F_THIRDS.length - 1)] ?? n.toFixed(1);

/** A dial of shutter times runs over log2 of the time. */
export function shutterMarks(shortest: number, longest: number): Mark[] {
  const first = SLOWEST - SHUTTERS.length + 1;
  const all = SHUTTERS.map((written, i) => ({ at: (first + i) / 3, written, ...(whole(Math.abs(first + i)) ? { words: written.replace("1/", "") } : {}) }));
  return inside(all, Math.log2(shortest), Math.log2(longest));
}

export function shutterMark(seconds: number): string {
  const k = Math.round(3 * Math.log2(seconds)) - (SLOWEST - SHUTTERS.length + 1);
  return SHUTTERS[Math.min(Math.max(k, 0), SHUTTERS.length - 1)] ?? `${seconds}`;
}

/** A dial of speeds runs over log2 (S / 100). */
export function isoMarks(lowest: number, highest: number): Mark[] {
  const all = ISOS.map((iso, i) => ({ at: (i - 3) / 3, written: iso, ...(whole(i) ? { words: `${iso}` } : {}) }));
  return inside(all, Math.log2(lowest / 100), Math.log2(highest / 100));
}

export const isoMark = (iso: number): number => ISOS[Math.min(Math.max(Math.round(3 * Math.log2(iso / 100)) + 3, 0), ISOS.length - 1)] ?? iso;

/** The mark nearest a place on a dial. */
export function nearestMark(marks: readonly Mark[], at: number): Mark | undefined {
  return marks.reduce<Mark | undefined>((best, m) => (!best || Math.abs(m.at - at) < Math.abs(best.at - at) ? m : best), undefined);
}

/** Even marks from low to high, every `labelled`-th with its figure. */
export function evenMarks(low: number, high: number, step: number, labelled: number, words: (v: number) => string): Mark[] {
  const marks: Mark[] = [];
  for (let k = Math.ceil(low / step - 1e-6); k <= Math.floor(high / step + 1e-6); k++)
    marks.push(k % labelled === 0 ? { at: k * step, words: words(k * step) } : { at: k * step });
  return marks;
}

/** Marks of a focusing ring over the extension [m]: distances from the film, 2 f + e + f^2 / e. */
export function ringMarks(focal: number, most: number, imperial: boolean): Mark[] {
  const unit = imperial ? 0.3048 : 1;
  const figures = imperial ? [60, 30, 20, 15, 12, 10, 8, 7, 6, 5, 4, 3.5, 3, 2.5, 2, 1.5] : [30, 15, 10, 7, 5, 4, 3, 2.5, 2, 1.7, 1.5, 1.3, 1.2, 1.1, 1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.45, 0.4, 0.35, 0.3];
  const marks: Mark[] = [{ at: 0, words: "∞" }];
  for (const figure of figures) {
    const at = extensionAt(focal, figure * unit);
    if (at !== null && at <= most * 1.001) marks.push({ at, words: `${figure}` });
  }
  return marks;
}

/** Extension of a ring that shows a distance [m]; null nearer than four focal lengths. */
export function extensionAt(focal: number, distance: number | null): number | null {
  if (distance === null) return 0;
  const b = distance - 2 * focal;
  const root = b * b - 4 * focal * focal;
  return b <= 0 || root < 0 ? null : (2 * focal * focal) / (b + Math.sqrt(root));
}

/** What a ring shows at an extension; null is infinity. [m] */
export const ringAt = (focal: number, extension: number): number | null => (extension <= 1e-9 ? null : 2 * focal + extension + (focal * focal) / extension);
