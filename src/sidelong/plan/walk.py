"""The walk of a shot: its movement held, the ring turned from person to person along their row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sidelong.lens.walk import Step, row_order, walk
from sidelong.plan.values import FocusPlan
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot


@dataclass(frozen=True)
class ShotWalk:
    """`names` in the order of the row, and a step for each."""

    names: tuple[str, ...]
    steps: tuple[Step, ...]


def plan_walk(shoot: Shoot, shot: Shot, focus: FocusPlan) -> ShotWalk:
    """The walk along everyone who stands in front of the camera, whether the picture holds them or not."""
    frame, lens = focus.frame, focus.setting.lens
    people = {p.name: frame.to_body(np.array(point_of(shoot, p.name))) for p in shoot.people}
    ahead = {name: at for name, at in people.items() if at[2] > 2 * lens.focal_length}
    if not ahead:
        return ShotWalk((), ())
    listed = list(ahead)
    names = tuple(listed[i] for i in row_order(list(ahead.values())))
    return ShotWalk(names, walk(focus.setting, np.array([ahead[n] for n in names]), shot.blur_limit))
