/** The live view and the re-lit picture without a page around them: what the tests drive in a real browser. */
import { type Exposing, type SceneLight, lightingOf } from "./lighting";
import { Engine } from "./engine";
import { pointInFocus } from "./movement";
import { type Setup, type Window, glassOf, imageOf, rayThrough, sharpness, straightGain } from "./optics";
import type { Vec3 } from "./matrix";

export { stopsAt } from "../light/arithmetic";
export { filmToLinear, underOtherGels } from "../light/colour";
export { Relit } from "../light/relit";
export { glassOf, imageOf, pointInFocus, rayThrough, sharpness };

export const fromBase64 = (text: string): ArrayBuffer => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;

export function toBase64(data: ArrayBufferView): string {
  const bytes = new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
  let text = "";
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(text);
}

export interface Asked {
  glb: string;
  shade?: string;
  /** What stands in the shot alone. */
  shotGlb?: string;
  setup: Setup;
  window: Window;
  width: number;
  height: number;
  passes: number;
  light?: SceneLight;
  exposing?: Exposing;
  eyes?: Record<string, Vec3>;
}

/** The sum of all passes as linear sRGB, rows from the bottom, and the developed canvas as a PNG's data address. */
export function rendered(asked: Asked): { width: number; height: number; linear: string; png: string; took: number } {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [asked.width, asked.height];
  const engine = new Engine(canvas, asked.passes);
  engine.load(fromBase64(asked.glb));
  if (asked.shade) engine.shade(new Uint16Array(fromBase64(asked.shade)));
  if (asked.shotGlb) engine.loadShot(fromBase64(asked.shotGlb));
  if (asked.eyes) engine.stand(asked.eyes);
  const glass = glassOf(asked.setup);
  engine.resize(asked.width, asked.height);
  engine.look(glass, asked.window);
  engine.light(asked.light && asked.exposing ? lightingOf(asked.light, asked.exposing, straightGain(glass), engine.meshes.around()) : null);
  const started = performance.now();
  while (!engine.finished) engine.add(1);
  engine.gl.finish();
  engine.present();
  const { width, height, data } = engine.linear();
  const took = performance.now() - started;
  const png = canvas.toDataURL("image/png");
  engine.dispose();
  return { width, height, linear: toBase64(data), png, took };
}

/** Names at upright image positions [m]. */
export function seenAt(asked: Asked, images: [number, number][]): (string | null)[] {
  const canvas = document.createElement("canvas");
  const engine = new Engine(canvas, 4);
  engine.load(fromBase64(asked.glb));
  if (asked.shotGlb) engine.loadShot(fromBase64(asked.shotGlb));
  engine.look(glassOf(asked.setup), asked.window);
  const names = images.map((image) => engine.whatIsAt(image, asked.window.width / asked.width)?.name ?? null);
  engine.dispose();
  return names;
}
