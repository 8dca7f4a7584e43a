"""A scene inside the renderer: its triangles in the ray caster, its tables and lights as kernels see them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.spectra.values import Spectrum
from sidelong.trace.engine import load
from sidelong.trace.headpatch import HeadPatches, head_patches
from sidelong.trace.hit import NOTHING, Hit
from sidelong.trace.kept import Kept
from sidelong.trace.lights import Lights
from sidelong.trace.puffs import PuffTable
from sidelong.trace.scene import Scene, Tables
from sidelong.trace.sensor import scalar, vector
from sidelong.trace.skyfield import SkyTable
from sidelong.trace.sunpatch import SunPatches
from sidelong.trace.surfaces import FinishTable, Surface
from sidelong.trace.wavelengths import WavelengthTable

mi, dr = load()

MARGIN = 5e-5
HOLES = 12
"""Straight-through surfaces that a shadow ray may cross before it counts as stopped."""


class Solids:
    """The triangles in the ray caster, and tables of their faces and finishes."""

    def __init__(self, tables: Tables) -> None:
        self.caster = self._caster(tables)
        packed = _code(tables.finish) | (_code(tables.person) << 10) | (_code(tables.light) << 20)
        self.packed = mi.UInt32(packed if len(packed) else np.full(1, 0xFFFFFFFF, np.uint32))
        self.face_normals = mi.Float(tables.facing.ravel())
        self.corner_normals = mi.Float(tables.normals[tables.faces].ravel())
        self.finishes = FinishTable(tables.finishes)

    @staticmethod
    def _caster(tables: Tables) -> Any:
        mesh = mi.Mesh("all", len(tables.vertices), len(tables.faces))
        table = mi.traverse(mesh)
        table["vertex_positions"] = tables.vertices.ravel()
        table["faces"] = tables.faces.ravel()
        table.update()
        return mi.load_dict({"type": "scene", "all": mesh})


_SOLIDS: Kept[Tables, Solids] = Kept()
"""The last triangles: a picture's are those of its readings."""


