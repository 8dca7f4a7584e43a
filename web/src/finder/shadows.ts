/** One depth picture a light, made anew only when lights or people have moved. */
import type { Lighting } from "./lighting";
import type { Mat4 } from "./matrix";
import type { Meshes, Uniform } from "./meshes";
import { MOST_HEADS, SHADOW_LAYERS } from "./shaders";

const SIZE = 1024;

export class Shadows {
  private readonly map: WebGLTexture;
  private readonly frame: WebGLFramebuffer;
  private lighting: Lighting | null = null;
  private waiting = true;
  private key = "";

  constructor(
    private readonly gl: WebGL2RenderingContext,
    private readonly program: WebGLProgram,
    private readonly uniform: Uniform,
    private readonly meshes: Meshes,
  ) {
    this.map = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.map);
    gl.texStorage3D(gl.TEXTURE_2D_ARRAY, 1, gl.DEPTH_COMPONENT24, SIZE, SIZE, SHADOW_LAYERS);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_COMPARE_MODE, gl.COMPARE_REF_TO_TEXTURE);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_COMPARE_FUNC, gl.LEQUAL);
    for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D_ARRAY, name, gl.LINEAR);
    for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D_ARRAY, name, gl.CLAMP_TO_EDGE);
    this.frame = gl.createFramebuffer();
  }

  stale(): void {
    this.waiting = true;
  }

  of(lighting: Lighting | null): void {
    const key = JSON.stringify(lighting ? [lighting.heads.map((h) => h.shadow), lighting.sunShadow, lighting.sun[1] > 0] : null);
    if (key !== this.key) this.waiting = true;
    this.key = key;
    this.lighting = lighting;
  }

  /** Make what has changed. */
  update(): void {
    if (!this.waiting || !this.lighting) return;
    this.waiting = false;
    const { gl } = this;
    gl.useProgram(this.program);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    gl.viewport(0, 0, SIZE, SIZE);
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(1.5, 4);
    this.lighting.heads.slice(0, MOST_HEADS).forEach((head, i) => this.layer(i, head.shadow));
    if (this.lighting.sun[1] > 0) this.layer(MOST_HEADS, this.lighting.sunShadow);
    gl.disable(gl.POLYGON_OFFSET_FILL);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  bind(unit: number, where: WebGLUniformLocation | null): void {
    const { gl } = this;
    gl.activeTexture(gl.TEXTURE0 + unit);
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.map);
    gl.uniform1i(where, unit);
  }

  free(): void {
    this.gl.deleteTexture(this.map);
    this.gl.deleteFramebuffer(this.frame);
  }

  private layer(number: number, toClip: Mat4): void {
    const { gl } = this;
    gl.framebufferTextureLayer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, this.map, 0, number);
    gl.drawBuffers([gl.NONE]);
    gl.clear(gl.DEPTH_BUFFER_BIT);
    this.meshes.draw(toClip, this.uniform, 0.05);
  }
}
