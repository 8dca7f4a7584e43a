/** Figures and paths as people read them. */
import type { Step } from "../api/types";
import { desk } from "./state.svelte";

/** A length in metres, or in feet and inches where so chosen: "2.35 m", "7 ft 8½ in". */
export function length(metres: number, digits = 2): string {
  if (desk.units === "metric") return `${metres.toFixed(digits)} m`;
  const quarters = Math.round((Math.abs(metres) / 0.0254) * 4);
  const feet = Math.floor(quarters / 48);
  const inches = (quarters - feet * 48) / 4;
  const whole = Math.floor(inches);
  const part = ["", "¼", "½", "¾"][Math.round((inches - whole) * 4)] ?? "";
  const words = [feet ? `${feet} ft` : "", whole || part || !feet ? `${whole || !part ? whole : ""}${part} in` : ""];
  return (metres < 0 ? "−" : "") + words.filter(Boolean).join(" ");
}

/** "07:05" of a minute of the day. */
export function clockOf(minute: number): string {
  const whole = Math.round(minute);
  return `${String(Math.floor(whole / 60)).padStart(2, "0")}:${String(whole % 60).padStart(2, "0")}`;
}

/** Angles with a true minus sign: "−4.0°". */
export const degrees = (angle: number, digits = 1) => `${signed(angle, digits)}°`;

/** A number with a true minus sign; nought without one. */
export function signed(value: number, digits: number): string {
  const text = value.toFixed(digits);
  return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−");
}

/** Stops with their sign: "+1.3", "−0.4", "0.0". */
export function stops(value: number): string {
  const text = signed(value, 1);
  return value >= 0.05 ? `+${text}` : text;
}

/** Micrometres on the film: two figures that count. */
export function micrometres(value: number): string {
  return `${value < 10 ? value.toFixed(1) : value.toFixed(0)} µm`;
}

/** A distance on the ring. */
export const ring = (metres: number | null) => (metres === null || metres > 9999 ? "infinity" : length(metres));

export function pathInWords(path: Step[]): string {
  return path.map((step) => (typeof step === "object" ? `“${step.is}”` : typeof step === "number" ? `no. ${step + 1}` : step)).join(" › ");
}

export function valueInWords(value: unknown): string {
  if (value === null || value === undefined) return "not there";
  if (typeof value === "string") return value;
  return JSON.stringify(value, null, 1).replace(/\s+/g, " ");
}
