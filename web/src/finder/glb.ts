/** The place and its people out of the server's binary glTF, as arrays that go to the graphics card as they are. */
import { type Mat4, type Vec3, multiply, rows } from "./matrix";

export interface Primitive {
  positions: Int16Array;
  normals: Int8Array;
  indices: Uint16Array | Uint32Array;
  /** Linear sRGB of the surface. */
  colour: Vec3;
  /** Share of light that does not pass straight through. */
  covers: number;
  /** Share that holds light back: what neither passes straight nor comes through scattered. */
  holds: number;
  /** What it gives on of light from behind, over what it gives back. */
  through: number;
  /** Number of the first vertex among all of the file. */
  first: number;
  count: number;
}

export interface SceneNode {
  name: string;
  kind: string;
  /** Eyes of a person when the file was made, place frame. [m] */
  eyes: Vec3 | null;
  /** Shares of sky and ground seen by what stands in one shot alone. */
  open: [number, number];
  /** Stored positions, -1..1, to the place frame. */
  toPlace: Mat4;
  low: Vec3;
  high: Vec3;
  primitives: Primitive[];
}

interface Tree {
  nodes: { name: string; mesh: number; translation: number[]; scale: number[]; extras?: { kind?: string; eyes?: number[]; open?: [number, number] } }[];
  meshes: { primitives: { attributes: { POSITION: number; NORMAL: number }; indices: number; material: number; extras?: { first?: number } }[] }[];
  materials: { pbrMetallicRoughness: { baseColorFactor: [number, number, number, number] }; extras?: { holds?: number; through?: number } }[];
  accessors: { bufferView: number; count: number; componentType: number; min?: number[]; max?: number[] }[];
  bufferViews: { byteOffset?: number; byteLength: number }[];
}

/** glTF's y-up frame back to the place's z-up: (x, y, z) -> (x, -z, y). */
const Z_UP: Mat4 = [1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1];

export function readGlb(data: ArrayBuffer): SceneNode[] {
  const view = new DataView(data);
  if (data.byteLength < 20 || view.getUint32(0, true) !== 0x46546c67) throw new Error("the scene is no binary glTF");
  const jsonLength = view.getUint32(12, true);
  const tree = JSON.parse(new TextDecoder().decode(new Uint8Array(data, 20, jsonLength))) as Tree;
  const start = 20 + jsonLength + 8;
  const at = <T>(list: readonly T[], k: number): T => {
    const found = list[k];
    if (found === undefined) throw new Error("the scene refers to a part that it does not hold");
    return found;
  };
  const where = (accessor: number) => {
    const a = at(tree.accessors, accessor);
    const v = at(tree.bufferViews, a.bufferView);
    return { ...a, offset: start + (v.byteOffset ?? 0) };
  };
  return tree.nodes.map((node) => {
    let low: Vec3 = [Infinity, Infinity, Infinity];
    let high: Vec3 = [-Infinity, -Infinity, -Infinity];
    const [tx, ty, tz] = node.translation as [number, number, number];
    const scale = node.scale[0] ?? 1;
    const toPlace = multiply(Z_UP, rows([scale, 0, 0, tx], [0, scale, 0, ty], [0, 0, scale, tz], [0, 0, 0, 1]));
    const primitives = at(tree.meshes, node.mesh).primitives.map((p): Primitive => {
      const position = where(p.attributes.POSITION);
      const normal = where(p.attributes.NORMAL);
      const index = where(p.indices);
      const material = at(tree.materials, p.material);
      const [r, g, b, covers] = material.pbrMetallicRoughness.baseColorFactor;
      low = fold(low, position.min ?? [-1, -1, -1], Math.min);
      high = fold(high, position.max ?? [1, 1, 1], Math.max);
      return {
        positions: new Int16Array(data, position.offset, position.count * 4),
        normals: new Int8Array(data, normal.offset, normal.count * 4),
        indices: index.componentType === 5125 ? new Uint32Array(data, index.offset, index.count) : new Uint16Array(data, index.offset, index.count),
        colour: [r, g, b],
        covers,
        holds: material.extras?.holds ?? (covers < 0.5 ? 0 : 1),
        through: material.extras?.through ?? 0,
        first: p.extras?.first ?? 0,
        count: position.count,
      };
    });
    const eyes = node.extras?.eyes;
    return {
      name: node.name,
      kind: node.extras?.kind ?? "block",
      eyes: eyes ? (eyes.slice(0, 3) as unknown as Vec3) : null,
      open: node.extras?.open ?? [0, 0],
      toPlace, low, high, primitives,
    };
  });
}

const fold = (a: Vec3, b: readonly number[], pick: (x: number, y: number) => number): Vec3 => [
  pick(a[0], b[0] ?? 0),
  pick(a[1], b[1] ?? 0),
  pick(a[2], b[2] ?? 0),
];

/** The eight corners of a node's bounds, place frame, moved by `by`. [m] */
export function corners(node: SceneNode, by: Vec3): Vec3[] {
  const found: Vec3[] = [];
  for (let k = 0; k < 8; k++) {
    const p: Vec3 = [k & 1 ? node.high[0] : node.low[0], k & 2 ? node.high[1] : node.low[1], k & 4 ? node.high[2] : node.low[2]];
    const m = node.toPlace;
    const row = (i: number) => (m[i * 4] as number) * p[0] + (m[i * 4 + 1] as number) * p[1] + (m[i * 4 + 2] as number) * p[2] + (m[i * 4 + 3] as number);
    found.push([row(0) + by[0], row(1) + by[1], row(2) + by[2]]);
  }
  return found;
}
