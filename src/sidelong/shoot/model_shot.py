"""The tables of the shoot file that say who and what picture: people, shots, lights, readings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from sidelong.shoot.model_base import Table, as_table
from sidelong.shoot.quantities import (
    Displacement,
    Facing,
    FloorPoint,
    FNumber,
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
    Rotation,
    Seat,
    Shutter,
    Stature,
    Stops,
    Swing,
    Text,
    number,
)

Illuminance = Annotated[float, BeforeValidator(number(0, 1e9, "lux or lux seconds"))]


class PersonTable(Table):
    """`[[people]]`."""

    name: Name
    at: FloorPoint
    facing: Facing | None = None
    pose: Literal["standing", "sitting", "kneeling"] = "standing"
    height: Stature = 1.72
    skin: Name = "medium"
    clothes: Name = "workwear"
    seat: Seat = 0.45
    build: Name = "average"


class CameraTable(Table):
    """`[shots.camera]`."""

    at: Point
    aim: NameOrPoint | None = None
    level: bool = False
    rise: Displacement | None = None
    shift: Displacement | None = None


class MovementTable(Table):
    """`[shots.movement]`: swing and tilt, or movement and rotation; neither means: find it."""

    swing: Swing | None = None
    tilt: Swing | None = None
    movement: Lean | None = None
    rotation: Rotation | None = None
    focus_on: Name | None = None
    rise: Displacement | None = None
    shift: Displacement | None = None


class TargetTable(Table):
    """`target` of a light: who gets how many stops from middle grey."""

    who: Name | None = None
    stops: Stops = 0.0


class BounceTable(Table):
    """`bounce` of a light: the name of a surface or panel, or a panel with its own place."""

    surface: Name | None = None
    panel: Name | None = None
    at: NameOrPoint | None = None
    to: NameOrPoint | None = None


class LightTable(Table):
    """`[[shots.lights]]`."""

    strobe: Name
    at: Point
    aim: NameOrPoint | None = None
    modifier: Name | None = None
    gel: Names = ()
    power: Power | None = None
    target: TargetTable | None = None
    bounce: Annotated[BounceTable, BeforeValidator(as_table("surface"))] | None = None


class ShotTable(Table):
    """`[[shots]]`."""

    id: Name | None = None
    brief: Text = ""
    when: Moment | None = None
    body: Name | None = None
    lens: Name | None = None
    camera: CameraTable
    sharp: Names = ()
    soft: Names = ()
    movement: MovementTable | None = None
    aperture: FNumber | None = None
    blur_limit: Micrometres | None = None
    shutter: Shutter | None = None
    iso: Iso | None = None
    balance: Kelvin = 5500.0
    ambient: Stops | None = None
    lights: list[LightTable] = Field(default=[], max_length=100)


class ReadingTable(Table):
    """`[[readings]]`: what a meter said on the day; one of stops, lux, lux_seconds."""

    who: Name
    shot: Name | None = None
    light: Name | None = None
    when: Moment | None = None
    stops: Stops | None = None
    lux: Illuminance | None = None
    lux_seconds: Illuminance | None = None
