/** The shot's light as the live view's shader wants it: colours times strength, shadows' views. */
import { type Whites, filmToLinear, underOtherGels } from "../light/colour";
import { type Mat4, type Vec3, apply3, cross, length, minus, multiply, plus, rows, seenFrom, times, unit } from "./matrix";

export interface GelChoice {
  ids: string[];
  share: number;
  cones: [number, number, number];
  cct_K: number;
  duv: number;
}

export interface SceneHead {
  name: string;
  strobe: string;
  energy_j: number;
  step_stops: number;
  range_stops: number;
  power: number | null;
  gels_on: string[];
  gels: GelChoice[];
  at: [number, number, number];
  axis: [number, number, number];
  up: [number, number, number];
  pattern: "sphere" | "beam" | "lambert";
  shape: "rectangle" | "octagon" | "disc";
  size_m: [number, number];
  exponent: number;
  grid_deg: number | null;
  /** Luminance of its front as it is seen, at full power. */
  front_cdm2?: number;
  intensity_cds: number;
  white: [number, number, number];
  ambient_lxs: number;
  bounced: boolean;
  /** A lamp that burns steadily: the shutter acts on it. */
  steady?: boolean;
}

/** Haze in a box of the place, evenly lit there by what `open` shares of sky and ground it sees. */
export interface Haze {
  extinction_per_m: number;
  albedo: number;
  g: number;
  low: [number, number, number];
  high: [number, number, number];
  open: [number, number];
}

/** The server's light of a shot in few numbers. */
export interface SceneLight {
  shot: string;
  heads: SceneHead[];
  sun: { to_sun: [number, number, number]; normal_lx: number; white: [number, number, number]; cct_K: number; ambient_lx: number; ground_lx: number } | null;
  sky: { horizontal_lx: number; white: [number, number, number]; cct_K: number; ambient_lx: number } | null;
  scrims?: { name: string; at: [number, number, number]; axis: [number, number, number]; up: [number, number, number]; size_m: [number, number]; glow_lx: number }[];
  ground: number;
  sync_s: number;
  shutter_s: [number, number];
  iso: [number, number];
  nd_stops?: number;
  haze?: Haze | null;
  whites: Whites;
}

/** What the camera and the heads are set to. */
export interface Exposing {
  shutter: number;
  iso: number;
  balance: number;
  /** Fraction of full power by head; 0 is off. */
  powers: Record<string, number>;
  /** Gels by head where they differ from the file's. */
  gels: Record<string, string[]>;
  sun: boolean;
  sky: boolean;
  /** Factor by light that brings this view to what was metered; 1 where nothing was. */
  metered: Record<string, number>;
}

export interface HeadUniforms {
  at: Vec3;
  axis: Vec3;
  light: Vec3;
  shape: Vec3;
  reach: number;
  shadow: Mat4;
  /** Half width and height of the front along its axes, for soft shadows. */
  across: Vec3;
  up: Vec3;
}

export interface Lighting {
  heads: HeadUniforms[];
  toSun: Vec3;
  sun: Vec3;
  sunShadow: Mat4;
  sky: Vec3;
  ground: Vec3;
  even: Vec3;
  backdrop: Vec3;
  /** Light that parts of the scene give out themselves, by name. */
  glows: Record<string, Vec3>;
  haze: Haze | null;
}

const SHADOW_NEAR = 0.1;
const SHADOW_FAR = 60;
const SHADOW_SLOPE = 2.2;

/** A look from a light along its axis, 131 degrees wide. */
function headView(head: Pick<SceneHead, "at" | "axis" | "up">): Mat4 {
  const forward = unit(head.axis);
  const up = unit(head.up);
  const right = cross(forward, up);
  const view = seenFrom(head.at, right, up, times(forward, -1));
  const [n, f] = [SHADOW_NEAR, SHADOW_FAR];
  const project = rows([1 / SHADOW_SLOPE, 0, 0, 0], [0, 1 / SHADOW_SLOPE, 0, 0], [0, 0, -(f + n) / (f - n), (-2 * f * n) / (f - n)], [0, 0, -1, 0]);
  return multiply(project, view);
}

/** A look along the sun's rays at a ball. */
function sunView(toSun: Vec3, centre: Vec3, radius: number): Mat4 {
  const back = unit(toSun);
  const helper: Vec3 = Math.abs(back[2]) < 0.95 ? [0, 0, 1] : [0, 1, 0];
  const right = unit(cross(helper, back));
  const up = cross(back, right);
  const view = seenFrom(centre, right, up, back);
  const depth = 3 * radius;
  return multiply(rows([1 / radius, 0, 0, 0], [0, 1 / radius, 0, 0], [0, 0, -1 / depth, 0], [0, 0, 0, 1]), view);
}

