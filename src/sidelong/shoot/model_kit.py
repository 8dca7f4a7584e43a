"""The tables of the shoot file that say with what: bodies, lenses, strobes, modifiers, gels, power, haze."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from sidelong.shoot.model_base import Table
from sidelong.shoot.quantities import (
    Beam,
    FilmLength,
    FilmSize,
    FNumber,
    Focal,
    FrontSize,
    Iso,
    IsoRange,
    Kelvin,
    Lean,
    Metres,
    Name,
    Part,
    PivotLength,
    Pixels,
    Power,
    Seconds,
    ShiftRange,
    Shutter,
    ShutterRange,
    Step,
    StopRange,
    Swing,
    number,
)

Money = Annotated[float, BeforeValidator(number(0, 1e7, "a sum"))]
Kilograms = Annotated[float, BeforeValidator(number(0, 1e5, "a weight in kilograms,"))]
Joules = Annotated[float, BeforeValidator(number(0.001, 1e5, "an energy in joules,"))]
Watts = Annotated[float, BeforeValidator(number(0, 1e6, "a power in watts,"))]
WattHours = Annotated[float, BeforeValidator(number(0, 1e6, "an energy in watt-hours,"))]
GramsAMinute = Annotated[float, BeforeValidator(number(0, 1e5, "an output in grams a minute,"))]
Efficacy = Annotated[float, BeforeValidator(number(0.1, 683, "an efficacy in lumens per watt,"))]
LuxSeconds = Annotated[float, BeforeValidator(number(1e-3, 1e9, "lux seconds"))]
PupilRatio = Annotated[float, BeforeValidator(number(0.05, 20, "a pupil ratio"))]
Curvature = Annotated[float, BeforeValidator(number(-1000, 1000, "a field curvature per metre,"))]
Blades = Annotated[int, Field(ge=0, le=40)]
Layers = Annotated[int, Field(ge=1, le=20)]
Mired = Annotated[float, BeforeValidator(number(-500, 500, "a mired shift"))]
Duv = Annotated[float, BeforeValidator(number(-0.2, 0.2, "a Duv shift"))]


class Piece(Table):
    """What any piece of kit may carry."""

    id: Name
    owned: bool = True
    rent_per_day: Money = 0.0
    weight: Kilograms = 0.0


class BodyTable(Piece):
    """`[[kit.bodies]]`."""

    film: FilmSize = (0.036, 0.024)
    pixels: Pixels | None = None
    iso: IsoRange | None = None
    sync: Shutter = 2 ** (-23 / 3)
    shutter: ShutterRange | None = None


class LensTable(Piece):
    """`[[kit.lenses]]`."""

    focal: Focal
    widest: FNumber | None = None
    smallest: FNumber | None = None
    movement: Lean = 0.0
    rotation_step: Lean = 0.0
    shift: ShiftRange = 0.0
    image_circle: FilmLength | None = None
    closest: Metres | None = None
    pupil_ratio: PupilRatio = 1.0
    pivot_mm: PivotLength = 0.0
    blades: Blades = 0
    field_curvature: Curvature = 0.0
    movement_zero: Swing = 0.0
    ring_error: PivotLength = 0.0


class MeterReading(Table):
    """`reading` of a strobe: what a flat meter read on the axis, at a distance."""

    distance: Metres
    lux_seconds: LuxSeconds | None = None
    aperture: FNumber | None = None
    iso: Iso = 100.0
    power: Power = 1.0
    modifier: Name | None = None


class StrobeTable(Piece):
    """`[[kit.strobes]]`; one calibration of guide_number, efficacy, reading."""

    energy: Joules
    range: StopRange = 6.0
    step: Step = 1 / 3
    recycle: Seconds = 2.0
    t01: Seconds = 1 / 500
    kelvin: Kelvin = 5600.0
    guide_number: Metres | None = None
    guide_modifier: Name | None = None
    efficacy: Efficacy | None = None
    reading: MeterReading | None = None


class ModifierTable(Piece):
    """`[[kit.modifiers]]`."""

    kind: Literal["reflector", "front", "umbrella", "dish", "panel", "scrim", "flag"]
    shape: Literal["rectangle", "octagon", "disc"] | None = None
    size: FrontSize | None = None
    beam: Beam | None = None
    transmission: Part | None = None
    reflectance: Part | None = None
    layers: Layers = 1
    grid: Beam | None = None


class GelTable(Piece):
    """`[[kit.gels]]`."""

    mired: Mired = 0.0
    duv: Duv = 0.0
    transmission: Part | None = None


class PowerTable(Piece):
    """`[[kit.power]]`: an outlet, a battery, a generator."""

    kind: Literal["mains", "battery", "generator"] = "mains"
    watts: Watts | None = None
    watt_hours: WattHours | None = None


class HazeTable(Piece):
    """`[[kit.haze]]`: a haze machine."""

    fluid: Literal["glycol", "glycerin", "oil", "water"] = "glycol"
    output: GramsAMinute | None = None


class KitTable(Table):
    """`[kit]`."""

    bodies: list[BodyTable] = Field(default=[], max_length=200)
    lenses: list[LensTable] = Field(default=[], max_length=200)
    strobes: list[StrobeTable] = Field(default=[], max_length=200)
    modifiers: list[ModifierTable] = Field(default=[], max_length=500)
    gels: list[GelTable] = Field(default=[], max_length=500)
    power: list[PowerTable] = Field(default=[], max_length=200)
    haze: list[HazeTable] = Field(default=[], max_length=200)
