"""The tables of the shoot file that say with what: bodies, lenses, strobes, modifiers, gels, power, haze."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from sidelong.shoot.model_base import Table
from sidelong.shoot.quantities import (
    Beam,
    Distance,
    FilmLength,
    FilmSize,
    FinishName,
    FloorPoint,
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
    RotationStep,
    Seconds,
    ShiftRange,
    ShutterRange,
    Step,
    StopRange,
    Swing,
    SyncTime,
    number,
    refusal,
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
Curvature = Annotated[float, BeforeValidator(number(-2, 2, "a field curvature kappa, without a unit,"))]
Blades = Annotated[int, Field(ge=0, le=40)]
Count = Annotated[int, Field(ge=1, le=100)]
Density = Annotated[float, BeforeValidator(number(0.1, 20, "stops of neutral density"))]
Lux = Annotated[float, BeforeValidator(number(1e-3, 1e7, "lux"))]
Lumens = Annotated[float, BeforeValidator(number(0.1, 1e8, "lumens"))]
Rendering = Annotated[float, BeforeValidator(number(70, 97, "a colour rendering index"))]
Layers = Annotated[int, Field(ge=1, le=20)]
Mired = Annotated[float, BeforeValidator(number(-280, 500, "a mired shift"))]
Passed = Annotated[float, BeforeValidator(number(1e-4, 1, "a fraction"))]
Duv = Annotated[float, BeforeValidator(number(-0.03, 0.03, "a Duv shift"))]


ModifierKind = Literal[
    "reflector", "front", "umbrella", "dish", "panel", "scrim", "net", "flag",
    "standard reflector", "wide reflector", "long reflector", "snoot", "square box", "strip", "octagon",
    "beauty dish", "white umbrella", "silver umbrella", "shoot-through umbrella", "white panel", "silver panel",
    "gold panel", "black cloth", "quarter scrim", "half scrim", "full scrim", "single net", "double net",
]  # fmt: skip
"""A plain kind, or a row of light.usual_modifiers."""


_beam = number(0.5, 179, "a beam in degrees,")
_guide = number(0.1, 1000, "a guide number in metres at ISO 100,")


def _zoom(value: Any) -> tuple[tuple[float, float], ...]:
    """Pairs of a beam and a guide number, narrow to wide. [rad, m]"""
    if not isinstance(value, list) or not 2 <= len(value) <= 40:
        raise refusal("two to forty pairs [beam, guide number]")
    if any(not isinstance(pair, list) or len(pair) != 2 for pair in value):
        raise refusal("pairs [beam, guide number], such as [[30, 60], [90, 32]]")
    pairs = sorted((math.radians(_beam(beam)), _guide(guide)) for beam, guide in value)
    if any(b - a < 1e-6 for (a, _), (b, _) in pairwise(pairs)):
        raise refusal("each beam once")
    return tuple(pairs)


_PAIRS = {"type": "array", "items": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}}
Zoom = Annotated[tuple[tuple[float, float], ...], PlainValidator(_zoom), WithJsonSchema(_PAIRS)]


class Piece(Table):
    """What any piece of kit may carry."""

    id: Name
    """What it is called in this file. [id; required]"""
    owned: bool = True
    """Whether it need not be rented. [-; true]"""
    rent_per_day: Money = 0.0
    """In your currency. [sum; 0]"""
    weight: Kilograms = 0.0
    """Packed. [kg; 0]"""


class BodyTable(Piece):
    """`[[kit.bodies]]`."""

    film: FilmSize = (0.036, 0.024)
    """[width, height] of film or sensor. [mm; 36, 24]"""
    pixels: Pixels | None = None
    """[across, down]. [-; 6000 across]"""
    iso: IsoRange | None = None
    """[lowest, highest] marked speed. [-; 100, 6400]"""
    sync: SyncTime = 2 ** (-23 / 3)
    """Shortest marked time with the whole film open at once. [s; "1/200"]"""
    shutter: ShutterRange | None = None
    """[fastest, slowest] marked time. [s; "1/4000", 30]"""


class LensTable(Piece):
    """`[[kit.lenses]]`."""

    focal: Focal
    """Focal length. [mm; required]"""
    widest: FNumber | None = None
    """Widest marked f-number. [-; 2.8, or what a shot asks]"""
    smallest: FNumber | None = None
    """Smallest opening, marked f-number. [-; 22]"""
    movement: Lean | None = None
    """Largest angle of swing or tilt, in any direction. [degrees; 0, or what a shot states, with a doubt]"""
    rotation_step: RotationStep = 0.0
    """Step of the rotating mount; 0 turns freely. [degrees; 0]"""
    shift: ShiftRange | None = None
    """Largest displacement along the film, in any direction. [mm; 0, or what a shot states, with a doubt]"""
    image_circle: FilmLength | None = None
    """Its diameter at infinity. [mm; not stated]"""
    closest: Metres | None = None
    """Closest distance on the ring, from the film. [m; not stated]"""
    pupil_ratio: PupilRatio = 1.0
    """Exit pupil over entrance pupil. [-; 1]"""
    pivot_mm: PivotLength = 0.0
    """How far the hinge lies behind the front principal point, the ring at infinity. [mm; 0]"""
    blades: Blades = 0
    """Blades of the iris; 0 is round. [-; 0]"""
    field_curvature: Curvature = 0.0
    """How its field bows: an image at a distance q from the axis is sharp `field_curvature` times q² / f nearer the
    lens; learned from test frames. [-; 0]"""
    movement_zero: Swing = 0.0
    """What its scale of movement shows when the lens is truly straight, learned: set this much more. [degrees; 0]"""
    ring_error: PivotLength = 0.0
    """How far the ring's marks run ahead, as extension, learned: it is set to the mark of so much more. [mm; 0]"""


