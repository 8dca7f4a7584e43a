"""The tables of the shoot file that say who and what picture: people, shots, lights, readings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from sidelong.shoot.model_base import Table, as_table
from sidelong.shoot.quantities import (
    Beam,
    Displacement,
    Facing,
    FloorPoint,
    FNumber,
    FreeIso,
    FreeShutter,
    FreeStop,
    FrontSize,
    Iso,
    Kelvin,
    Lean,
    Micrometres,
    Moment,
    Name,
    NameOrPoint,
    Names,
    Point,
    Power,
    Reach,
    Rotation,
    Seat,
    Shutter,
    Stature,
    Stops,
    Swing,
    Text,
    Word,
    number,
)
from sidelong.shoot.wanted import Framing, SharpNames, SoftNames

FrameCount = Annotated[int, Field(ge=1, le=100_000)]
Speed = Annotated[float, BeforeValidator(number(0, 60, "a speed in metres a second,"))]
Within = Annotated[float, BeforeValidator(number(0.01, 10, "stops"))]
Mireds = Annotated[float, BeforeValidator(number(1, 200, "mireds"))]

Illuminance = Annotated[float, BeforeValidator(number(0, 1e9, "lux or lux seconds"))]


class PersonTable(Table):
    """`[[people]]`."""

    name: Name
    """Their name. It stands for the middle of their two eyes wherever a point is wanted. [name; required]"""
    at: FloorPoint
    """The floor under the middle of the eyes, [x, y]; [x, y, z] gives the height of what carries the feet. [m;
    required]"""
    facing: Facing | None = None
    """Bearing of face and body, clockwise from true north; or a name, "camera" or a point [x, y] to face.
    [degrees; the cameras that name them, else all, else plan -y]"""
    pose: Literal["standing", "sitting", "kneeling"] = "standing"
    """"standing", "sitting", "kneeling". [-; "standing"]"""
    height: Stature = 1.72
    """Stature, standing. [m; 1.72]"""
    skin: Word = "medium"
    """"fair", "light", "olive", "medium", "tan", "brown", "dark". [-; "medium"]"""
    clothes: Word = "workwear"
    """"workwear", "oilskins", "jersey", "coat", "apron", "plain"; and, after " in ", the cloth on top by its dye and
    fibre: "jersey in madder wool", "coat in deep indigo linen". [-; "workwear"]"""
    seat: Seat = 0.45
    """Height of the seat above the feet, when sitting. [m; 0.45]"""
    moves: Speed = 0.0
    """How fast they move, taken across the view: walking 1.4, dancing 3, a hammer 10. [m/s; 0]"""
    build: Word = "average"
    """"average", "slight", "heavy", "male", "female", "young", "old" and others. [-; "average"]"""


class CameraTable(Table):
    """`[shots.camera]`."""

    at: Point
    """The front principal point, movements at zero, the ring at infinity. [m; required]"""
    aim: NameOrPoint | None = None
    """A name, or a point [x, y, z], that the body looks at. [m; whom it is focused on]"""
    level: bool = False
    """True keeps the film vertical; rise or fall does the framing. [-; false]"""
    support: Literal["tripod", "monopod", "hand"] = "tripod"
    """What carries the camera: "tripod", "monopod", "hand". [-; "tripod"]"""
    framing: Framing | None = None
    """How far a found movement may carry the image of the aim and of those named, across and up, in per cent of the
    picture's width; "held" is 0.5. The lens's shift corrects it. [per cent; any]"""
    rise: Displacement | None = None
    """Of the lens along the film, up; or in the movement. [mm; 0]"""
    shift: Displacement | None = None
    """Of the lens along the film, to the right; or in the movement. [mm; 0]"""


class MovementTable(Table):
    """`[shots.movement]`: swing and tilt, or movement and rotation; neither means: find it."""

    swing: Swing | None = None
    """Points the lens to the camera's right. [degrees; found, or 0 beside tilt]"""
    tilt: Swing | None = None
    """Points the lens up. [degrees; found, or 0 beside swing]"""
    movement: Lean | None = None
    """Angle of a lens with one hinge and a rotating mount, instead of swing and tilt. [degrees; found]"""
    rotation: Rotation | None = None
    """Of that mount: 0 swings to the right, 90 tilts up. [degrees; 0]"""
    focus_on: Name | None = None
    """Whose eyes, or which mark, the ring is set for. [name; the first of sharp, else the aim, else the first
    person]"""
    rise: Displacement | None = None
    """As in the camera. [mm; 0]"""
    shift: Displacement | None = None
    """As in the camera. [mm; 0]"""


