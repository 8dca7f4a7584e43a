"""Strobes, what is put before them, gels, and what leaves them, as plain values. Place frame, SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.spectra.values import Spectrum

Vector = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Distribution:
    """Intensity over direction as a luminaire file tabulates it, the whole turn of it.

    `vertical` (V,) from the light's axis, `horizontal` (H,) from 0 on its right by pi/2 upwards to 2 pi [rad];
    `candela` (H, V), of the luminaire as measured. `size` = (across, up) of what shines [m], (0, 0) where the file
    names a point; `lamp_flux` [lm] of what burned in it, None for absolute figures; `stated_ratio` the part of that
    which the file says leaves it, None where it does not say. `tilt`: how bright its lamp burns where the axis is
    turned so far from where it was measured, (angle [rad], factor) ascending; that was straight down, or level.
    """

    name: str
    vertical: NDArray[np.float64]
    horizontal: NDArray[np.float64]
    candela: NDArray[np.float64]
    size: tuple[float, float] = (0.0, 0.0)
    round: bool = True
    lamp_flux: float | None = None
    stated_ratio: float | None = None
    tilt: tuple[tuple[float, float], ...] = ()
    measured_level: bool = False


@dataclass(frozen=True)
class Strobe:
    """A flash head and its generator, or a lamp that burns steadily. Exactly one calibration is given.

    `guide_number` [m at ISO 100, with `guide_modifier` on, None meaning the bare tube], `efficacy` [lm s / J],
    or `reading` = (flat lux seconds on the axis, metres, power fraction) with `guide_modifier` on. A `steady` lamp
    counts in watts, lumens and lux where a flash counts in joules, lumen seconds and lux seconds; `spectrum` is its
    light, one lumen, None for a flash of its `kelvin`.
    """

    id: str
    energy: float
    """Full energy. [J]"""
    range_stops: float = 6.0
    """How far the power goes down from full. [stops]"""
    step_stops: float = 0.0
    """Step of the power; 0 is a dial without steps. [stops]"""
    recycle: float = 2.0
    """[s] at full power"""
    t01: float = 1 / 500
    """[s] at full power"""
    kelvin: float = 5600.0
    guide_number: float | None = None
    guide_modifier: str | None = None
    efficacy: float | None = None
    reading: tuple[float, float, float] | None = None
    steady: bool = False
    spectrum: Spectrum | None = None
    t01_lowest: float | None = None
    """[s] at the lowest power; None: as at full."""
    high_speed: bool | None = None
    """Whether it has a pulsed mode for shutters above sync; None: not known."""
    count: int | None = None
    """How many of it there are; None: not stated."""
    fed_by: str | None = None
    """The outlet, battery or generator that charges it, by its id."""


@dataclass(frozen=True)
class Modifier:
    """What is put before a head, or stands to bounce or hold back light.

    `size` = (width, height) [m]; `beam` = full angle at half intensity [rad]; `transmission` = fraction of the
    head's flux that leaves it (or that passes a scrim); `reflectance` [-]; `layers` = layers of diffusion;
    `grid` = full angle of the grid's cut [rad], None without. `pattern`: what a luminaire file says of its light.
    """

    id: str
    kind: Literal["reflector", "front", "umbrella", "dish", "panel", "scrim", "net", "flag"]
    shape: Literal["rectangle", "octagon", "disc"] = "rectangle"
    size: tuple[float, float] = (0.2, 0.2)
    beam: float | None = None
    transmission: float = 1.0
    reflectance: float = 0.0
    layers: int = 1
    grid: float | None = None
    pattern: Distribution | None = None
    finish: str | None = None
    """What a panel is covered with, by the name that spectra.finishes knows; None: matt, neutral."""
    spill: float = 0.0
    """Part of the head's flux that an umbrella to shoot through throws back the other way. [-]"""
    deflector: float = 0.0
    """Diameter of the plate that hides the tube in the middle of a dish. [m]"""
    zoom: tuple[tuple[float, float], ...] = ()
    """(beam [rad], guide number [m at ISO 100]) of a head that zooms, from narrow to wide."""
    guide_number: float | None = None
    """What a flash gives with it as it is zoomed, whatever its own calibration says. [m at ISO 100]"""


@dataclass(frozen=True)
class Gel:
    """A colour filter: mired shift, Duv shift and luminous transmission under a 5500 K source. [-]"""

    id: str
    mired: float
    duv: float = 0.0
    transmission: float = 1.0


@dataclass(frozen=True)
class Bounce:
    """What a head is turned at. `surface` names a wall of a room; else a panel stands `at`, turned to light `to`."""

    surface: str | None = None
    panel: Modifier | None = None
    at: Vector | None = None
    to: Vector | None = None


@dataclass(frozen=True)
class Head:
    """A strobe in its place, aimed, with what is before it, at a `power` fraction of full energy. [m, -]"""

    name: str
    strobe: Strobe
    at: Vector
    aim: Vector
    modifier: Modifier | None = None
    gels: tuple[Gel, ...] = ()
    power: float = 1.0
    bounce: Bounce | None = None


@dataclass(frozen=True)
class Emitter:
    """A light as the tracer needs it, at full strength as the shot sets it.

    `kind`: "flash" counts in lumen seconds, "steady" in lumens. `pattern`: how it is given out,
    "sphere" (equally all round, from a small ball of radius size[0]/2), "beam" (from a small disc, intensity
    falling to half at beam/2 off the axis), "lambert" (a flat front of `shape` and `size`, Lambertian unless
    `grid`), "table" (by `table`: from a flat front if next to nothing goes backwards, else from a ball). `flux` is
    what leaves it [lm or lm s], after gels. `spectrum` is normalised so that its
    V(lambda)-weighted integral times 683 is 1: multiply by lumens to get watts per nanometre. `axis` and `up`
    are unit vectors of the place frame; the front faces along `axis`.
    """

    name: str
    kind: Literal["flash", "steady"]
    pattern: Literal["sphere", "beam", "lambert", "table"]
    flux: float
    spectrum: Spectrum
    at: Vector
    axis: Vector
    up: Vector
    shape: Literal["rectangle", "octagon", "disc"] = "disc"
    size: tuple[float, float] = (0.05, 0.05)
    beam: float = 0.0
    grid: float | None = None
    both: bool = False
    """A flat front that shines to both sides, half of its flux each."""
    behind: float = 0.0
    """What a flat Lambertian front gives backwards over what it gives forwards. [-]"""
    inward: bool = False
    """A ball that shines into its inside: it is the wall around everything."""
    table: Distribution | None = None
    hole: float = 0.0
    """The dark middle of a disc: its diameter over the disc's. [-]"""
    bounced: bool = False
    """It is turned at a surface, whose lit patch is then a light of its own to the tracer."""


@dataclass(frozen=True)
class Daylight:
    """Sun and sky at one instant. `to_sun` unit vector, place frame; illuminances [lx]; spectra as Emitter's.

    `sun_normal` is the sun's illuminance on a flat receptor turned to it, `sky_horizontal` the sky's on level
    ground; the sky's distribution over direction is the ISO 15469 type `sky_type` (1..15).
    """

    to_sun: Vector
    elevation: float
    azimuth: float
    """Bearing. [rad]"""
    sun_normal: float
    sky_horizontal: float
    sun_spectrum: Spectrum
    sky_spectrum: Spectrum
    sky_type: int
