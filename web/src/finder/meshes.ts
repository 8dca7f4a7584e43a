/** The scene's triangles on the graphics card, who stands where, and which of it can be seen. */
import { type SceneNode, corners } from "./glb";
import { type Mat4, type Vec3, apply, columns, identity, multiply } from "./matrix";

interface Piece {
  array: WebGLVertexArrayObject;
  count: number;
  type: number;
  colour: Vec3;
  covers: number;
  holds: number;
  through: number;
  buffers: WebGLBuffer[];
}

interface Thing {
  node: SceneNode;
  pieces: Piece[];
  /** How far a person has been moved since the scene was made. [m] */
  by: Vec3;
  bounds: Vec3[];
}

const DARK: Vec3 = [0, 0, 0];

export type Uniform = (name: string) => WebGLUniformLocation | null;

export class Meshes {
  private place: Thing[] = [];
  private shot: Thing[] = [];
  private shares: WebGLBuffer | null = null;
  private readonly clip = new Float32Array(16);
  private readonly toPlace = new Float32Array(16);
  /** Light that parts give out themselves, by name. */
  glows: Record<string, Vec3> = {};
  /** Whether the shares of sky, ground and room have come. */
  shaded = false;

  constructor(private readonly gl: WebGL2RenderingContext) {}

  private get things(): Thing[] {
    return [...this.place, ...this.shot];
  }

  /** The place and its people. */
  load(nodes: SceneNode[]): void {
    this.drop(this.place);
    if (this.shares) this.gl.deleteBuffer(this.shares);
    this.shares = null;
    this.shaded = false;
    this.place = this.made(nodes);
  }

  /** What stands in the chosen shot alone. */
  loadShot(nodes: SceneNode[]): void {
    this.drop(this.shot);
    this.shot = this.made(nodes);
  }

  private made(nodes: SceneNode[]): Thing[] {
    return nodes.map((node) => ({ node, pieces: node.primitives.map((p) => this.piece(p)), by: [0, 0, 0], bounds: corners(node, [0, 0, 0]) }));
  }

  /** Shares of sky, ground and room, four half floats a vertex in the scene's order. */
  shade(data: Uint16Array): void {
    const { gl } = this;
    const wanted = this.place.reduce((sum, t) => sum + t.node.primitives.reduce((s, p) => s + p.count, 0), 0);
    if (data.length !== wanted * 4) return;
    if (this.shares) gl.deleteBuffer(this.shares);
    this.shares = this.buffer(gl.ARRAY_BUFFER, data);
    for (const thing of this.place)
      thing.pieces.forEach((piece, i) => {
        const first = thing.node.primitives[i]?.first ?? 0;
        gl.bindVertexArray(piece.array);
        gl.bindBuffer(gl.ARRAY_BUFFER, this.shares);
        gl.enableVertexAttribArray(2);
        gl.vertexAttribPointer(2, 4, gl.HALF_FLOAT, false, 8, first * 8);
      });
    gl.bindVertexArray(null);
    this.shaded = true;
  }

  /** Move people to where their eyes are now; true if anybody moved. */
  stand(eyes: Record<string, Vec3>): boolean {
    let moved = false;
    for (const thing of this.place) {
      const [was, now] = [thing.node.eyes, eyes[thing.node.name]];
      if (!was || !now) continue;
      const by: Vec3 = [now[0] - was[0], now[1] - was[1], now[2] - was[2]];
      if (by.every((v, i) => Math.abs(v - (thing.by[i] as number)) < 1e-5)) continue;
      thing.by = by;
      thing.bounds = corners(thing.node, by);
      moved = true;
    }
    return moved;
  }

