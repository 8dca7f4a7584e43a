"""A plain scene: flat and round surfaces of stated reflectance and luminance, panes, a sky, a medium; and its meters.

What a shoot is metered with, without a shoot: the same lights, light paths and meters (trace/reading.py), given
shapes and numbers instead of rooms and heads. trace/plain.py meters it.

Any right-handed frame with z up where there is a sky; metres, candelas, lumens, lux.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from sidelong.light.values import Vector
from sidelong.trace.plain_checks import (
    checked_box,
    checked_emission,
    checked_fractions,
    checked_number,
    checked_pane,
    checked_sides,
    checked_sky,
    checked_vector,
)

Face = Literal["left", "right", "near", "far", "floor", "ceiling"]
"""Of a box: left and right at its lowest and highest x, near and far y, floor and ceiling z."""
PerFace = float | Mapping[str, float]
"""One number for all six faces, or by face; a face that is not named has 0."""


@dataclass(frozen=True, kw_only=True)
class _Matt:
    """A matt surface, the same from both sides. `shines` says from which it gives light, and must where it does.

    `reflectance` (Lambertian), `transmittance` (scattered, Lambertian on the far side), `mirror` (a perfect one):
    fractions, together 1 at most [-]. Light of its own, Lambertian: `luminance` [cd/m2] or `exitance` [lm/m2, that
    is pi times the luminance]. `name`: lights of one name are read together.
    """

    reflectance: float = 0.0
    transmittance: float = 0.0
    mirror: float = 0.0
    luminance: float | None = None
    exitance: float | None = None
    shines: str | None = None
    name: str = "lights"

    def _check(self, what: str, sides: tuple[str, ...]) -> None:
        checked_fractions(what, self.reflectance, self.transmittance, self.mirror)
        checked_emission(what, self.luminance, self.exitance, self.shines, sides)


@dataclass(frozen=True)
class Rectangle(_Matt):
    """A flat rectangle: a `corner` and the two sides from it, square to one another. [m]

    Its front looks along edge_u x edge_v; it `shines` "front", "back" or "both".
    """

    corner: Vector
    edge_u: Vector
    edge_v: Vector

    def __post_init__(self) -> None:
        checked_vector("a rectangle's corner", self.corner)
        checked_sides("rectangle", self.edge_u, self.edge_v)
        self._check("rectangle", ("front", "back", "both"))


@dataclass(frozen=True)
class Disc(_Matt):
    """A flat disc whose front looks along `normal`; it `shines` "front", "back" or "both". [m]"""

    centre: Vector
    normal: Vector
    radius: float

    def __post_init__(self) -> None:
        checked_vector("a disc's centre", self.centre)
        checked_vector("a disc's normal", self.normal, direction=True)
        checked_number("a disc's radius", self.radius)
        self._check("disc", ("front", "back", "both"))


@dataclass(frozen=True)
class Sphere(_Matt):
    """A hollow sphere; it `shines` "out" or "in". [m]"""

    centre: Vector
    radius: float

    def __post_init__(self) -> None:
        checked_vector("a sphere's centre", self.centre)
        checked_number("a sphere's radius", self.radius)
        self._check("sphere", ("out", "in"))


@dataclass(frozen=True)
class Opening:
    """A rectangular hole in a face of a box, with a pane in it if `transmittance` or `index` say so (see Pane).

    `at` = the hole's lowest corner, from the face's own, and `size`, both along the face's two axes in the order
    x, y, z. [m]
    """

    face: Face
    at: tuple[float, float]
    size: tuple[float, float]
    transmittance: float | None = None
    index: float | None = None


@dataclass(frozen=True)
class Box:
    """A hollow box with its sides along the axes, from its `low` to its `high` corner [m]; faces differ if they must.

    `reflectance`, `luminance` [cd/m2], `exitance` [lm/m2]: one number, or by face ({"floor": 0.2, ...}); it `shines`
    "in", "out" or "both".
    """

    low: Vector
    high: Vector
    reflectance: PerFace = 0.0
    luminance: PerFace | None = None
    exitance: PerFace | None = None
    shines: str | None = None
    openings: tuple[Opening, ...] = ()
    name: str = "lights"

    def __post_init__(self) -> None:
        checked_box(self)


@dataclass(frozen=True)
class Pane:
    """A flat, thin, clear pane: a `corner` and two sides square to one another. [m]

    `index` alone: glass that absorbs nothing, by Fresnel's equations. `transmittance` alone: lets that fraction by
    at every angle and mirrors nothing. Both: glass that absorbs, `transmittance` being for light square to it. [-]
    """

    corner: Vector
    edge_u: Vector
    edge_v: Vector
    transmittance: float | None = None
    index: float | None = None

    def __post_init__(self) -> None:
        checked_vector("a pane's corner", self.corner)
        checked_sides("pane", self.edge_u, self.edge_v)
        checked_pane("a pane", self.transmittance, self.index)


@dataclass(frozen=True)
class Gap:
    """Where a sky's light comes in between surfaces, its front (edge_u x edge_v) outwards. [m]

    It is no surface and changes no reading; it only tells where to look, so that readings take fewer light paths.
    A box's openings are gaps already.
    """

    corner: Vector
    edge_u: Vector
    edge_v: Vector

    def __post_init__(self) -> None:
        checked_vector("a gap's corner", self.corner)
        checked_sides("gap", self.edge_u, self.edge_v)


@dataclass(frozen=True)
class Point:
    """A light too small to measure that shines equally all round, of an `intensity` [cd]."""

    at: Vector
    intensity: float
    name: str = "lights"

    def __post_init__(self) -> None:
        checked_vector("a point's place", self.at)
        checked_number("a point's intensity", self.intensity, least=0.0)


@dataclass(frozen=True)
class Beam:
    """A light too small to measure with an axis `towards` a direction: intensity x cos^n of the angle from it.

    `intensity` on the axis [cd]; `beam` the full angle between the directions of half of it [rad], up to 2 pi / 3,
    which is a small Lambertian front.
    """

    at: Vector
    towards: Vector
    intensity: float
    beam: float
    name: str = "lights"

    def __post_init__(self) -> None:
        checked_vector("a beam's place", self.at)
        checked_vector("a beam's direction", self.towards, direction=True)
        checked_number("a beam's intensity", self.intensity, least=0.0)
        checked_number("a beam's angle", self.beam, least=0.02, most=2.0944)


@dataclass(frozen=True)
class Sky:
    """A sky of ISO 15469's types 1 to 15, or 16 for the traditional overcast one, over everything with z > 0.

    Exactly one of `zenith` (luminance straight up [cd/m2]) and `horizontal` (illuminance that the whole sky gives
    level ground [lx]). `to_sun`: direction to the sun, which the types but 1, 3, 5 and 16 depend on. `sun`: the
    sun's own illuminance, square to it [lx]; its disc is 0.533 degrees wide. 0 leaves the sun out.
    """

    kind: int
    zenith: float | None = None
    horizontal: float | None = None
    to_sun: Vector = (0.0, 0.0, 1.0)
    sun: float = 0.0

    def __post_init__(self) -> None:
        checked_sky(self)


@dataclass(frozen=True)
class Medium:
    """A uniform medium: `extinction` [1/m], single-scattering `albedo` [-], and `g`, the mean cosine of the angle it
    turns light by (Henyey and Greenstein's phase function, -0.95 to 0.95) [-]. It fills the box from `low` to `high`
    [m], or all the scene if they are left out."""

    extinction: float
    albedo: float = 1.0
    g: float = 0.0
    low: Vector | None = None
    high: Vector | None = None

    def __post_init__(self) -> None:
        checked_number("a medium's extinction", self.extinction, least=0.0)
        checked_number("a medium's albedo", self.albedo, least=0.0, most=1.0)
        checked_number("a medium's g", self.g, least=-0.95, most=0.95)
        for corner in (self.low, self.high):
            if corner is not None:
                checked_vector("a medium's corner", corner)


Solid = Rectangle | Disc | Sphere | Box | Pane | Gap | Point | Beam


@dataclass(frozen=True)
class PlainScene:
    """Everything that stands and shines: `things` (surfaces, panes, gaps, point lights), a sky, a medium."""

    things: Sequence[Solid] = ()
    sky: Sky | None = None
    medium: Medium | None = None


@dataclass(frozen=True)
class PlainReading:
    """What one receptor reads: `value`, one-sigma `error` (standard error of `value`), in `unit`.

    `direct`: the part that comes straight from lights, sun and sky. `parts`: the value by name, "lights" unless
    they were named, "sun" and "sky". `paths`: light paths followed. `settled`: the error is what was asked for.
    """

    value: float
    error: float
    direct: float
    parts: Mapping[str, float] = field(default_factory=dict)
    unit: Literal["lx", "cd/m2"] = "lx"
    paths: int = 0
    settled: bool = True


Progress = Callable[[float], None]
"""Called between passes with the largest error over what was asked for; may raise to stop."""
