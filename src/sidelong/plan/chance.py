"""The chance of each person, and of all the sharp ones together, for a shot's setting."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.frames_of_reference import BodyFrame
from sidelong.lens.chance import SUPPORTS, SWAY, chance
from sidelong.lens.values import Setting
from sidelong.people.values import Person
from sidelong.shoot.names import point_names, point_of
from sidelong.shoot.values import Shoot, Shot

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ShotChance:
    """`keep`: for everyone and every mark in front of the camera, the chance to be sharp in one frame; `together` all
    the sharp ones at once; frames for 95 and 99 chances in a hundred, None when no number of frames will do;
    `culprit` what spoils the least likely one most: "movement", "ring", "lean" (their own) or "camera"."""

    keep: Mapping[str, float]
    together: float | None
    frames_95: int | None
    frames_99: int | None
    culprit: str


def plan_chance(shoot: Shoot, frame: BodyFrame, setting: Setting, shot: Shot) -> ShotChance:
    """The chances of a shot: people sway as their pose lets them, marks stand still, the camera moves as its support
    lets it."""
    named = {name: frame.to_body(np.array(point_of(shoot, name))) for name in point_names(shoot)}
    seen = {name: at for name, at in named.items() if at[2] > setting.lens.focal_length}
    if not seen:
        return ShotChance({}, None, None, None, "")
    people = {p.name: p for p in shoot.people}
    moves = {name: _moves(frame, people.get(name)) for name in seen}
    hand = SUPPORTS[shot.camera.support]
    everyone = chance(setting, np.array(list(seen.values())), list(moves.values()), hand, shot.blur_limit)
    keep = {name: float(value) for name, value in zip(seen, everyone.each, strict=True)}
    sharp = [name for name in shot.sharp if name in seen]
    if not sharp:
        return ShotChance(keep, None, None, None, "")
    wanted = chance(setting, np.array([seen[n] for n in sharp]), [moves[n] for n in sharp], hand, shot.blur_limit)
    return ShotChance(keep, wanted.together, wanted.frames_95, wanted.frames_99, wanted.culprit)


def _moves(frame: BodyFrame, person: Person | None) -> Array:
    """One-sigma moves of a head as columns (3, 3), body frame: fore and aft, sideways, up. Nil for a mark. [m]"""
    if person is None:
        return np.zeros((3, 3))
    sway = SWAY[person.pose]
    ahead = np.array([math.cos(person.facing), math.sin(person.facing), 0.0])
    aside = np.array([-ahead[1], ahead[0], 0.0])
    ways = np.stack([sway.fore * ahead, sway.side * aside, np.array([0.0, 0.0, sway.up])])
    return frame.direction_to_body(ways).T
