/**
 * The live view through the moved lens: passes through points of the pupil, summed in float, shown as a developed
 * picture. The first pass, through the pupil's middle, shows at once; the others come as fast as frames allow.
 */
import { chromaTable } from "../light/develop";
import { NoGraphics, WHOLE_VERTEX, contextOf, program, tableTexture, texture, uniforms } from "./gl";
import { type SceneNode, readGlb } from "./glb";
import type { Lighting } from "./lighting";
import { type Vec3, apply, columns, minus, plus, times } from "./matrix";
import { Meshes, type Uniform } from "./meshes";
import { type Glass, type Window, passMatrix, pupilPoint, rayThrough, straightGain } from "./optics";
import { type Disc, pupilDiscs, withinPixel } from "./pupil";
import { MOST_HEADS, SCENE_FRAGMENT, SCENE_VERTEX, SHADOW_FRAGMENT, SHADOW_VERTEX, SHOW_FRAGMENT, SUM_FRAGMENT } from "./shaders";
import { Shadows } from "./shadows";

/** After so many passes the first one, through the pupil's middle, is taken out of the sum again. */
const SETTLED = 16;
const PICK_FRAGMENT = `#version 300 es
precision highp float;
uniform float id;
uniform float covers;
layout(location = 0) out vec4 who;
void main() { if (covers < 0.5) discard; who = vec4(id, 1.0 / gl_FragCoord.w, 0.0, 1.0); }`;

/** What is seen at a place of the picture. */
export interface Seen {
  name: string;
  kind: string;
  /** Place frame. [m] */
  at: Vec3;
}

interface Program {
  program: WebGLProgram;
  uniform: Uniform;
}

interface Targets {
  width: number;
  height: number;
  one: WebGLTexture;
  sums: [WebGLTexture, WebGLTexture];
  depth: WebGLRenderbuffer;
  into: WebGLFramebuffer;
  adding: [WebGLFramebuffer, WebGLFramebuffer];
}

export class Engine {
  readonly gl: WebGL2RenderingContext;
  readonly meshes: Meshes;
  private readonly scene: Program;
  private readonly sum: Program;
  private readonly show: Program;
  private readonly pick: Program;
  private readonly shadows: Shadows;
  private readonly table: WebGLTexture;
  private readonly nothing: WebGLVertexArrayObject;
  private targets: Targets | null = null;
  private picked: Targets | null = null;
  private glass: Glass | null = null;
  private window: Window | null = null;
  private lighting: Lighting | null = null;
  private discs: Disc[] = [];
  private done = 0;
  private middleIn = false;
  private latest = 0;

  constructor(readonly canvas: HTMLCanvasElement, private total = 128) {
    const gl = contextOf(canvas, true);
    this.gl = gl;
    const make = (vertex: string, fragment: string): Program => {
      const made = program(gl, vertex, fragment);
      return { program: made, uniform: uniforms(gl, made) };
    };
    this.scene = make(SCENE_VERTEX, SCENE_FRAGMENT);
    this.sum = make(WHOLE_VERTEX, SUM_FRAGMENT);
    this.show = make(WHOLE_VERTEX, SHOW_FRAGMENT);
    this.pick = make(SHADOW_VERTEX, PICK_FRAGMENT);
    const shadow = make(SHADOW_VERTEX, SHADOW_FRAGMENT);
    this.meshes = new Meshes(gl);
    this.shadows = new Shadows(gl, shadow.program, shadow.uniform, this.meshes);
    this.table = tableTexture(gl, chromaTable());
    this.nothing = gl.createVertexArray();
  }

  get passes(): number {
    return this.done;
  }

  get finished(): boolean {
    return this.done >= this.total;
  }

  load(data: ArrayBuffer): SceneNode[] {
    const nodes = readGlb(data);
    this.meshes.load(nodes);
    this.shadows.stale();
    this.restart();
    return nodes;
  }

  /** What stands in the chosen shot alone. */
  loadShot(data: ArrayBuffer): void {
    this.meshes.loadShot(readGlb(data));
    this.shadows.stale();
    this.restart();
  }

  shade(data: Uint16Array): void {
    this.meshes.shade(data);
    this.restart();
  }

  stand(eyes: Record<string, Vec3>): void {
    if (!this.meshes.stand(eyes)) return;
    this.shadows.stale();
    this.restart();
  }

