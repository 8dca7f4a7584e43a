/** A traced picture lit anew: its layers as half floats in a texture array, weighed and developed in a shader. */
import { WHOLE_VERTEX, contextOf, program, tableTexture, uniforms } from "../finder/gl";
import { multiply3 } from "../finder/matrix";
import { DEVELOP_GLSL, chromaTable } from "./develop";
import type { Whites } from "./colour";

/** What the server says of a picture's layers. */
export interface LayersHead {
  id?: string;
  shot?: string;
  width: number;
  height: number;
  names: string[];
  flash: boolean[];
  scales: number[];
  samples: number;
  f_number: number;
  shutter_s: number;
  iso: number;
  /** ND on the lens, already taken off `iso`. */
  nd_stops?: number;
  balance_K: number;
  heads: { name: string; power: number; gels: string[] }[];
  whites: Whites;
}

export const MOST_LAYERS = 16;

const FRAGMENT = `#version 300 es
precision highp float;
precision highp sampler2DArray;
uniform sampler2DArray layers;
uniform int count;
uniform mat3 weigh[${MOST_LAYERS}];
uniform vec2 size;
uniform vec2 shown;
layout(location = 0) out vec4 colour;
${DEVELOP_GLSL}
vec3 linearAt(ivec2 p) {
  vec3 sum = vec3(0.0);
  for (int i = 0; i < ${MOST_LAYERS}; i++) {
    if (i >= count) break;
    sum += weigh[i] * texelFetch(layers, ivec3(p, i), 0).rgb;
  }
  return sum;
}
void main() {
  vec2 p = gl_FragCoord.xy / shown * size;
  ivec2 pixel = clamp(ivec2(p.x, size.y - p.y), ivec2(0), ivec2(size) - 1);
  colour = vec4(developed(linearAt(pixel)), 1.0);
}`;

/** Whether this screen's shorter side has so few pixels that layers of half the size are enough. [CSS pixels] */
export const smallScreen = () => Math.min(screen.width, screen.height) < 600;

export class Relit {
  private readonly gl: WebGL2RenderingContext;
  private readonly made: WebGLProgram;
  private readonly where: (name: string) => WebGLUniformLocation | null;
  private readonly map: WebGLTexture;
  private readonly table: WebGLTexture;

  /** `data`: half floats (L, H, W, 3), little-endian. Throws with words where the layers do not fit. */
  constructor(readonly canvas: HTMLCanvasElement, readonly head: LayersHead, data: ArrayBuffer) {
    const { width, height, names } = head;
    if (data.byteLength !== names.length * width * height * 6) throw new Error("The picture's layers came incomplete.");
    if (names.length > MOST_LAYERS) throw new Error(`A picture of ${names.length} lights cannot be lit anew here; ${MOST_LAYERS} can.`);
    [canvas.width, canvas.height] = [width, height];
    const gl = contextOf(canvas, true);
    this.gl = gl;
    this.made = program(gl, WHOLE_VERTEX, FRAGMENT);
    this.where = uniforms(gl, this.made);
    this.table = tableTexture(gl, chromaTable());
    this.map = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.map);
    gl.texStorage3D(gl.TEXTURE_2D_ARRAY, 1, gl.RGB16F, width, height, names.length);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 2);
    gl.texSubImage3D(gl.TEXTURE_2D_ARRAY, 0, 0, 0, 0, width, height, names.length, gl.RGB, gl.HALF_FLOAT, new Uint16Array(data));
    for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D_ARRAY, name, gl.NEAREST);
  }

  /**
   * Show the picture under other weights: `toLinear` from film exposure to linear sRGB; per light what it `counts`
   * (seconds for steady light, a factor for flash) and, under other gels, a matrix.
   */
  draw(toLinear: readonly number[], counts: Record<string, number>, gels: Record<string, readonly number[]> = {}): void {
    const { gl, head, where } = this;
    gl.useProgram(this.made);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    head.names.forEach((name, i) => {
      const gel = gels[name];
      const matrix = gel ? multiply3(toLinear, gel) : toLinear;
      const factor = (counts[name] ?? 0) * (head.scales[i] ?? 1);
      gl.uniformMatrix3fv(where(`weigh[${i}]`), true, matrix.map((v) => v * factor));
    });
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.map);
    gl.uniform1i(where("layers"), 0);
    gl.activeTexture(gl.TEXTURE1);
    gl.bindTexture(gl.TEXTURE_2D, this.table);
    gl.uniform1i(where("chromaTable"), 1);
    gl.uniform1i(where("count"), head.names.length);
    gl.uniform2f(where("size"), head.width, head.height);
    gl.uniform2f(where("shown"), this.canvas.width, this.canvas.height);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  /** What is shown, 8 bits, rows from the top, four numbers a pixel. */
  pixels(): Uint8Array {
    const { gl } = this;
    const { width, height } = this.canvas;
    const found = new Uint8Array(width * height * 4);
    gl.readPixels(0, 0, width, height, gl.RGBA, gl.UNSIGNED_BYTE, found);
    const out = new Uint8Array(found.length);
    for (let y = 0; y < height; y++) out.set(found.subarray((height - 1 - y) * width * 4, (height - y) * width * 4), y * width * 4);
    return out;
  }

  dispose(): void {
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}
