"""The shoot file as models: its tables and keys, strict and closed. `docs/shoot-file.md` describes every key."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from sidelong.shoot.model_base import Table
from sidelong.shoot.model_kit import KitTable
from sidelong.shoot.model_place import MarkTable, PlaceTable
from sidelong.shoot.model_shot import PersonTable, ReadingTable, ShotTable
from sidelong.shoot.quantities import Text


class ShootFile(Table):
    """A whole shoot file, version 1. Values are SI and true already: the types convert as they read."""

    sidelong: Literal[1]
    title: Text = ""
    client: Text = ""
    brief: Text = ""
    units: Literal["metric", "imperial"] = "metric"
    place: PlaceTable = PlaceTable()
    marks: list[MarkTable] = Field(default=[], max_length=1000)
    people: list[PersonTable] = Field(default=[], max_length=500)
    kit: KitTable = KitTable()
    shots: list[ShotTable] = Field(default=[], max_length=500)
    readings: list[ReadingTable] = Field(default=[], max_length=5000)