  /** A ball around the people and what is built, without the open ground. [m] */
  around(): { centre: Vec3; radius: number } {
    let low: Vec3 = [Infinity, Infinity, Infinity], high: Vec3 = [-Infinity, -Infinity, -Infinity];
    for (const thing of this.place) {
      if (thing.node.kind === "ground") continue;
      for (const p of thing.bounds) {
        low = [Math.min(low[0], p[0]), Math.min(low[1], p[1]), Math.min(low[2], p[2])];
        high = [Math.max(high[0], p[0]), Math.max(high[1], p[1]), Math.max(high[2], p[2])];
      }
    }
    if (!(low[0] < high[0])) return { centre: [0, 0, 0], radius: 10 };
    const centre: Vec3 = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2];
    return { centre, radius: Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]) / 2 };
  }

  /** Draw what a projection can see, nearest first. `margin` widens the view, in clip space. */
  draw(toClip: Mat4, uniform: Uniform, margin = 0.15, ids = false): void {
    const { gl, things } = this;
    const seen = things
      .map((thing) => ({ thing, near: nearest(toClip, thing.bounds, margin) }))
      .filter((s) => s.near < Infinity)
      .sort((a, b) => a.near - b.near);
    for (const { thing } of seen) {
      const move: Mat4 = identity.map((v, i) => (i % 4 === 3 && i < 12 ? (thing.by[(i - 3) / 4] as number) : v));
      const toPlace = multiply(move, thing.node.toPlace);
      gl.uniformMatrix4fv(uniform("toClip"), false, columns(multiply(toClip, toPlace), this.clip));
      gl.uniformMatrix4fv(uniform("toPlace"), false, columns(toPlace, this.toPlace));
      const glow = this.glows[thing.node.name] ?? DARK;
      gl.uniform3f(uniform("glow"), glow[0], glow[1], glow[2]);
      // the front of a light shines one way, what hangs in an opening both
      gl.uniform1i(uniform("oneWay"), thing.node.kind === "front" ? 1 : 0);
      if (ids) gl.uniform1f(uniform("id"), things.indexOf(thing) + 1);
      else gl.vertexAttrib4f(2, thing.node.open[0], thing.node.open[1], 1, 0);
      for (const piece of thing.pieces) {
        gl.uniform3fv(uniform("colour"), piece.colour as unknown as number[]);
        gl.uniform1f(uniform("covers"), piece.covers);
        gl.uniform1f(uniform("holds"), piece.holds);
        gl.uniform1f(uniform("through"), piece.through);
        gl.bindVertexArray(piece.array);
        gl.drawElements(gl.TRIANGLES, piece.count, piece.type, 0);
      }
    }
    gl.bindVertexArray(null);
  }

  kindOf(number: number): { name: string; kind: string } | null {
    const thing = this.things[number - 1];
    return thing ? { name: thing.node.name, kind: thing.node.kind } : null;
  }

  free(): void {
    this.drop(this.place);
    this.drop(this.shot);
    if (this.shares) this.gl.deleteBuffer(this.shares);
    [this.place, this.shot, this.shares, this.shaded] = [[], [], null, false];
  }

  private drop(things: Thing[]): void {
    for (const { pieces } of things)
      for (const piece of pieces) {
        this.gl.deleteVertexArray(piece.array);
        for (const buffer of piece.buffers) this.gl.deleteBuffer(buffer);
      }
  }

  private piece(p: SceneNode["primitives"][number]): Piece {
    const { gl } = this;
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    const buffers = [this.buffer(gl.ARRAY_BUFFER, p.positions)];
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.SHORT, true, 8, 0);
    buffers.push(this.buffer(gl.ARRAY_BUFFER, p.normals));
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(1, 3, gl.BYTE, true, 4, 0);
    buffers.push(this.buffer(gl.ELEMENT_ARRAY_BUFFER, p.indices));
    gl.bindVertexArray(null);
    const type = p.indices instanceof Uint32Array ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT;
    return { array, count: p.indices.length, type, colour: p.colour, covers: p.covers, holds: p.holds, through: p.through, buffers };
  }

  private buffer(target: number, data: ArrayBufferView): WebGLBuffer {
    const { gl } = this;
    const made = gl.createBuffer();
    gl.bindBuffer(target, made);
    gl.bufferData(target, data, gl.STATIC_DRAW);
    return made;
  }
}

/** Depth of the nearest corner of bounds that may be in view, Infinity where none can be. */
function nearest(toClip: Mat4, bounds: Vec3[], margin: number): number {
  const points = bounds.map((p) => apply(toClip, p));
  const room = 1 + margin;
  const all = (test: (p: [number, number, number, number]) => boolean) => points.every(test);
  if (all((p) => p[3] <= 0) || all((p) => p[0] > room * p[3]) || all((p) => p[0] < -room * p[3])) return Infinity;
  if (all((p) => p[1] > room * p[3]) || all((p) => p[1] < -room * p[3])) return Infinity;
  return Math.min(...points.map((p) => p[3]));
}