class World:
    """What kernels trace in: rays against one mesh, tables of its faces, the lights, the haze."""

    def __init__(self, scene: Scene, sky: SkyTable | None) -> None:
        self.scene = scene
        solids = _SOLIDS.of((scene.solids,), lambda: Solids(scene.solids))
        self.caster, self.packed, self.finishes = solids.caster, solids.packed, solids.finishes
        self.face_normals, self.corner_normals = solids.face_normals, solids.corner_normals
        self.lights = Lights(scene.emitters, scene.daylight, sky, scene.portals)
        dome = self.lights.dome
        self.openings = dome if dome is not None and dome.portals else None
        spectra: list[Spectrum] = list({e.name: e.spectrum for e in scene.emitters}.values())
        if self.lights.dome is not None and scene.daylight is not None:
            spectra += [scene.daylight.sun_spectrum, scene.daylight.sky_spectrum]
        self.wavelengths = WavelengthTable(tuple(spectra))
        self.hazy = scene.haze is not None
        if scene.haze is not None:
            self.extinction, self.albedo = scalar(scene.haze.extinction), scalar(scene.haze.albedo)
            self.g = scalar(float(np.clip(scene.haze.g, -0.95, 0.95)) or 1e-3)
            self.low, self.high = vector(scene.low), vector(scene.high)
        self.puffs = None if scene.puffs is None else PuffTable(scene.puffs)
        self.patches = self._sun_patches()
        self.head_patches: list[HeadPatches] = head_patches(self)

    def _sun_patches(self) -> SunPatches | None:
        daylight = self.scene.daylight
        if self.lights.dome is None or daylight is None or daylight.sun_normal <= 0:
            return None
        to_sun = np.array(daylight.to_sun, float)
        patches = SunPatches(self, self.scene.portals, to_sun / np.linalg.norm(to_sun), daylight.sun_normal)
        return patches if patches.count else None

    def meet(self, origin: Any, direction: Any, active: Any) -> Hit:
        """The nearest surface along rays, with its normals and numbers."""
        ray = mi.Ray3f(mi.Point3f(origin), mi.Vector3f(direction))
        found = self.caster.ray_intersect_preliminary(ray, False, active)
        valid = found.is_valid() & active
        face, uv = found.prim_index, found.prim_uv
        packed = dr.gather(mi.UInt32, self.packed, face, valid)
        corner = [dr.gather(mi.Normal3f, self.corner_normals, face * 3 + k, valid) for k in range(3)]
        shading = corner[0] * (1.0 - uv.x - uv.y) + corner[1] * uv.x + corner[2] * uv.y
        return Hit(
            valid=valid,
            distance=dr.select(valid, found.t, dr.inf),
            point=dr.fma(found.t, ray.d, ray.o),
            geometric=dr.gather(mi.Normal3f, self.face_normals, face, valid),
            shading=dr.normalize(shading),
            finish=packed & NOTHING,
            person=(packed >> 10) & NOTHING,
            light=(packed >> 20) & NOTHING,
        )

    def through_holes(self, origin: Any, direction: Any, active: Any, most: int = 4) -> Hit:
        """The nearest surface that is not mostly a hole, looking through up to `most` that are."""
        hit = self.meet(origin, direction, active)
        if not self.finishes.porous:
            return hit
        for _ in range(most):
            share, _ = self.finishes.straight_at(hit.finish, dr.dot(hit.geometric, direction), hit.valid)
            open_ = hit.valid & (share > 0.5)
            start = dr.select(open_, off(hit.point, hit.geometric, direction), origin)
            again = self.meet(start, direction, active & open_)
            hit = hit.unless(open_, again)
        return hit

    def passes(self, hit: Hit, direction: Any, skip: Any) -> tuple[Any, Any]:
        """The fraction that goes straight through what was hit, 1 for whoever is to be left out; what it mirrors."""
        share, mirrored = self.finishes.straight_at(hit.finish, dr.dot(hit.geometric, direction), hit.valid)
        return dr.select((hit.person == skip) & (hit.person != NOTHING), 1.0, share), mirrored

    @dr.syntax  # type: ignore[untyped-decorator]
    def fall(self, origin: Any, direction: Any, generator: Any, active: Any) -> Hit:
        """The surface where rays end that pass each hole by chance."""
        hit = self.meet(origin, direction, active)
        passing = mi.Bool(hit.valid)
        count = mi.UInt32(0)
        while dr.hint(passing, max_iterations=-1, label="fall"):
            share, _ = self.finishes.straight_at(hit.finish, dr.dot(hit.geometric, direction), passing)
            passing &= generator.next_float32() < share
            again = self.meet(off(hit.point, hit.geometric, direction), direction, passing)
            hit = hit.unless(passing, again)
            count += 1
            passing &= again.valid & (count < HOLES)
        return hit

    @dr.syntax  # type: ignore[untyped-decorator]
    def unblocked(
        self,
        origin: Any,
        direction: Any,
        reach: Any,
        skip: Any = None,
        skipping: bool = False,
        active: Any = True,
    ) -> Any:
        """Fraction of light that comes straight along shadow rays of length `reach`: 0 or 1, less through panes."""
        active = mi.Bool(active)
        if dr.hint(not (self.finishes.porous or skipping), mode="scalar"):
            ray = mi.Ray3f(mi.Point3f(origin), mi.Vector3f(direction))
            ray.maxt = reach
            return dr.select(active & ~self.caster.ray_test(ray, False, active), 1.0, 0.0)
        spared = mi.UInt32(NOTHING) if skip is None else skip
        through = dr.select(active, mi.Float(1.0), 0.0)
        start = mi.Point3f(origin)
        left = mi.Float(reach)
        going = mi.Bool(active)
        count = mi.UInt32(0)
        while dr.hint(going, max_iterations=-1, label="holes"):
            met, far, share, _ = self.hole(start, direction, left, spared, going)
            through = dr.select(met, through * share, through)
            step = far + (1.0 + dr.max(dr.abs(start))) * MARGIN
            start = dr.select(met, start + direction * step, start)
            left = dr.select(met, left - step, left)
            count += 1
            going = met & (through > 0) & (left > 0)
            through = dr.select(going & (count >= HOLES), 0.0, through)
            going &= count < HOLES
        return through

    @dr.syntax  # type: ignore[untyped-decorator]
    def tint_along(self, origin: Any, direction: Any, reach: Any, rows: list[Any], active: Any) -> Any:
        """The colour that light takes on along shadow rays of length `reach`: the product of the tints passed."""
        colour = mi.Spectrum(1.0)
        start = mi.Point3f(origin)
        left = mi.Float(reach)
        going = mi.Bool(active)
        count = mi.UInt32(0)
        while dr.hint(going, max_iterations=-1, label="tints"):
            met, far, share, finish = self.hole(start, direction, left, mi.UInt32(NOTHING), going)
            colour = dr.select(met, colour * self.finishes.tint_at(finish, rows, met), colour)
            step = far + (1.0 + dr.max(dr.abs(start))) * MARGIN
            start = dr.select(met, start + direction * step, start)
            left = dr.select(met, left - step, left)
            count += 1
            going = met & (share > 0) & (left > 0) & (count < HOLES)
        return colour

    def hole(self, origin: Any, direction: Any, reach: Any, skip: Any, active: Any) -> tuple[Any, Any, Any, Any]:
        """For shadow rays: whether anything is met within `reach`, how far off, the fraction it lets through, and its
        finish."""
        ray = mi.Ray3f(mi.Point3f(origin), mi.Vector3f(direction))
        ray.maxt = reach
        found = self.caster.ray_intersect_preliminary(ray, False, active)
        met = found.is_valid() & active
        packed = dr.gather(mi.UInt32, self.packed, found.prim_index, met)
        slant = mi.Float(1.0)
        if self.finishes.glazed:
            slant = dr.dot(dr.gather(mi.Normal3f, self.face_normals, found.prim_index, met), direction)
        share, _ = self.finishes.straight_at(packed & NOTHING, slant, met)
        person = (packed >> 10) & NOTHING
        share = dr.select((person == skip) & (person != NOTHING), 1.0, share)
        return met, found.t, share, packed & NOTHING

    def surface(self, hit: Hit, back: Any, rows: list[Any], widen: Any, active: Any, grain: bool = True) -> Surface:
        """The hit as a surface that light comes back from towards `back`."""
        table = self.finishes
        geometric = dr.select(dr.dot(hit.geometric, back) < 0, -hit.geometric, hit.geometric)
        shading = dr.select(dr.dot(hit.shading, geometric) < 0, -hit.shading, hit.shading)
        shading = dr.select(dr.dot(shading, back) < 1e-3, geometric, shading)
        through = self._of(table.through, hit, active)
        return Surface(
            normal=shading,
            geometric=geometric,
            back=back,
            reflectance=table.reflectance_at(hit.finish, rows, hit.point if grain else None, active),
            mean=self._of(table.mean, hit, active),
            through=through,
            alpha=dr.maximum(self._of(table.alpha, hit, active), widen) if table.shiny else None,
            coat=self._of(table.coat, hit, active) if table.shiny else None,
            metal=self._of(table.metal, hit, active) if table.shiny else None,
            shiny=table.shiny,
            passing=through * table.tint_at(hit.finish, rows, active) if table.tinted else None,
        )

    @staticmethod
    def _of(column: Any, hit: Hit, active: Any) -> Any:
        return dr.gather(mi.Float, column, hit.finish, active)

    def in_haze(self, origin: Any, direction: Any, distance: Any) -> tuple[Any, Any]:
        """Where rays enter and leave the haze's box before `distance`. [m]"""
        inverse = dr.rcp(direction)
        one, two = (self.low - origin) * inverse, (self.high - origin) * inverse
        near = dr.maximum(dr.max(dr.minimum(one, two)), 0.0)
        far = dr.minimum(dr.min(dr.maximum(one, two)), distance)
        return near, dr.maximum(far, near)

    def clearness(self, origin: Any, direction: Any, distance: Any) -> Any:
        """Fraction that the haze lets through over `distance`: exp(-extinction x length inside), less in puffs."""
        if not self.hazy:
            return mi.Float(1.0)
        near, far = self.in_haze(origin, direction, distance)
        depth = self.extinction * (far - near)
        if self.puffs is not None:
            depth += self.puffs.depth(origin, direction, near, far)
        return dr.exp(-depth)


def _code(numbers: NDArray[np.int64]) -> NDArray[np.uint32]:
    return np.where(numbers < 0, NOTHING, numbers).astype(np.uint32)


def off(point: Any, normal: Any, direction: Any) -> Any:
    """A point moved off its surface, to the side that the direction leaves by."""
    size = (1.0 + dr.max(dr.abs(point))) * MARGIN
    return point + normal * dr.mulsign(size, dr.dot(normal, direction))