class TargetTable(Table):
    """`target` of a light: who gets how many stops from middle grey."""

    who: Name | None = None
    """Who or which mark gets it. [name; the one focused on]"""
    stops: Stops = 0.0
    """From middle grey, from this light alone. [stops; 0]"""


class BounceTable(Table):
    """`bounce` of a light: the name of a surface or panel, or a panel with its own place."""

    surface: Name | None = None
    """"ceiling", "wall left" and so on of the first room, "workshop ceiling" of a room by its name. [-; panel]"""
    panel: Name | None = None
    """Id of a modifier of the kind panel. [id; surface]"""
    at: NameOrPoint | None = None
    """Where the panel's middle stands. [m or name; the light's aim, if that is a point]"""
    to: NameOrPoint | None = None
    """Whom the panel is turned to light. [m or name; the aim, else the target, else the one focused on]"""


class LightTable(Table):
    """`[[shots.lights]]`."""

    strobe: Name | None = None
    """Which strobe. [id; lamp]"""
    lamp: Name | None = None
    """Which lamp, if it burns steadily: the shutter acts on it, and it counts with the ambient. [id; strobe]"""
    at: Point
    """Where it stands: the tube, or the middle of the front. [m; required]"""
    aim: NameOrPoint | None = None
    """A name or point. [m; the target, else the one focused on; off a surface, where a mirror would light them]"""
    modifier: Name | None = None
    """What is before it. [id; the bare tube]"""
    zoom: Beam | None = None
    """Beam that its modifier is zoomed to. [degrees; the modifier's own, else its narrowest]"""
    gel: Names = ()
    """One gel or a list of gels. [ids; none]"""
    power: Power | None = None
    """Fraction of full power, such as 0.25 or "1/4"; of a lamp, of its light. [fraction; 1, if there is no target]"""
    target: TargetTable | None = None
    """What it shall give instead of a power: the power is found. [table; none]"""
    bounce: Annotated[BounceTable, BeforeValidator(as_table("surface"))] | None = None
    """What it is turned at: the name of a surface or panel, or a table. [name or table; none]"""

    @property
    def source(self) -> str:
        """The id of its strobe or lamp."""
        return self.strobe or self.lamp or ""

    reach: Reach | None = None
    """[nearest, farthest] that the balance may put it from its aim, on the line to where it stands.
    [m; it stays where it stands]"""


class SheetTable(Table):
    """`[[shots.sheets]]`: what stands in the light: scrims, nets, gels, flags or panels in a frame."""

    of: Names
    """An id or a list of ids, from the far side to the near one. [ids; required]"""
    at: Point
    """Where its middle is. [m; required]"""
    to: NameOrPoint | None = None
    """What its near side faces. [m or name; the one focused on]"""
    size: FrontSize | None = None
    """[width, height], or one number for both. [m; that of the first]"""


class WishTable(Table):
    """`[[shots.wishes]]`; one of stops, at_most, at_least, or a kelvin."""

    who: Name | None = None
    """At whom, at which mark, or which window or block as it is seen itself. [name; the one focused on]"""
    light: Name = "all"
    """By which light: "all", "flash", "ambient", "sun", "sky", or a strobe. [name; "all"]"""
    stops: Stops | None = None
    """That it shall give, from middle grey. [stops; one of three]"""
    at_most: Stops | None = None
    """That it shall not go above. [stops; one of three]"""
    at_least: Stops | None = None
    """That it shall not go below. [stops; one of three]"""
    within: Within = 1 / 6
    """How far off it may be and still count as met. [stops; half a third]"""
    kelvin: Kelvin | None = None
    """The colour temperature that the light of a strobe shall have: its gels are chosen. [K; no wish]"""
    within_mired: Mireds = 15.0
    """How far off that may be. [mired; 15]"""


