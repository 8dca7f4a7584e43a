"""Garments as level sets: distance from a cloud of skin samples, less a looseness, smoothed and clipped."""

from __future__ import annotations

from dataclasses import dataclass

import fast_simplification
import numpy as np
from scipy import ndimage
from scipy.spatial import cKDTree
from skimage.measure import marching_cubes

REACH = 0.07
"""How far from the skin distances are worked out. [m]"""


@dataclass
class Skin:
    """Samples of a surface: `points` and `normals` (N, 3), `rest` (N, 3) where they lie at rest, `weights` (N, B)."""

    points: np.ndarray
    normals: np.ndarray
    rest: np.ndarray
    weights: np.ndarray

    def only(self, mask: np.ndarray) -> Skin:
        """The samples where `mask` is true."""
        return Skin(self.points[mask], self.normals[mask], self.rest[mask], self.weights[mask])


@dataclass
class Field:
    """A signed distance on a grid, negative inside. `near` (n,) are the nodes (flat) that lie near the skin,
    `sample` (n, 4) the skin samples nearest to each and `share` (n, 4) how much each counts."""

    origin: np.ndarray
    step: float
    value: np.ndarray
    near: np.ndarray
    sample: np.ndarray
    share: np.ndarray

    def nodes(self) -> np.ndarray:
        """Places of the grid's nodes (X, Y, Z, 3). [m]"""
        axes = [self.origin[i] + self.step * np.arange(self.value.shape[i]) for i in range(3)]
        return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)

    def spread(self, per_sample: np.ndarray, far: float = 0.0) -> np.ndarray:
        """A quantity of the samples (N,) carried to the nodes near the skin; `far` elsewhere."""
        out = np.full(self.value.size, far)
        out[self.near] = (per_sample[self.sample] * self.share).sum(axis=1)
        return out.reshape(self.value.shape)


