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
    """The version of this format. [-; required]"""
    title: Text = ""
    """What the shoot is called. [text; empty]"""
    client: Text = ""
    """For whom it is. [text; empty]"""
    brief: Text = ""
    """What is wanted, in words; it opens the book. [text; empty]"""
    units: Literal["metric", "imperial"] = "metric"
    """"metric" or "imperial": how lengths are printed; how they are written is free. [-; "metric"]"""
    place: PlaceTable = PlaceTable()
    """Where it happens. [table; open ground]"""
    marks: list[MarkTable] = Field(default=[], max_length=1000)
    """Named points. [list of tables; none]"""
    people: list[PersonTable] = Field(default=[], max_length=500)
    """Who is there. [list of tables; none]"""
    kit: KitTable = KitTable()
    """With what. [table; empty]"""
    shots: list[ShotTable] = Field(default=[], max_length=500)
    """Which pictures. [list of tables; none]"""
    readings: list[ReadingTable] = Field(default=[], max_length=5000)
    """What meters said on the day. [list of tables; none]"""