  look(glass: Glass, shown: Window): void {
    this.glass = glass;
    this.window = shown;
    this.restart();
  }

  light(lighting: Lighting | null): void {
    this.lighting = lighting;
    this.shadows.of(lighting);
    this.meshes.glows = lighting?.glows ?? {};
    this.restart();
  }

  /** Passes to sum up, a power of two; more is smoother where much is blurred. */
  aim(total: number): void {
    if (total === this.total) return;
    this.total = total;
    this.restart();
  }

  restart(): void {
    this.done = 0;
    this.middleIn = false;
    this.discs = [];
  }

  /** Size of the sum in pixels; what is shown has the canvas's. */
  resize(width: number, height: number): void {
    const [w, h] = [Math.max(16, Math.round(width)), Math.max(16, Math.round(height))];
    if (this.targets?.width === w && this.targets.height === h) return;
    this.drop();
    this.targets = this.make(w, h);
    this.restart();
  }

  /** Up to `count` more passes onto the sum. `settled`: the shadows may be made anew. */
  add(count: number, settled = true): void {
    const { glass, window, targets } = this;
    if (!glass || !window || !targets) return;
    if (settled) this.shadows.update();
    if (!this.discs.length) this.discs = pupilDiscs(this.total, glass.setup.blades);
    for (let k = 0; k < count && this.done < this.total; k++) {
      if (this.done === 0 && !this.middleIn) {
        this.pass(glass, window, targets, [0, 0], 0, 1, true);
        this.middleIn = true;
        continue;
      }
      this.pass(glass, window, targets, this.discs[this.done] ?? [0, 0], this.done, 1, false);
      this.done += 1;
      if (this.middleIn && (this.done === SETTLED || this.done === this.total)) {
        this.pass(glass, window, targets, [0, 0], 0, -1, false);
        this.middleIn = false;
      }
    }
  }

  /** Develop the sum onto the canvas. */
  present(): void {
    const { gl, targets } = this;
    if (!targets) return;
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.disable(gl.DEPTH_TEST);
    gl.useProgram(this.show.program);
    this.bind(0, targets.sums[this.latest] as WebGLTexture, this.show.uniform("sum"));
    this.bind(1, this.table, this.show.uniform("chromaTable"));
    gl.uniform2f(this.show.uniform("size"), targets.width, targets.height);
    gl.uniform2f(this.show.uniform("shownSize"), this.canvas.width, this.canvas.height);
    this.whole();
  }

  /** Linear sRGB of the sum, rows from the bottom, four numbers a pixel of which the last is 1. */
  linear(): { width: number; height: number; data: Float32Array } {
    const { gl, targets } = this;
    if (!targets) return { width: 0, height: 0, data: new Float32Array() };
    const data = new Float32Array(targets.width * targets.height * 4);
    gl.bindFramebuffer(gl.FRAMEBUFFER, targets.adding[this.latest] as WebGLFramebuffer);
    gl.readPixels(0, 0, targets.width, targets.height, gl.RGBA, gl.FLOAT, data);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    for (let i = 0; i < data.length; i += 4) {
      const n = Math.max(data[i + 3] as number, 1e-6);
      for (let c = 0; c < 4; c++) data[i + c] = (data[i + c] as number) / n;
    }
    return { width: targets.width, height: targets.height, data };
  }

