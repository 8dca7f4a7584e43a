"""Puffs of haze as kernels see them: what a ray loses in them, and where it is caught, both in closed form.

A path that flies through several media at once is caught by the first that catches it: each puff's own free flight
is drawn by turning its error function round, and the shortest counts.

Source
------
derived: docs/decisions/0035-plume-of-puffs.md
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sidelong.light.plume import Puffs
from sidelong.trace.engine import load

mi, dr = load()


class PuffTable:
    """Puffs as tables that kernels gather from; as many as there are run in the same kernel."""

    def __init__(self, puffs: Puffs) -> None:
        columns = [*puffs.centre.T, puffs.sigma * math.sqrt(2.0), puffs.peak * puffs.sigma * math.sqrt(math.pi / 2)]
        # one column more than there are puffs: a table of one row would be taken for a number
        self.columns = [mi.Float(np.append(column, 1.0).astype(np.float32)) for column in columns]
        self.count = dr.opaque(mi.UInt32, len(puffs.sigma))

    def _crossed(self, puff: Any, origin: Any, direction: Any) -> tuple[Any, Any, Any]:
        """Where a ray passes a puff's middle [m], the puff's spread times sqrt 2 [m], half its depth right across."""
        x, y, z, scale, strength = (dr.gather(mi.Float, column, puff) for column in self.columns)
        way = mi.Vector3f(x, y, z) - mi.Vector3f(origin)
        along = dr.dot(way, direction)
        beside = dr.squared_norm(way - along * direction)
        return along, scale, strength * dr.exp(-beside / dr.square(scale))

    @dr.syntax  # type: ignore[untyped-decorator]
    def depth(self, origin: Any, direction: Any, near: Any, far: Any) -> Any:
        """Optical depth along rays from distance `near` to `far`. [-]"""
        depth = mi.Float(0.0)
        puff = mi.UInt32(0)
        while dr.hint(puff < self.count, max_iterations=-1, label="puffs"):
            along, scale, half = self._crossed(puff, origin, direction)
            depth += half * (dr.erf((far - along) / scale) - dr.erf((near - along) / scale))
            puff += 1
        return depth

    @dr.syntax  # type: ignore[untyped-decorator]
    def flight(self, origin: Any, direction: Any, near: Any, flight: Any, generator: Any) -> tuple[Any, Any]:
        """How far rays fly from `near` on before a puff catches them, or `flight` if that is shorter. [m]"""
        shortest = mi.Float(flight)
        puff = mi.UInt32(0)
        while dr.hint(puff < self.count, max_iterations=-1, label="flights"):
            along, scale, half = self._crossed(puff, origin, direction)
            drawn = -dr.log(1.0 - generator.next_float32())
            begun = dr.erf((near - along) / scale)
            reached = begun + drawn / dr.maximum(half, 1e-12)
            distance = along + scale * dr.erfinv(dr.minimum(reached, 0.9999999))
            shortest = dr.select(reached < 0.9999999, dr.minimum(shortest, dr.maximum(distance, near)), shortest)
            puff += 1
        return shortest, generator
