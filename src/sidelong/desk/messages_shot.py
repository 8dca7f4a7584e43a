"""What the server says of one shot: its focus, its light, its card; and of a day's sun."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from sidelong.desk.message import Answer, Asked, Id, Pair, Polygon, Triple
from sidelong.desk.messages import WayOutOf


class _More(Answer):
    """An answer that may carry further figures than the page needs."""

    model_config = ConfigDict(frozen=True, extra="allow")


class FocusLens(_More):
    """How the lens is to be set; `ring_m` None is infinity."""

    id: str
    swing_deg: float
    tilt_deg: float
    movement_deg: float
    rotation_deg: float
    rise_mm: float
    shift_mm: float
    film_distance_mm: float
    extension_mm: float
    ring_m: float | None


class PlaneOf(Answer):
    """The points X with normal . X = offset_m, place frame."""

    normal: Triple
    offset_m: float


class FocusPoint(_More):
    """How one person or mark comes out; None where it lies behind the camera."""

    name: str
    kind: Literal["person", "mark"]
    at_m: Triple
    wanted: Literal["sharp", "soft", "free"]
    blur_major_um: float | None
    blur_minor_um: float | None
    blur_angle_deg: float | None
    blur_at_subject_mm: float | None
    image_mm: Pair | None
    in_picture: bool
    in_image_circle: bool
    falloff_stops: float | None
    keep: float | None


class LevelCut(Answer):
    """Where the plane of focus and the zone within the blur limit cut a level of the place: a line and polygons."""

    height: float
    plane: tuple[Pair, Pair] | None
    zone: list[Polygon]


class UprightCut(Answer):
    """The same on the upright plane through the camera along its view: s from the camera ahead, z up. [m]"""

    plane: tuple[Pair, Pair] | None
    zone: list[Polygon]
    origin: Triple
    along: Triple


class Cuts(Answer):
    """Floor, height of the eyes that are to be sharp, and the elevation along the view."""

    floor: LevelCut
    eyes: LevelCut
    elevation: UprightCut


class FocusAnswer(_More):
    """A shot of `sidelong focus --json`, and its cuts; `chance` and what takes long are left out while live."""

    id: str
    lens: FocusLens
    focus_on: str
    solved: bool
    f_number: float
    f_marked: float
    plane: PlaneOf
    hinge_m: float | None
    blur_limit_um: float
    bellows_stops: float
    airy_um: float
    pixel_um: float
    points: list[FocusPoint]
    order: list[str]
    cuts: Cuts


class LivePerson(Answer):
    """Where somebody is while being dragged."""

    name: str
    eyes: Triple
    at: Triple


class Refusal(Answer):
    """A shot that cannot be had, and what would do."""

    words: str
    ways_out: list[WayOutOf]


class LiveAnswer(Answer):
    """Focus with edits that are not saved; `fault` says in words why there is none, `impossible` too."""

    seq: int
    shot: str
    focus: FocusAnswer | None
    people: list[LivePerson]
    fault: str | None
    impossible: Refusal | None
    took_ms: float


class LightTable(_More):
    """A shot of `sidelong light --json`."""

    id: str
    shutter_s: float
    shutter_marked: str
    iso: float
    f_number: float
    bellows_stops: float
    points: list[dict[str, Any]]
    strobes: list[dict[str, Any]]
    learned: list[dict[str, Any]]
    notes: list[str]


class LightAnswer(Answer):
    """The light of a shot: metered when `state` is "ready"; `stage_key` names what it depends on.

    `table` is the newest known; unless it is `of_now`, what it depends on has changed since it was metered.
    """

    state: Literal["none", "ready", "metering", "failed"]
    fraction: float
    stage_key: str
    table: LightTable | None
    of_now: bool
    words: str | None = None


class SunAt(Answer):
    """Where the sun stands: a bearing, and above the horizon as it appears."""

    when: str
    azimuth_deg: float
    elevation_deg: float


class DayOpening(Answer):
    """When the sun shines through an opening into its room."""

    room: str
    name: str
    intervals: list[tuple[str, str]]


class DayPerson(Answer):
    """When the sun reaches somebody's eyes."""

    name: str
    intervals: list[tuple[str, str]]


class DayShot(Answer):
    """A shot on its day; `needs_sun` when its ambient light is asked for and the sun reaches whom it is focused on
    or its room; `warning` where sun and shot no longer meet."""

    id: str
    when: str
    needs_sun: bool
    warning: str | None


class Twilight(Answer):
    """Dawn begins and dusk ends."""

    name: Literal["civil", "nautical", "astronomical"]
    dawn: str | None
    dusk: str | None


class Day(Answer):
    """One day of sun at the place; `path` every five minutes."""

    date: str
    rise: str | None
    set: str | None
    transit: str | None
    always: Literal["up", "down"] | None
    twilights: list[Twilight]
    path: list[SunAt]
    openings: list[DayOpening]
    people: list[DayPerson]
    shots: list[DayShot]


class Patch(Answer):
    """A patch of sun on a surface."""

    surface: str
    polygon: list[Triple]


class Sun(Answer):
    """The sun at one instant and where it falls."""

    azimuth_deg: float
    elevation_deg: float
    patches: list[Patch]


class CardLine(Answer):
    """A setting in words and marked numbers, such as "aperture", "f/2.8"."""

    what: str
    words: str


class CardPerson(Answer):
    """Somebody in the picture, and how they come out."""

    name: str
    wanted: Literal["sharp", "soft", "free"]
    words: str


class CardHead(Answer):
    """What a head is set to, in words."""

    name: str
    words: str
    note: str


class CardReading(Answer):
    """A reading taken, in words."""

    who: str
    light: str | None
    words: str


class Card(Answer):
    """All that is needed on the set for one shot; `heads` are empty until the light is metered."""

    id: str
    brief: str
    when: str
    settings: list[CardLine]
    order: list[str]
    people: list[CardPerson]
    heads: list[CardHead]
    readings: list[CardReading]
    frames_to_take: int | None
    light_state: Literal["none", "ready", "metering", "failed"]
    impossible: Refusal | None


class Take(Answer):
    """A frame or a run of frames taken; `made` when it was noted."""

    shot: str
    number: int
    kept: bool
    note: str
    made: str


class TakeAsked(Asked):
    """Note a take, or change what was noted of it."""

    shot: Id
    number: Annotated[int, Field(ge=1, le=99_999)]
    kept: bool
    note: Annotated[str, Field(max_length=1000)] = ""
