/** The set card's traffic and small memory: cards, takes, sharing; which steps are ticked is kept by this browser. */
import { ask, of } from "../api/client";
import type { Card, Take } from "../api/types";
import type { components } from "../api/schema";

export type Share = components["schemas"]["Share"];
export type Device = components["schemas"]["Device"];

export const getCard = (shot: string) => ask<Card>("GET", `${of(shot)}/card`);
export const getTakes = () => ask<Take[]>("GET", "api/takes");
export const noteTake = (take: { shot: string; number: number; kept: boolean; note: string }) => ask<unknown>("POST", "api/takes", take);

export const getShare = () => ask<Share>("GET", "api/share");
export const setShare = (on: boolean, allowEdits: boolean) => ask<Share>("POST", "api/share", { on, allow_edits: allowEdits });
export const getDevices = () => ask<Device[]>("GET", "api/devices");
export const shutOut = (id: string) => ask<Device[]>("DELETE", `api/devices/${encodeURIComponent(id)}`);
export const letEdit = (id: string, allow: boolean) => ask<Device[]>("PATCH", `api/devices/${encodeURIComponent(id)}`, { allow_edits: allow });

/** Units a meter is read in, with the key of the file and the least and most that make sense. */
export const UNITS = [
  { key: "stops", name: "stops from middle grey", step: "0.1" },
  { key: "lux", name: "lux", step: "any" },
  { key: "lux_seconds", name: "lux seconds", step: "any" },
] as const;
export type Unit = (typeof UNITS)[number]["key"];

/** A reading as a table of the file. */
export function readingOf(shot: string, who: string, light: string, unit: Unit, value: number): Record<string, unknown> {
  return { shot, who, ...(light ? { light } : {}), [unit]: value };
}

/** Steps of a shot's order of work that were ticked; forgotten when the steps themselves change. */
export function ticked(shot: string, order: readonly string[]): boolean[] {
  try {
    const kept = JSON.parse(sessionStorage.getItem(`sidelong.order.${shot}`) ?? "[]") as unknown;
    const done = Array.isArray(kept) ? kept : [];
    return order.map((step) => done.includes(step));
  } catch {
    return order.map(() => false);
  }
}

export function keepTicked(shot: string, order: readonly string[], done: readonly boolean[]): void {
  try {
    sessionStorage.setItem(`sidelong.order.${shot}`, JSON.stringify(order.filter((_, i) => done[i])));
  } catch {
    // a browser may forbid storage; the ticks then last as long as the page
  }
}
