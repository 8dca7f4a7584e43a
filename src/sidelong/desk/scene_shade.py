"""How open every corner of the page's scene is to sky, ground and room: what its coarse light rests on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.desk.scene import scene_parts
from sidelong.desk.scene_gltf import Part
from sidelong.shoot.values import Shoot
from sidelong.trace.kept import Kept
from sidelong.trace.values import Stage

SAMPLES = 8
_STEP, _STEP_ON_PEOPLE = 0.2, 0.05
"""Corners in one cube of this edge that face alike share what was looked up for their middle; large flat faces,
whose corners lie farther apart anyway, have their own. [m]"""
Shares = NDArray[np.float32]
_KEPT: Kept[object, bytes] = Kept()


def scene_shade(shoot: Shoot, samples: int = SAMPLES) -> bytes:
    """Four half floats for each vertex of `scene_glb`, in its order, little-endian: the shares of sky, of the ground
    outside and of what is not close by (trace/openness.py), and a nought. Kept as long as the scene is; some seconds.

    Raises
    ------
    Missing
        This machine has nothing to compile light paths with; the page then draws without it.
    """
    parts = scene_parts(shoot)
    return _KEPT.of((parts, samples), lambda: _shade(shoot, parts, samples), lambda one, other: one is other)


def _shade(shoot: Shoot, parts: tuple[Part, ...], samples: int) -> bytes:
    from sidelong.trace.openness import openness  # late: slow import

    skins = [skin for part in parts for skin in part.skins]
    points = np.concatenate([s.vertices for s in skins]).astype(np.float32)
    normals = np.concatenate([s.normals for s in skins]).astype(np.float32)
    step = np.concatenate(
        [np.full(len(s.vertices), _STEP_ON_PEOPLE if _of_person(p) else _STEP) for p in parts for s in p.skins]
    )
    middle, facing, which = _gathered(points, normals, step.astype(np.float32))
    shares = openness(Stage(shoot.place, shoot.people, (), None), middle, facing, samples)[which]
    return np.pad(shares, ((0, 0), (0, 1))).astype("<f2").tobytes()


def _of_person(part: Part) -> bool:
    return bool(part.extras["kind"] == "person")


def _gathered(points: Shares, normals: Shares, step: Shares) -> tuple[Shares, Shares, NDArray[np.int64]]:
    """One point (M, 3) and normal (M, 3) for all that lie in one cube of edge `step` (N,) [m] and face alike, and
    which of them each of the N belongs to. The point is one of theirs, so that it lies on a surface."""
    cube = np.floor(points / step[:, None])
    key = np.concatenate([cube, np.round(normals * 1.2), step[:, None] < _STEP], axis=1).astype(np.int32)
    packed = np.ascontiguousarray(key).view(np.dtype((np.void, key.dtype.itemsize * key.shape[1]))).ravel()
    _, first, which = np.unique(packed, return_index=True, return_inverse=True)
    count = np.bincount(which)
    mean = np.stack([np.bincount(which, normals[:, k]) / count for k in range(3)], axis=1)
    size = np.linalg.norm(mean, axis=1, keepdims=True)
    facing = np.where(size > 0.2, mean / np.maximum(size, 1e-6), normals[first])
    return points[first], facing.astype(np.float32), which
