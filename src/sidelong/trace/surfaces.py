"""How a finish answers light: matt, coated, metal or thin sheet, sampled and evaluated for one path vertex.

The reflected part is Lambertian under an optional clear coat of index 1.5 (microfacets, Schlick's reflectance) that
passes (1 - F(in)) (1 - F(out)) / (1 - F mean) to the base, so that coat and base together give back no more than
they get; a metal reflects by microfacets alone. A thin sheet also passes a scattered part, Lambertian on the far
side, and a straight part, which paths treat as a hole of that probability.

Source
------
walter2007 (microfacets), schlick1994, dupuy_benyoub2023 (sampling of visible normals), kelemen2001 (coat over base)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sidelong.spectra.observer import luminosity
from sidelong.spectra.values import Finish
from sidelong.trace.engine import load
from sidelong.trace.glass import both_faces, inner_transmittance
from sidelong.trace.grain import Grain
from sidelong.trace.wavelengths import GRID

mi, dr = load()

COAT_F0 = 0.04
_COAT_MEAN = COAT_F0 + (1 - COAT_F0) / 21
SMALLEST_ALPHA = 0.01
WIDENED = 0.25
"""Microfacets are at least this wide after the first bounce: caustics of small lights would only be noise."""


class FinishTable:
    """The finishes of a scene as tables that kernels gather from."""

    def __init__(self, finishes: tuple[Finish, ...]) -> None:
        finishes = finishes * 2 if len(finishes) == 1 else finishes  # see engine.column
        rho = np.stack([np.clip(f.reflectance.at(GRID), 0.0, 1.0) for f in finishes])
        straight = np.array([min(max(f.straight, 0.0), 1.0) for f in finishes])
        through = np.array([min(max(f.diffuse, 0.0), 1.0 - s) for f, s in zip(finishes, straight, strict=True)])
        mirror = np.array([min(max(f.mirror, 0.0), 1.0 - s) for f, s in zip(finishes, straight, strict=True)])
        opaque = np.maximum(1.0 - straight - mirror, 1e-6)
        # conditional on neither going straight through nor being mirrored; never more than all of it comes back
        through = through / opaque
        rho = np.minimum(rho / opaque[:, None], np.maximum(1.0 - through, 0.0)[:, None])
        alpha = [max((f.roughness if f.roughness is not None else 1.0) ** 2, SMALLEST_ALPHA) for f in finishes]
        self.reflectance = mi.Float(rho.astype(np.float32).ravel())
        self.mean = mi.Float((rho @ (luminosity() / luminosity().sum())).astype(np.float32))
        self.through = mi.Float(through.astype(np.float32))
        self.straight = mi.Float(straight.astype(np.float32))
        self.alpha = mi.Float(np.array(alpha, np.float32))
        self.coat = mi.Float(np.array([f.roughness is not None and not f.metal for f in finishes], np.float32))
        self.metal = mi.Float(np.array([f.metal for f in finishes], np.float32))
        self.grain_depth = mi.Float(np.array([f.grain for f in finishes], np.float32))
        self.shiny = any(f.metal or f.roughness is not None for f in finishes)
        self.porous = bool((straight > 0).any() or (mirror > 0).any())
        # a pane of index 1 passes the same at every angle and mirrors nothing: all that has no index is one
        index = [f.index if f.index is not None else 1.0 for f in finishes]
        inner = [inner_transmittance(f.index, f.straight) if f.index is not None else 1.0 for f in finishes]
        self.glazed = any(f.index is not None or f.mirror > 0 for f in finishes)
        self.mirror = mi.Float(mirror.astype(np.float32))
        self.index = mi.Float(np.array(index, np.float32))
        self.absorbed = mi.Float(-np.log(np.maximum(inner, 1e-9)).astype(np.float32))
        self.tinted = any(f.tint is not None for f in finishes)
        tints = [np.ones(len(GRID)) if f.tint is None else f.tint.at(GRID) for f in finishes]
        self.tint = mi.Float(np.concatenate(tints).astype(np.float32)) if self.tinted else None
        self.grained = any(f.grain > 0 for f in finishes)
        self.grain = Grain() if self.grained else None

    def straight_at(self, finish: Any, cosine: Any, active: Any) -> tuple[Any, Any]:
        """What goes straight through at an angle from the normal, and what a pane or a mirror gives back. [-]"""
        straight = dr.gather(mi.Float, self.straight, finish, active)
        if not self.glazed:
            return straight, mi.Float(0.0)
        n = dr.gather(mi.Float, self.index, finish, active)
        is_pane = active & (n > 1.0)
        c = dr.maximum(dr.abs(cosine), 1e-4)
        within = dr.sqrt(1.0 - (1.0 - c * c) / (n * n))
        a = dr.exp(-dr.gather(mi.Float, self.absorbed, finish, active) / within)
        across = both_faces(dr.square((c - n * within) / (c + n * within)), a)
        along = both_faces(dr.square((n * c - within) / (n * c + within)), a)
        through, back = 0.5 * (across[0] + along[0]), 0.5 * (across[1] + along[1])
        mirror = dr.gather(mi.Float, self.mirror, finish, active)
        return dr.select(is_pane, through, straight), dr.select(is_pane, back, mirror)

    def tint_at(self, finish: Any, rows: list[Any], active: Any) -> Any:
        """What goes through at four rows of the wavelength grid, over what goes through of white light. [-]"""
        if self.tint is None:
            return mi.Spectrum(1.0)
        return mi.Spectrum(*(dr.gather(mi.Float, self.tint, finish * len(GRID) + row, active) for row in rows))

    def reflectance_at(self, finish: Any, rows: list[Any], point: Any | None, active: Any) -> Any:
        """Spectrum of the base at four rows of the wavelength grid, mottled by the grain at `point`, if given."""
        rho = mi.Spectrum(*(dr.gather(mi.Float, self.reflectance, finish * len(GRID) + row, active) for row in rows))
        if self.grain is not None and point is not None:
            depth = dr.gather(mi.Float, self.grain_depth, finish, active)
            rho = dr.minimum(rho * (1.0 + depth * self.grain.at(point)), 1.0)
        return rho


@dataclass
class Surface:
    """One vertex on a surface: unit normals turned to the side of `back` (the way the path came from)."""

    normal: Any
    geometric: Any
    back: Any
    reflectance: Any
    mean: Any
    through: Any
    alpha: Any
    coat: Any
    metal: Any
    shiny: bool
    passing: Any = None
    """What goes through, over wavelength, where that has a colour."""

    def answer(self, out: Any) -> tuple[Any, Any]:
        """Scattering function times |cos| [-] and the sampling density [1/sr] towards `out`."""
        cos_out = dr.abs(dr.dot(self.normal, out))
        cos_back = dr.maximum(dr.dot(self.normal, self.back), 1e-4)
        same = dr.dot(self.geometric, out) > 0
        base = cos_out * dr.inv_pi
        to_far = self._to_far()
        passing = mi.Spectrum(self.through) if self.passing is None else self.passing
        matt = dr.select(same, self.reflectance, passing) * base
        density = base * dr.select(same, 1.0 - to_far, to_far)
        if not self.shiny:
            return matt, density
        passed = (1.0 - _schlick(cos_back)) * (1.0 - _schlick(cos_out)) / (1.0 - _COAT_MEAN)
        matt = matt * dr.select(self.metal > 0, 0.0, dr.select((self.coat > 0) & same, passed, 1.0))
        half = dr.normalize(self.back + out)
        cos_half = dr.maximum(dr.dot(self.normal, half), 0.0)
        cos_in = dr.maximum(dr.dot(half, out), 0.0)
        a2 = self.alpha * self.alpha
        spread = a2 / (dr.pi * dr.square(dr.fma(cos_half * cos_half, a2 - 1.0, 1.0)))
        shade_back, shade_out = _smith(cos_back, a2), _smith(cos_out, a2)
        mirror = spread / (1.0 + shade_back + shade_out) / (4.0 * cos_back)
        fresnel = dr.select(
            self.metal > 0,
            self.reflectance + (1.0 - self.reflectance) * _fifth(1.0 - cos_in),
            mi.Spectrum(_schlick(cos_in) * self.coat),
        )
        visible = same & (cos_half > 0)
        chance = self._chance_mirror(cos_back)
        total = matt + dr.select(visible, fresnel * mirror, 0.0)
        mirror_density = dr.select(visible, spread / (1.0 + shade_back) / (4.0 * cos_back), 0.0)
        return total, chance * mirror_density + (1.0 - chance) * density

    def draw(self, choice: Any, pair: Any) -> Any:
        """A direction drawn with the density that `answer` gives."""
        frame = mi.Frame3f(self.normal)
        local = mi.warp.square_to_cosine_hemisphere(pair)
        if not self.shiny:
            far = choice < self._to_far()
            return frame.to_world(mi.Vector3f(local.x, local.y, dr.select(far, -local.z, local.z)))
        back = frame.to_local(self.back)
        chance = self._chance_mirror(dr.maximum(back.z, 1e-4))
        mirror = choice < chance
        far = ~mirror & ((choice - chance) / dr.maximum(1.0 - chance, 1e-6) < self._to_far())
        half = _visible_normal(back, self.alpha, pair)
        bounced = 2.0 * dr.dot(back, half) * half - back
        local = dr.select(mirror, bounced, mi.Vector3f(local.x, local.y, dr.select(far, -local.z, local.z)))
        return frame.to_world(local)

    def _to_far(self) -> Any:
        return self.through / dr.maximum(self.through + self.mean, 1e-6)

    def _chance_mirror(self, cos_back: Any) -> Any:
        coat = _schlick(cos_back)
        share = coat / dr.maximum(coat + (1.0 - coat) * (self.mean + self.through), 1e-6)
        return dr.select(self.metal > 0, 1.0, self.coat * dr.clip(share, 0.1, 0.9))


def _fifth(x: Any) -> Any:
    return dr.square(dr.square(x)) * x


def _schlick(cosine: Any) -> Any:
    return COAT_F0 + (1.0 - COAT_F0) * _fifth(1.0 - cosine)


def _smith(cosine: Any, a2: Any) -> Any:
    """Lambda of Smith's shadowing for these microfacets."""
    c2 = dr.maximum(cosine * cosine, 1e-8)
    return 0.5 * (dr.sqrt(1.0 + a2 * (1.0 - c2) / c2) - 1.0)


def _visible_normal(back: Any, alpha: Any, pair: Any) -> Any:
    stretched = dr.normalize(mi.Vector3f(alpha * back.x, alpha * back.y, dr.maximum(back.z, 1e-4)))
    z = dr.fma(1.0 - pair.y, 1.0 + stretched.z, -stretched.z)
    sine = dr.safe_sqrt(1.0 - z * z)
    sin_turn, cos_turn = dr.sincos(dr.two_pi * pair.x)
    cap = mi.Vector3f(sine * cos_turn, sine * sin_turn, z) + stretched
    return dr.normalize(mi.Vector3f(alpha * cap.x, alpha * cap.y, dr.maximum(cap.z, 1e-6)))