/** Lights as uniforms; `gain` is film irradiance over radiance on the axis, `around` the ball that the sun's shadow covers. */
export function lightingOf(scene: SceneLight, set: Exposing, gain: number, around: { centre: Vec3; radius: number }): Lighting {
  const toLinear = filmToLinear(scene.whites, set.iso * 2 ** -(scene.nd_stops ?? 0), set.balance).map((v) => (v * gain) / Math.PI);
  const coloured = (white: Vec3, light: number): Vec3 => times(apply3(toLinear, white), light);
  const factor = (name: string) => set.metered[name] ?? 1;
  let even: Vec3 = [0, 0, 0];
  const glows: Record<string, Vec3> = {};
  const heads = scene.heads.map((head): HeadUniforms => {
    const power = (set.powers[head.name] ?? head.power ?? 1) * factor(head.name) * (head.steady ? set.shutter : 1);
    const white = gelled(head, set.gels[head.name]);
    even = plus(even, coloured(white, head.ambient_lxs * power));
    glows[`front of ${head.name}`] = coloured(white, Math.PI * (head.front_cdm2 ?? 0) * power);
    const [w, h] = head.size_m;
    const right = cross(unit(head.axis), unit(head.up));
    return {
      at: head.at,
      axis: unit(head.axis),
      light: coloured(white, head.intensity_cds * power),
      shape: [
        head.pattern === "sphere" ? -1 : head.exponent,
        (w * h) / Math.PI,
        head.grid_deg === null ? 0 : Math.tan((head.grid_deg * Math.PI) / 360),
      ],
      reach: Math.max(w, h),
      shadow: headView(head),
      across: times(right, w / 2),
      up: times(unit(head.up), h / 2),
    };
  });
  const sunOn = scene.sun && set.sun ? set.shutter * factor("sun") : 0;
  const skyOn = scene.sky && set.sky ? set.shutter * factor("sky") : 0;
  const sunWhite: Vec3 = scene.sun?.white ?? [1, 1, 1];
  const skyWhite: Vec3 = scene.sky?.white ?? [1, 1, 1];
  const sky = coloured(skyWhite, (scene.sky?.horizontal_lx ?? 0) * skyOn);
  const ground = plus(
    times(sky, scene.ground),
    coloured(sunWhite, (scene.sun?.ground_lx ?? 0) * sunOn * scene.ground),
  );
  even = plus(even, plus(coloured(sunWhite, (scene.sun?.ambient_lx ?? 0) * sunOn), coloured(skyWhite, (scene.sky?.ambient_lx ?? 0) * skyOn)));
  for (const scrim of scene.scrims ?? []) {
    // a front of area A and illuminance E through it gives E A / pi along its axis, and looks as bright as E / pi
    const [w, h] = scrim.size_m;
    const glow = coloured(sunWhite, scrim.glow_lx * sunOn);
    glows[scrim.name] = glow;
    if (glow[1] <= 0) continue;
    const right = cross(unit(scrim.axis), unit(scrim.up));
    heads.push({
      at: scrim.at, axis: unit(scrim.axis), light: times(glow, (w * h) / Math.PI), shape: [1, (w * h) / Math.PI, 0], reach: Math.max(w, h),
      shadow: headView({ ...scrim, at: plus(scrim.at, times(unit(scrim.axis), 0.03)) as [number, number, number] }), across: times(right, w / 2), up: times(unit(scrim.up), h / 2),
    });
  }
  const toSun: Vec3 = scene.sun?.to_sun ?? [0, 0, 1];
  return {
    heads,
    toSun,
    sun: coloured(sunWhite, (scene.sun?.normal_lx ?? 0) * sunOn),
    sunShadow: sunView(toSun, around.centre, around.radius),
    sky, ground, even,
    backdrop: sky,
    glows,
    haze: scene.haze ?? null,
  };
}

function gelled(head: SceneHead, wanted: string[] | undefined): Vec3 {
  if (!wanted || wanted.join() === head.gels_on.join()) return head.white;
  const choice = (ids: string[]) => head.gels.find((g) => g.ids.join() === ids.join());
  const here = choice(head.gels_on), there = choice(wanted);
  return here && there ? apply3(underOtherGels(here.cones, there.cones), head.white) : head.white;
}

/**
 * Illuminance [lx, lx s] that this view gives a flat receptor at a point turned to a light, nothing in the way: to be
 * compared with what was metered there.
 */
export function unshadowed(scene: SceneLight, light: string, point: Vec3, powers: Record<string, number>): number {
  const head = scene.heads.find((h) => h.name === light);
  if (head) {
    const way = minus(head.at, point);
    const r = Math.max(length(way), 1e-3);
    const cos = -(head.axis[0] * way[0] + head.axis[1] * way[1] + head.axis[2] * way[2]) / r;
    const there = head.pattern === "sphere" ? 1 : Math.max(cos, 0) ** head.exponent;
    const power = powers[light] ?? head.power ?? 1;
    return power * ((head.intensity_cds * there) / (r * r + (head.size_m[0] * head.size_m[1]) / Math.PI) + head.ambient_lxs);
  }
  return 0;
}