class MeterReading(Table):
    """`reading` of a strobe: what a flat meter read on the axis, at a distance."""

    distance: Distance
    """From the front of the light, on its axis. [m; required]"""
    lux_seconds: LuxSeconds | None = None
    """What a flat receptor turned to it read. [lx s; aperture]"""
    aperture: FNumber | None = None
    """The marked f-number it read instead, at `iso`. [-; lux_seconds]"""
    iso: Iso = 100.0
    """The marked speed the meter was set to. [-; 100]"""
    power: Power = 1.0
    """What the strobe was set to, as in a light. [fraction; 1]"""
    modifier: Name | None = None
    """What was before it. [id; the bare tube]"""


class StrobeTable(Piece):
    """`[[kit.strobes]]`; one calibration of guide_number, efficacy, reading."""

    energy: Joules
    """At full power. [J; required]"""
    range: StopRange = 6.0
    """How far its power goes down from full. [stops; 6]"""
    step: Step = 0.0
    """Step of its power; 0 is a dial without steps. [stops; 0]"""
    recycle: Seconds = 2.0
    """At full power. [s; 2]"""
    t01: Seconds = 1 / 500
    """Duration until a tenth of the peak is left, at full power. [s; "1/500"]"""
    kelvin: Kelvin = 5600.0
    """Colour temperature. [K; 5600]"""
    guide_number: Metres | None = None
    """In metres at ISO 100 (or "100 ft"), with `guide_modifier` on. [m; one calibration of three]"""
    guide_modifier: Name | None = None
    """What the guide number was stated with. [id; the bare tube]"""
    efficacy: Efficacy | None = None
    """Light for its energy, at the bare tube. [lm s/J; one calibration of three]"""
    reading: MeterReading | None = None
    """What a meter read at a distance. [table; one calibration of three]"""
    t01_lowest: Seconds | None = None
    """Duration at its lowest power; between the two it goes evenly with the stops. [s; as at full power]"""
    high_speed: bool | None = None
    """Whether it has a pulsed mode for shutters above sync. [-; not stated, with a doubt where a shot needs it]"""
    count: Count | None = None
    """How many of it there are. [-; not stated, with a doubt where a shot uses two]"""
    fed_by: Name | None = None
    """What charges it. [id of kit.power; not stated]"""


class LampReading(Table):
    """`reading` of a lamp: what a flat meter read on the axis, at a distance."""

    distance: Distance
    """From the front of the light, on its axis. [m; required]"""
    lux: Lux
    """What a flat receptor turned to it read, the lamp at full. [lx; required]"""
    modifier: Name | None = None
    """What was before it. [id; the bare lamp]"""


class LampTable(Piece):
    """`[[kit.lamps]]`: what burns steadily, a filament or an LED; one of lumens and reading."""

    lumens: Lumens | None = None
    """Of the bare lamp. [lm; reading]"""
    reading: LampReading | None = None
    """What a meter read at a distance. [table; lumens]"""
    watts: Watts | None = None
    """What it draws. [W; as usual for its lumens: 25 lm/W for tungsten, 100 for an LED]"""
    spectrum: Literal["tungsten", "led"] = "led"
    """"tungsten", "led". [-; "led"]"""
    kelvin: Kelvin | None = None
    """Colour temperature. [K; tungsten 3200, LED 5600]"""
    cri: Rendering = 95.0
    """Colour rendering index Ra of an LED, 70 to 97. [-; 95]"""
    range: StopRange = 0.0
    """How far it can be dimmed. [stops; 0: not at all]"""
    step: Step = 0.0
    """Step of its dimmer; 0 is a dial without steps. [stops; 0]"""
    count: Count | None = None
    """How many of it there are. [-; not stated, with a doubt where a shot uses two]"""
    fed_by: Name | None = None
    """What feeds it. [id of kit.power; not stated]"""