class FreeTable(Table):
    """`[shots.free]`: what the balance may choose; what the shot itself states stays as it is."""

    shutter: FreeShutter = True
    """true, false, or [fastest, slowest]. [s; true: from the sync time, or where every strobe has a high-speed mode
    from the body's fastest, to "1/30"]"""
    iso: FreeIso = False
    """true for all that the body has, false, or [lowest, highest]. [-; false: the lowest of the body]"""
    aperture: FreeStop = False
    """true for all that the focus allows, false, or [widest, smallest]. [-; false: what the focus needs]"""
    filters: bool = True
    """Whether ND of the kit may be put on. [-; true]"""


class ShotTable(Table):
    """`[[shots]]`."""

    id: Name | None = None
    """What it is called. [id; its number]"""
    brief: Text = ""
    """What the picture shall be. [text; empty]"""
    when: Moment | None = None
    """Date and time, on the place's clock or with an offset; a date alone is its noon. [-; noon, 20 March 2026, with
    a doubt]"""
    body: Name | None = None
    """Which body. [id; the only one]"""
    lens: Name | None = None
    """Which lens. [id; the only one]"""
    camera: CameraTable
    """Where it stands and looks. [table; required]"""
    sharp: SharpNames = ()
    """Who shall be sharp: a name or a list, in it also `{ who, part }` with the part "eyes", "face" or "figure".
    [names; nobody]"""
    soft: SoftNames = ()
    """Who shall fall away: a name or a list, in it also `{ who, part, least }` with a least blur on the film in
    micrometres; as soft as can be without it. [names; nobody]"""
    movement: MovementTable | None = None
    """How the lens is moved; left out, or with nothing but focus_on, rise and shift, it is found. [table; found]"""
    aperture: FNumber | None = None
    """Marked f-number. [-; found]"""
    blur_limit: Micrometres | None = None
    """Full major axis, on the film, of a blur that still counts as sharp.
    [micrometres; the film's diagonal / 1500]"""
    shutter: Shutter | None = None
    """Marked time. [s; what meets ambient; without ambient the sync time with strobes, else "1/125"]"""
    iso: Iso | None = None
    """Marked speed. [-; the lowest of the body]"""
    balance: Kelvin = 5500.0
    """Colour temperature that goes neutral. [K; 5500]"""
    ambient: Stops | None = None
    """What sun and sky shall give on the one focused on, from middle grey. [stops; no wish]"""
    filters: Names = ()
    """ND on the lens: an id or a list. [ids; none, or what the wishes need]"""
    frames: FrameCount | None = None
    """How many frames will be taken, for batteries. [-; 36]"""
    lights: list[LightTable] = Field(default=[], max_length=100)
    """The strobes of this picture. [list of tables; none]"""
    sheets: list[SheetTable] = Field(default=[], max_length=50)
    """What stands in the light. [list of tables; none]"""
    wishes: list[WishTable] = Field(default=[], max_length=100)
    """What the light shall do; powers and exposure are then found together. [list of tables; none]"""
    free: FreeTable | None = None
    """What may be chosen to meet the wishes. [table; with wishes the shutter and ND, without them nothing]"""


class ReadingTable(Table):
    """`[[readings]]`: what a meter said on the day; one of stops, lux, lux_seconds."""

    who: Name
    """At whom, or at which mark. [name; required]"""
    shot: Name | None = None
    """In which shot. [id; any]"""
    light: Name | None = None
    """Which light alone: a strobe, "sun", "sky". [id; all together]"""
    power: Power | None = None
    """What that strobe was set to when it was read. [fraction; what the plan had before any reading]"""
    when: Moment | None = None
    """When. [-; not stated]"""
    stops: Stops | None = None
    """From middle grey. [stops; one of three]"""
    lux: Illuminance | None = None
    """Steady light. [lx; one of three]"""
    lux_seconds: Illuminance | None = None
    """Flash. [lx s; one of three]"""
