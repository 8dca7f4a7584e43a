/** The pictures of the queue: fetched, asked for, taken away, and said in words. */
import { ask } from "../api/client";
import type { DeskEvent, PictureEntry } from "../api/types";

export type Quality = PictureEntry["quality"];

export const QUALITIES: readonly { quality: Quality; name: string; about: string }[] = [
  { quality: "draft", name: "Draft", about: "small, some seconds" },
  { quality: "default", name: "Picture", about: "about a minute" },
  { quality: "fine", name: "Fine", about: "large, many minutes" },
];

export const dropPicture = (id: string) => ask<unknown>("DELETE", `api/pictures/${encodeURIComponent(id)}`);

/** Where a picture's pixels are; while it is being traced, those so far, fetched anew as it goes on. */
export function sourceOf(picture: PictureEntry): string | null {
  const at = `api/pictures/${encodeURIComponent(picture.id)}`;
  if (picture.state === "done") return `${at}/image.png`;
  return picture.state === "tracing" && picture.fraction > 0 ? `${at}/preview.png?at=${picture.fraction.toFixed(3)}` : null;
}

const NAMES: Record<Quality, string> = {
  draft: "draft", default: "picture", fine: "fine picture",
  day: "strip of the day", "day-anew": "strip of the day, each hour exposed anew",
};

/** "draft of 14:05, 480 × 320". */
export function nameOf(picture: PictureEntry): string {
  return `${NAMES[picture.quality]} of ${picture.made.slice(11, 16)}${picture.width ? `, ${picture.width} × ${picture.height}` : ""}`;
}

export function stateOf(picture: PictureEntry): string {
  if (picture.state === "tracing") return `tracing, ${Math.round(picture.fraction * 100)} %`;
  return { waiting: "waiting its turn", done: "done", failed: picture.words ?? "failed", cancelled: "cancelled" }[picture.state];
}

/** Whether it is a shot through the day: a sheet of frames, without layers. */
export const isDay = (picture: PictureEntry) => picture.quality === "day" || picture.quality === "day-anew";

export const isUnderWay = (picture: PictureEntry) => picture.state === "waiting" || picture.state === "tracing";

/** The pictures with how far an event says one is; null where they must be fetched anew to know more. */
export function heard(all: PictureEntry[], event: DeskEvent): PictureEntry[] | null {
  if (event.kind !== "picture") return all;
  const known = all.find((p) => p.id === event.id);
  return known?.state === event.state ? all.map((p) => (p === known ? { ...p, fraction: event.fraction } : p)) : null;
}

/** Settings of two pictures side by side, with whether they differ. */
export function settingsOf(one: PictureEntry, other: PictureEntry | null): { what: string; one: string; other: string; differs: boolean }[] {
  const keys = [...new Set([...Object.keys(one.settings), ...Object.keys(other?.settings ?? {})])];
  return keys.map((what) => {
    const [a, b] = [String(one.settings[what] ?? "–"), String(other?.settings[what] ?? "–")];
    return { what, one: a, other: b, differs: other !== null && a !== b };
  });
}
