"""From a stage to a scene: the place's surfaces, the people, the panels, the haze's bounds, the sky."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from sidelong.light.sky import relative_luminance
from sidelong.light.values import Daylight
from sidelong.people import cloth
from sidelong.people.figure import figure
from sidelong.place.shell import things
from sidelong.place.values import Place
from sidelong.spectra import finishes
from sidelong.trace.kept import Kept
from sidelong.trace.scene import Piece, Scene, Tables, alike, bodies, joined, lit, sheet_piece, tables, thing_piece
from sidelong.trace.skyfield import SkyTable, sky_table
from sidelong.trace.stand_ins import portals
from sidelong.trace.values import Stage

OPEN_AIR = 12.0
"""Haze out of doors reaches this far around the people and lights. [m]"""

_STANDING: Kept[object, Tables] = Kept()
"""The last place and people: the same for every shot of a shoot."""
_SOLIDS: Kept[Tables, Tables] = Kept()
"""The same with the last panels and lights' bodies: those of a picture are those of its readings."""


def build(stage: Stage) -> Scene:
    """The scene of a stage. Each person is known by their index in `stage.people`.

    Raises
    ------
    InputFault
        A finish is not known, or a mesh cannot be read.
    """
    standing = _STANDING.of((stage.place, *stage.people), lambda: tables(_standing(stage)))
    brought = tables([*map(sheet_piece, stage.sheets), *bodies(stage.emitters)])
    solids = _SOLIDS.of((standing, brought), lambda: joined(standing, brought), alike)
    return lit(solids, stage.emitters, stage.daylight, portals(stage.place), stage.place.air, haze_box(stage))


def _standing(stage: Stage) -> Iterator[Piece]:
    for thing in things(stage.place):
        yield thing_piece(thing, finishes.finish(thing.finish))
    for index, person in enumerate(stage.people):
        for thing in figure(person):
            yield thing_piece(thing, cloth.finish(thing.finish), index)


def sky_of(daylight: Daylight | None) -> SkyTable | None:
    """The sky's table of a moment of daylight; None in the dark."""
    if daylight is None:
        return None
    return sky_table(
        lambda directions: relative_luminance(daylight.sky_type, directions, daylight.to_sun), daylight.sky_horizontal
    )


def haze_box(stage: Stage) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest corner of the box that holds the haze: the rooms', or around what stands outside. [m]"""
    place: Place = stage.place
    if place.rooms:
        low = np.array([r.at for r in place.rooms], float)
        return low.min(0), (low + np.array([r.size for r in place.rooms], float)).max(0)
    points = [p.at for p in stage.people] + [e.at for e in stage.emitters]
    if place.air.plume is not None:
        points += [place.air.plume.at, place.air.plume.to]
    points = points or [(0.0, 0.0, 0.0)]
    around = np.array(points, float)
    return around.min(0) - OPEN_AIR, around.max(0) + OPEN_AIR
