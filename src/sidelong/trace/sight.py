"""Lines of sight past triangles: the first face that each ray meets, looking through those that are told."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.trace.engine import load
from sidelong.trace.scene import Tables

Array = NDArray[np.float64]
Faces = NDArray[np.int64]

_PAST = 2e-5
"""A ray that looks through a face starts so far beyond it, times one and the largest coordinate. [m]"""
_THROUGH = 64
"""Faces that a ray looks through at most."""


class Sight:
    """Triangles in the ray caster, for rays that are told from outside which of them to look through."""

    def __init__(self, solids: Tables) -> None:
        self.solids = solids
        self._mi, _ = load()
        self._caster = self._cast(solids) if len(solids.faces) else None

    def first(
        self, origins: ArrayLike, directions: ArrayLike, clear: NDArray[np.bool_], reach: ArrayLike = np.inf
    ) -> tuple[Array, Faces]:
        """Distance (N,) [m] and number (N,) of the first face that each ray meets; inf and -1 where it meets none.

        `origins`, `directions` (N, 3) place frame, the latter of unit length; `clear` (F,) which faces are looked
        through; `reach`, one or (N,), how far is looked. [m]
        """
        start = np.array(origins, float).reshape(-1, 3)
        way = np.asarray(directions, float).reshape(-1, 3)
        far = np.broadcast_to(np.asarray(reach, float), len(way)).copy()
        distance, face = np.full(len(way), np.inf), np.full(len(way), -1, np.int64)
        going, gone = np.arange(len(way)), np.zeros(len(way))
        for _ in range(_THROUGH):
            if self._caster is None or not len(going):
                break
            t, number = self._meet(start[going], way[going])
            met = (number >= 0) & (gone[going] + t < far[going])
            through = met & clear[number]
            stopped = going[met & ~through]
            distance[stopped], face[stopped] = gone[stopped] + t[met & ~through], number[met & ~through]
            onward = going[through]
            step = t[through] + _PAST * (1.0 + np.abs(start[onward]).max(axis=1, initial=0.0))
            start[onward] += way[onward] * step[:, None]
            gone[onward] += step
            going = onward
        return distance, face

    def blocked(
        self, origins: ArrayLike, directions: ArrayLike, clear: NDArray[np.bool_], reach: ArrayLike = np.inf
    ) -> NDArray[np.bool_]:
        """Whether anything not `clear` stands on rays, (N,), within `reach`. As `first`."""
        return np.asarray(self.first(origins, directions, clear, reach)[1] >= 0)

    def _meet(self, origins: Array, directions: Array) -> tuple[Array, Faces]:
        mi = self._mi
        at, way = (_columns(mi, values) for values in (origins, directions))
        assert self._caster is not None
        found = self._caster.ray_intersect_preliminary(mi.Ray3f(mi.Point3f(*at), mi.Vector3f(*way)), False, True)
        met = np.array(found.is_valid(), bool)
        number = np.where(met, np.array(found.prim_index, np.int64), -1)
        return np.where(met, np.array(found.t, float), np.inf), number

    def _cast(self, solids: Tables) -> Any:
        mesh = self._mi.Mesh("all", len(solids.vertices), len(solids.faces))
        table = self._mi.traverse(mesh)
        table["vertex_positions"] = solids.vertices.ravel()
        table["faces"] = solids.faces.ravel()
        table.update()
        return self._mi.load_dict({"type": "scene", "all": mesh})


def _columns(mi: Any, values: Array) -> list[Any]:
    return [mi.Float(np.ascontiguousarray(values[:, k], np.float32)) for k in range(3)]
