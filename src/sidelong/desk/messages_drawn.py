"""The shoot as the page draws it: composed, SI, place frame; lengths in metres, angles in degrees."""

from __future__ import annotations

from typing import Literal

from sidelong.desk.message import Answer, Colour, Pair, Polygon, Triple


class DrawnOpening(Answer):
    """A hole in a wall; `corners` of its inner face, in order round it."""

    name: str
    wall: Literal["left", "right", "near", "far", "floor", "ceiling"]
    kind: Literal["window", "door", "hole"]
    corners: list[Triple]


class DrawnRoom(Answer):
    """A box seen from inside; `at` its lowest corner, walls `thickness` thick outwards."""

    name: str
    at: Triple
    size: Triple
    thickness: float
    openings: list[DrawnOpening]


class DrawnBlock(Answer):
    """A thing that stands there, of a mesh from a file the hull: `outline` of its footprint, from `bottom` to `top`.
    What is turned about and moved is `at`; `size` is along its own axes."""

    name: str
    kind: str
    at: Triple
    size: Triple
    turn_deg: float
    outline: Polygon
    bottom: float
    top: float
    colour: Colour


class DrawnPlace(Answer):
    """`north_deg` is the bearing of the plan's y axis."""

    latitude: float
    longitude: float
    timezone: str
    north_deg: float
    sky: str
    rooms: list[DrawnRoom]
    blocks: list[DrawnBlock]
    meshes: list[DrawnBlock]


class DrawnPerson(Answer):
    """`facing_deg` in the plan: 0 looks along +y, clockwise. `outline` is seen from above."""

    name: str
    at: Triple
    eyes: Triple
    facing_deg: float
    pose: Literal["standing", "sitting", "kneeling"]
    height: float
    outline: Polygon
    skin: Colour
    clothes: Colour


class DrawnMark(Answer):
    """A named point."""

    name: str
    at: Triple


class DrawnCamera(Answer):
    """`aim` is the point looked at, `aim_name` who that is where the file names somebody."""

    at: Triple
    aim: Triple
    aim_name: str | None
    level: bool
    rise_mm: float
    shift_mm: float


class LensFacts(Answer):
    """The lens of a shot: true f-numbers, lengths in millimetres but for `closest` in metres."""

    focal_mm: float
    widest: float
    smallest: float
    movement_deg: float
    rotation_step_deg: float
    pupil_ratio: float
    pivot_mm: float
    field_curvature: float
    blades: int
    closest: float | None
    image_circle_mm: float | None


class DrawnTarget(Answer):
    """What a light shall give alone, in stops from middle grey."""

    who: str
    stops: float


class DrawnLight(Answer):
    """A light of a shot; `index` is its position in the file's list, `power` and `target` as the file states them.

    `modifier` and `gels` are ids; `size` of the front and its outline `front`, across and up seen along its axis;
    `bulge` is how far its middle stands out before that, behind it below nought; `colour` is that of a white card in
    it under the balance.
    """

    index: int
    name: str
    strobe: str
    steady: bool
    at: Triple
    aim: Triple
    modifier: str | None
    gels: list[str]
    power: float | None
    target: DrawnTarget | None
    size: Pair | None
    front: Polygon
    bulge: float
    colour: Colour


class DrawnSheet(Answer):
    """A panel, scrim, flag or frame that stands in the light; `corners` of its face, in order round it."""

    name: str
    at: Triple
    corners: list[Triple]


class DrawnShot(Answer):
    """One picture; `shutter` [s], `iso` and `aperture` are true values, None for what is found. `sun_colour` and
    `sky_colour` are those of a white card in them under the balance, None where they give no light."""

    id: str
    brief: str
    when: str
    body: str
    lens: str
    film_mm: Pair
    camera: DrawnCamera
    lens_facts: LensFacts
    sharp: list[str]
    soft: list[str]
    focus_on: str | None
    solved: bool
    shutter: float | None
    iso: float
    balance_K: float  # noqa: N815 (a unit keeps its sign)
    aperture: float | None
    blur_limit_um: float
    lights: list[DrawnLight]
    sun_colour: Colour | None
    sky_colour: Colour | None
    sheets: list[DrawnSheet]


class DrawnPiece(Answer):
    """A piece of kit; `summary` says in words what it is."""

    id: str
    summary: str
    owned: bool
    rent_per_day: float
    weight: float
    used_by: list[str]


class DrawnKit(Answer):
    """All the kit."""

    bodies: list[DrawnPiece]
    lenses: list[DrawnPiece]
    strobes: list[DrawnPiece]
    lamps: list[DrawnPiece]
    modifiers: list[DrawnPiece]
    gels: list[DrawnPiece]
    filters: list[DrawnPiece]
    power: list[DrawnPiece]
    haze: list[DrawnPiece]


class Drawn(Answer):
    """The whole shoot, composed."""

    title: str
    client: str
    brief: str
    imperial: bool
    place: DrawnPlace
    people: list[DrawnPerson]
    marks: list[DrawnMark]
    shots: list[DrawnShot]
    kit: DrawnKit


class DrawnSource(Answer):
    """An outlet, battery or generator that has a place."""

    id: str
    kind: Literal["mains", "battery", "generator"]
    at: Triple


class DrawnCrossing(Answer):
    """Where a cable lies across a way out."""

    opening: str
    at: Pair


class DrawnCable(Answer):
    """From a source to a head: `way` along the floor, corner by corner. `length_m` is all of it: `along_m` the floor,
    `down_m` from the outlet, `up_m` to the head, and a loop at the stand; `has_m` is the cable in the kit."""

    source: str
    head: str
    way: list[Pair]
    length_m: float
    along_m: float
    down_m: float
    up_m: float
    loop_m: float
    has_m: float | None
    too_short: bool
    straight: bool
    crossings: list[DrawnCrossing]


class Cables(Answer):
    """The cables of a shot and where they come from."""

    shot: str
    sources: list[DrawnSource]
    cables: list[DrawnCable]
