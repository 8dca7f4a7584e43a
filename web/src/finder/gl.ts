/** The few calls to WebGL2 that the finder and the re-lit picture share. */

export class NoGraphics extends Error {}

/** A WebGL2 context that can draw into float textures. Throws NoGraphics with what is missing. */
export function contextOf(canvas: HTMLCanvasElement | OffscreenCanvas, keep = false): WebGL2RenderingContext {
  const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, depth: false, preserveDrawingBuffer: keep, powerPreference: "high-performance" }) as WebGL2RenderingContext | null;
  if (!gl) throw new NoGraphics("This browser shows no WebGL2, which the live view draws with.");
  if (!gl.getExtension("EXT_color_buffer_float")) throw new NoGraphics("The graphics of this machine cannot add up light in float textures.");
  return gl;
}

export function program(gl: WebGL2RenderingContext, vertex: string, fragment: string): WebGLProgram {
  const made = gl.createProgram();
  for (const [kind, source] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]] as const) {
    const shader = gl.createShader(kind);
    if (!shader) throw new NoGraphics("The graphics were lost.");
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
    gl.deleteShader(shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS) && !gl.isContextLost()) {
    const log = (gl.getAttachedShaders(made) ?? []).map((s) => gl.getShaderInfoLog(s)).join("\n");
    throw new NoGraphics(`A shader was refused: ${gl.getProgramInfoLog(made) ?? ""} ${log}`);
  }
  return made;
}

/** Uniforms of a program by name, each looked up once. */
export function uniforms(gl: WebGL2RenderingContext, of: WebGLProgram): (name: string) => WebGLUniformLocation | null {
  const known = new Map<string, WebGLUniformLocation | null>();
  return (name) => {
    const found = known.get(name);
    if (found !== undefined) return found;
    const asked = gl.getUniformLocation(of, name);
    known.set(name, asked);
    return asked;
  };
}

/** A texture read pixel by pixel. */
export function texture(gl: WebGL2RenderingContext, format: number, width: number, height: number): WebGLTexture {
  const made = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, made);
  gl.texStorage2D(gl.TEXTURE_2D, 1, format, width, height);
  for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
  for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, name, gl.CLAMP_TO_EDGE);
  return made;
}

/** The develop shader's table of chroma, as a texture. */
export function tableTexture(gl: WebGL2RenderingContext, table: { width: number; height: number; data: Float32Array }): WebGLTexture {
  const made = texture(gl, gl.R32F, table.width, table.height);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 4);
  gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, table.width, table.height, gl.RED, gl.FLOAT, table.data);
  return made;
}

/** One triangle over everything. */
export const WHOLE_VERTEX = `#version 300 es
void main() {
  vec2 p = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
  gl_Position = vec4(p, 0.0, 1.0);
}`;