  /** What is seen at an upright image position [m] through the pupil's middle; `pixel` is a pixel's size on the film. */
  whatIsAt(image: readonly [number, number], pixel: number): Seen | null {
    const { gl, glass } = this;
    if (!glass) return null;
    this.picked ??= this.make(1, 1, gl.RGBA32F);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.picked.into);
    gl.viewport(0, 0, 1, 1);
    gl.enable(gl.DEPTH_TEST);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.useProgram(this.pick.program);
    const toClip = passMatrix(glass, pupilPoint(glass, [0, 0]), { centre: image, width: pixel, height: pixel });
    this.meshes.draw(toClip, this.pick.uniform, 0.15, true);
    const found = new Float32Array(4);
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.FLOAT, found);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    const who = this.meshes.kindOf(Math.round(found[0] ?? 0));
    if (!who) return null;
    // depth grows evenly along the ray from the pupil
    const ray = rayThrough(glass, image);
    const one = apply(toClip, plus(ray.from, ray.towards))[3];
    return { ...who, at: plus(ray.from, times(ray.towards, (found[1] ?? 0) / one)) };
  }

  dispose(): void {
    this.drop();
    this.meshes.free();
    this.shadows.free();
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }

  private pass(glass: Glass, window: Window, targets: Targets, disc: Disc, number: number, counts: number, fresh: boolean): void {
    const { gl, scene } = this;
    const pupil = pupilPoint(glass, disc);
    const [jx, jy] = withinPixel(number);
    const toClip = passMatrix(glass, pupil, window, [(2 * jx) / targets.width, (2 * jy) / targets.height]);
    gl.bindFramebuffer(gl.FRAMEBUFFER, targets.into);
    gl.viewport(0, 0, targets.width, targets.height);
    gl.enable(gl.DEPTH_TEST);
    const back = this.lighting ? this.lighting.backdrop : ([0.5, 0.5, 0.5] as const);
    gl.clearColor(back[0], back[1], back[2], 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.useProgram(scene.program);
    gl.uniform1f(scene.uniform("pass"), number);
    const eye = plus(glass.setup.at, [0, 0, 0]);
    gl.uniform3f(scene.uniform("eye"), eye[0], eye[1], eye[2]);
    this.curved(glass, pupil, window);
    this.lit(disc, number);
    this.meshes.draw(toClip, scene.uniform);
    this.addUp(glass, window, targets, pupil, counts, fresh);
  }

  /** Field curvature for a pass through one pupil point. */
  private curved(glass: Glass, pupil: Vec3, window: Window): void {
    const { gl, scene } = this;
    gl.uniform1f(scene.uniform("curvature"), glass.setup.curvature);
    if (glass.setup.curvature === 0) return;
    const aside = minus(pupil, pupilPoint(glass, [0, 0]));
    gl.uniformMatrix4fv(scene.uniform("toGlass"), false, columns(glass.toGlass));
    gl.uniform3fv(scene.uniform("lensAxis"), glass.axis as unknown as number[]);
    gl.uniform3fv(scene.uniform("aside"), aside as unknown as number[]);
    gl.uniform1f(scene.uniform("pupilOffset"), glass.pupilOffset);
    gl.uniform1f(scene.uniform("focalLength"), glass.setup.focal);
    gl.uniform1f(scene.uniform("filmReach"), glass.filmDistance);
    gl.uniform2f(scene.uniform("filmScale"), 2 / window.width, 2 / window.height);
  }

  private lit(disc: Disc, number: number): void {
    const { gl, lighting, scene } = this;
    gl.uniform1i(scene.uniform("work"), lighting ? 0 : 1);
    gl.uniform1i(scene.uniform("shaded"), this.meshes.shaded ? 1 : 0);
    this.shadows.bind(2, scene.uniform("shadows"));
    gl.uniform1i(scene.uniform("heads"), Math.min(lighting?.heads.length ?? 0, MOST_HEADS));
    if (!lighting) return;
    lighting.heads.slice(0, MOST_HEADS).forEach((head, i) => {
      gl.uniform3fv(scene.uniform(`headAt[${i}]`), head.at as unknown as number[]);
      gl.uniform3fv(scene.uniform(`headAxis[${i}]`), head.axis as unknown as number[]);
      gl.uniform3fv(scene.uniform(`headLight[${i}]`), head.light as unknown as number[]);
      gl.uniform3fv(scene.uniform(`headShape[${i}]`), head.shape as unknown as number[]);
      // shadows are looked up from as far aside as a place of the front is: soft where passes are summed
      const shift = plus(times(head.across, disc[0] * 0.35), times(head.up, (disc[1] * (i % 2 ? -1 : 1) + (number % 2 ? 0.1 : 0)) * 0.35));
      gl.uniform3fv(scene.uniform(`headShift[${i}]`), shift as unknown as number[]);
      gl.uniformMatrix4fv(scene.uniform(`headShadow[${i}]`), false, columns(head.shadow));
    });
    const haze = lighting.haze;
    const through = 0.5 + number * 0.6180339887498949;
    gl.uniform4f(scene.uniform("air"), haze?.extinction_per_m ?? 0, haze?.albedo ?? 0, haze?.g ?? 0, through - Math.floor(through));
    if (haze) {
      gl.uniform2f(scene.uniform("airOpen"), haze.open[0], haze.open[1]);
      gl.uniform3fv(scene.uniform("airLow"), haze.low);
      gl.uniform3fv(scene.uniform("airHigh"), haze.high);
    }
    gl.uniform3fv(scene.uniform("toSun"), lighting.toSun as unknown as number[]);
    gl.uniform3fv(scene.uniform("sunLight"), lighting.sun as unknown as number[]);
    gl.uniformMatrix4fv(scene.uniform("sunShadow"), false, columns(lighting.sunShadow));
    gl.uniform3fv(scene.uniform("skyLight"), lighting.sky as unknown as number[]);
    gl.uniform3fv(scene.uniform("groundLight"), lighting.ground as unknown as number[]);
    gl.uniform3fv(scene.uniform("evenLight"), lighting.even as unknown as number[]);
  }

  private addUp(glass: Glass, window: Window, targets: Targets, pupil: Vec3, counts: number, fresh: boolean): void {
    const { gl, sum } = this;
    const next = this.latest === 0 ? 1 : 0;
    gl.bindFramebuffer(gl.FRAMEBUFFER, targets.adding[next] as WebGLFramebuffer);
    gl.disable(gl.DEPTH_TEST);
    gl.useProgram(sum.program);
    this.bind(0, targets.one, sum.uniform("one"));
    this.bind(1, targets.sums[this.latest] as WebGLTexture, sum.uniform("sum"));
    gl.uniform1i(sum.uniform("fresh"), fresh ? 1 : 0);
    gl.uniform1f(sum.uniform("counts"), counts);
    gl.uniform2f(sum.uniform("size"), targets.width, targets.height);
    gl.uniform2f(sum.uniform("centre"), window.centre[0], window.centre[1]);
    gl.uniform2f(sum.uniform("extent"), window.width, window.height);
    gl.uniform3fv(sum.uniform("principal"), glass.principal as unknown as number[]);
    gl.uniform3fv(sum.uniform("axis"), glass.axis as unknown as number[]);
    gl.uniform3fv(sum.uniform("pupil"), pupil as unknown as number[]);
    gl.uniform1f(sum.uniform("filmDistance"), glass.filmDistance);
    gl.uniform1f(sum.uniform("focal"), glass.setup.focal);
    gl.uniform1f(sum.uniform("pupilRatio"), glass.setup.pupilRatio);
    gl.uniform1f(sum.uniform("gain"), (Math.PI * glass.pupilRadius ** 2) / straightGain(glass));
    this.whole();
    this.latest = next;
  }

  private whole(): void {
    this.gl.bindVertexArray(this.nothing);
    this.gl.drawArrays(this.gl.TRIANGLES, 0, 3);
  }

  private bind(unit: number, what: WebGLTexture, where: WebGLUniformLocation | null): void {
    const { gl } = this;
    gl.activeTexture(gl.TEXTURE0 + unit);
    gl.bindTexture(gl.TEXTURE_2D, what);
    gl.uniform1i(where, unit);
  }

  private make(width: number, height: number, format: number = this.gl.RGBA16F): Targets {
    const { gl } = this;
    const one = texture(gl, format, width, height);
    const sums: [WebGLTexture, WebGLTexture] = [texture(gl, gl.RGBA32F, width, height), texture(gl, gl.RGBA32F, width, height)];
    const depth = gl.createRenderbuffer();
    gl.bindRenderbuffer(gl.RENDERBUFFER, depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT24, width, height);
    const frame = (colour: WebGLTexture) => {
      const made = gl.createFramebuffer();
      gl.bindFramebuffer(gl.FRAMEBUFFER, made);
      gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, colour, 0);
      return made;
    };
    const into = frame(one);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depth);
    if (gl.checkFramebufferStatus(gl.FRAMEBUFFER) !== gl.FRAMEBUFFER_COMPLETE && !gl.isContextLost())
      throw new NoGraphics("The graphics of this machine cannot hold the picture's float targets.");
    return { width, height, one, sums, depth, into, adding: [frame(sums[0]), frame(sums[1])] };
  }

  private drop(): void {
    if (this.targets) this.free(this.targets);
    this.targets = null;
  }

  private free(t: Targets): void {
    const { gl } = this;
    for (const what of [t.one, ...t.sums]) gl.deleteTexture(what);
    for (const what of [t.into, ...t.adding]) gl.deleteFramebuffer(what);
    gl.deleteRenderbuffer(t.depth);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }
}