def sample_quads(vertices: np.ndarray, rest: np.ndarray, weights: np.ndarray, quads: np.ndarray, cuts: int) -> Skin:
    """Samples spread evenly in each quad, `cuts` x `cuts` a face, with normals smoothed over vertices."""
    normals = vertex_normals(vertices, triangles(quads))
    t = (np.arange(cuts) + 0.5) / cuts
    u, v = (a.ravel() for a in np.meshgrid(t, t))
    corner = np.stack([(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v], axis=1)

    def spread(a: np.ndarray) -> np.ndarray:
        return np.einsum("kc,fcd->fkd", corner, a[quads]).reshape(-1, a.shape[1])

    n = spread(normals)
    return Skin(
        spread(vertices),
        n / np.maximum(np.linalg.norm(n, axis=1, keepdims=True), 1e-12),
        spread(rest),
        spread(weights),
    )


def triangles(quads: np.ndarray) -> np.ndarray:
    """Two triangles (2F, 3) for each quad (F, 4), without the empty ones."""
    t = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return t[(t[:, 0] != t[:, 1]) & (t[:, 1] != t[:, 2]) & (t[:, 0] != t[:, 2])]


def vertex_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Unit normals (V, 3), weighted by area."""
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    n = np.cross(b - a, c - a)
    out = np.zeros_like(vertices)
    for i in range(3):
        np.add.at(out, faces[:, i], n)
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)


def distance(skin: Skin, step: float, margin: float = 0.07) -> Field:
    """Signed distance from the skin on a grid of spacing `step` around it. [m]

    Method: the nearest sample's tangent plane, blended over the four nearest; nodes far from every sample are
    inside when no path of far nodes leads out of the grid.
    """
    low, high = skin.points.min(axis=0) - margin, skin.points.max(axis=0) + margin
    shape = np.ceil((high - low) / step).astype(int) + 1
    none = np.empty(0, int)
    field = Field(low, step, np.empty(shape), none, none, none)
    nodes = field.nodes().reshape(-1, 3)
    d, i = cKDTree(skin.points).query(nodes, k=4, distance_upper_bound=REACH, workers=2)
    near = np.isfinite(d[:, 3])
    value = np.full(len(nodes), REACH)
    p, n = skin.points[i[near]], skin.normals[i[near]]
    plane = np.einsum("nkd,nkd->nk", nodes[near][:, None] - p, n)
    weight = 1.0 / (d[near] ** 2 + 1e-6)
    sign = np.sign((plane * weight).sum(axis=1))
    value[near] = sign * np.where(d[near, 0] < 0.012, np.abs((plane * weight).sum(1) / weight.sum(1)), d[near, 0])
    far = ~near.reshape(shape)
    label, _ = ndimage.label(far)
    rim = np.unique(
        np.concatenate([label[s].ravel() for s in (np.s_[0], np.s_[-1], np.s_[:, 0], np.s_[:, -1], np.s_[..., -1])])
    )
    inside = far & ~np.isin(label, rim[rim > 0])
    field.value = value.reshape(shape)
    field.value[inside] = -REACH
    field.near, field.sample = np.flatnonzero(near), i[near]
    share = 1.0 / (d[near] ** 2 + 4e-6)
    field.share = share / share.sum(axis=1, keepdims=True)
    return field


def smooth(values: np.ndarray, sigma: float, step: float) -> np.ndarray:
    """Gaussian blur of a field, `sigma` in metres."""
    return np.asarray(ndimage.gaussian_filter(values, sigma / step, mode="nearest"))


def smooth_max(a: np.ndarray, b: np.ndarray, k: float) -> np.ndarray:
    """The greater of two fields with a rounded edge of radius about k. [m]"""
    h = np.maximum(k - np.abs(a - b), 0.0) / k
    return np.asarray(np.maximum(a, b) + h * h * k / 4)


def smooth_min(a: np.ndarray, b: np.ndarray, k: float) -> np.ndarray:
    """The lesser of two fields with a rounded valley of radius about k. [m]"""
    return -smooth_max(-a, -b, k)


def surface(field: Field, values: np.ndarray, keep: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Closed surface where `values` is zero: vertices [m], faces wound outwards; the `keep` largest pieces."""
    padded = np.pad(values, 1, constant_values=REACH)
    v, f, _, _ = marching_cubes(padded.astype(np.float32), 0.0)
    v = (v - 1) * field.step + field.origin
    f = f[:, ::-1].astype(np.int64)
    if _volume(v, f) < 0:
        f = f[:, ::-1]
    return _largest(v, f, keep)


def simplify(v: np.ndarray, f: np.ndarray, target: int) -> tuple[np.ndarray, np.ndarray]:
    """Fewer triangles by quadric errors, at most about `target`."""
    if len(f) <= target:
        return v, f
    sv, sf = fast_simplification.simplify(
        v.astype(np.float32), f.astype(np.int32), target_count=target, agg=4, lossless=False
    )
    return clean(sv.astype(float), sf.astype(np.int64))


def relax(v: np.ndarray, f: np.ndarray, rounds: int) -> np.ndarray:
    """Vertices after a few rounds of Taubin smoothing, which keeps the volume."""
    from scipy import sparse

    edges = np.concatenate([f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]])
    a = sparse.coo_matrix((np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(len(v), len(v))).tocsr()
    a = ((a + a.T) > 0).astype(float)
    mean = sparse.diags(1.0 / np.maximum(np.asarray(a.sum(axis=1)).ravel(), 1.0)) @ a
    for _ in range(rounds):
        v = v + 0.5 * (mean @ v - v)
        v = v - 0.52 * (mean @ v - v)
    return v


def clean(v: np.ndarray, f: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Without empty triangles and vertices that none uses."""
    f = f[(f[:, 0] != f[:, 1]) & (f[:, 1] != f[:, 2]) & (f[:, 0] != f[:, 2])]
    used, index = np.unique(f, return_inverse=True)
    return v[used], index.reshape(f.shape)


def split_at(
    v: np.ndarray, f: np.ndarray, scalar: np.ndarray, level: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Triangles cut along the line where a scalar of the vertices equals `level`.

    Gives all vertices, all faces, and for each face whether it lies on the high side.
    """
    points, faces, high = [*v], [], []
    made: dict[tuple[int, int], int] = {}

    def crossing(i: int, j: int) -> int:
        key = (min(i, j), max(i, j))
        if key not in made:
            t = (level - scalar[i]) / (scalar[j] - scalar[i])
            made[key] = len(points)
            points.append(v[i] + t * (v[j] - v[i]))
        return made[key]

    for corners in f.tolist():
        above = [scalar[c] > level for c in corners]
        if all(above) or not any(above):
            faces.append(corners)
            high.append(above[0])
            continue
        lone = above.index(sum(above) == 1)
        a, b, c = corners[lone], corners[(lone + 1) % 3], corners[(lone + 2) % 3]
        ab, ac = crossing(a, b), crossing(a, c)
        faces += [[a, ab, ac], [ab, b, c], [ab, c, ac]]
        high += [above[lone], not above[lone], not above[lone]]
    return np.array(points), np.array(faces), np.array(high)


def folds(points: np.ndarray, along: np.ndarray, seed: int, length: float) -> np.ndarray:
    """Noise in -1..1 at points (N, 3), stretched so that its ridges run across the unit directions `along` (N, 3).

    Method: a sum of sines whose waves run mostly along `along`, warped by slower sines of place.
    """
    rng = np.random.default_rng(seed)
    total = np.zeros(len(points))
    for k in range(5):
        wave = length * rng.uniform(0.7, 1.6)
        slow = rng.normal(size=(3, 3)) / 0.16
        warp = np.sin(points @ slow.T + rng.uniform(0, 6.28, 3)).sum(axis=1) * 0.022
        side = rng.normal(size=3) * 0.35
        phase = (points * (along + side)).sum(axis=1) + warp
        gate = 0.5 + 0.5 * np.sin(points @ (rng.normal(size=3) / 0.12) + k)
        total += gate * np.sin(2 * np.pi * phase / wave)
    return total / 3.0


def _volume(v: np.ndarray, f: np.ndarray) -> float:
    a, b, c = (v[f[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def _largest(v: np.ndarray, f: np.ndarray, keep: int) -> tuple[np.ndarray, np.ndarray]:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    edges = np.concatenate([f[:, [0, 1]], f[:, [1, 2]]])
    graph = coo_matrix((np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(len(v), len(v)))
    _, piece = connected_components(graph, directed=False)
    size = np.bincount(piece[f[:, 0]])
    chosen = np.argsort(size)[::-1][:keep]
    return clean(v, f[np.isin(piece[f[:, 0]], chosen)])