class ModifierTable(Piece):
    """`[[kit.modifiers]]`."""

    kind: ModifierKind
    """"reflector", "front" (flat and luminous, Lambertian unless it has a grid), "umbrella", "dish", "panel",
    "scrim" (it scatters what it passes), "net" (it does not), "flag"; or one whose usual figures are known, below.
    [-; required]"""
    shape: Literal["rectangle", "octagon", "disc"] | None = None
    """"rectangle", "octagon", "disc". [-; "disc" for reflector, umbrella, dish, else "rectangle"]"""
    size: FrontSize | None = None
    """[width, height], or one number for both. [m; as usual for its kind, else 0.2]"""
    beam: Beam | None = None
    """Full angle at half intensity. [degrees; as usual for its kind]"""
    transmission: Part | None = None
    """Part of the head's light that leaves it; of a scrim, what it passes.
    [0 to 1; 1, scrim and net 0.5, panel and flag 0]"""
    reflectance: Part | None = None
    """Of a panel, scrim or flag. [0 to 1; 0, panel 0.8 or its finish's own]"""
    finish: FinishName | None = None
    """What a panel is covered with: "silver", "gold", "white", or any finish. [finish; matt and neutral]"""
    layers: Layers = 1
    """Layers of diffusion. [-; 1]"""
    grid: Beam | None = None
    """Full angle of a grid's cut. [degrees; none]"""
    spill: Part | None = None
    """Part of the head's light that an umbrella to shoot through throws back. [0 to 1; as usual for its kind]"""
    deflector: Metres | None = None
    """Diameter of the plate that hides the tube in the middle of a dish. [m; as usual for its kind]"""
    zoom: Zoom | None = None
    """Of a head that zooms: [[beam, guide number], ...], beams in degrees from narrow to wide, guide numbers in
    metres at ISO 100. The guide numbers are then what counts. [list of pairs; it does not zoom]"""
    pattern: Name | None = None
    """Luminaire file whose intensities it has: path from the shoot's folder, inside it; .ies (LM-63, type C) or .ldt
    (EULUMDAT). Its size and the part that leaves it then come from the file, unless stated. [path; none]"""


class GelTable(Piece):
    """`[[kit.gels]]`."""

    mired: Mired = 0.0
    """Shift; orange is positive, blue negative. [mired; 0]"""
    duv: Duv = 0.0
    """Shift off the locus; green is positive, magenta negative. [-; 0]"""
    transmission: Passed | None = None
    """What it passes of the light. [0 to 1; as usual for its mireds, with a doubt]"""


class FilterTable(Piece):
    """`[[kit.filters]]`: neutral density for the lens."""

    stops: Density
    """What it holds back. [stops; required]"""


class PowerTable(Piece):
    """`[[kit.power]]`: an outlet, a battery, a generator."""

    kind: Literal["mains", "battery", "generator"] = "mains"
    """"mains", "battery", "generator". [-; "mains"]"""
    watts: Watts | None = None
    """What it gives at once. [W; not stated]"""
    watt_hours: WattHours | None = None
    """What it holds. [Wh; not stated]"""
    at: FloorPoint | None = None
    """Where it is, so that cables can be drawn from it: on the floor, or with its height. [m; not stated]"""
    cable: Distance | None = None
    """How long the cable from it to a head is. [m; not stated]"""


class HazeTable(Piece):
    """`[[kit.haze]]`: a haze machine."""

    fluid: Literal["glycol", "glycerin", "oil", "water"] = "glycol"
    """"glycol", "glycerin", "oil", "water". [-; "glycol"]"""
    output: GramsAMinute | None = None
    """What it gives. [g/min; not stated]"""


class KitTable(Table):
    """`[kit]`."""

    bodies: list[BodyTable] = Field(default=[], max_length=200)
    """Camera bodies. [list of tables; one of 36 x 24 mm]"""
    lenses: list[LensTable] = Field(default=[], max_length=200)
    """Lenses. [list of tables; none]"""
    strobes: list[StrobeTable] = Field(default=[], max_length=200)
    """Flash heads with their generators. [list of tables; none]"""
    lamps: list[LampTable] = Field(default=[], max_length=200)
    """What burns steadily. [list of tables; none]"""
    modifiers: list[ModifierTable] = Field(default=[], max_length=500)
    """What goes before a head, bounces or holds back light. [list of tables; none]"""
    gels: list[GelTable] = Field(default=[], max_length=500)
    """Colour filters. [list of tables; none]"""
    filters: list[FilterTable] = Field(default=[], max_length=50)
    """Neutral density for the lens. [list of tables; none]"""
    power: list[PowerTable] = Field(default=[], max_length=200)
    """Outlets, batteries, generators. [list of tables; none]"""
    haze: list[HazeTable] = Field(default=[], max_length=200)
    """Haze machines. [list of tables; none]"""
