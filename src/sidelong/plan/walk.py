"""The walk of a shot: its movement held, the ring turned from person to person along their row."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.values import Movement
from sidelong.lens.walk import Step, row_order, scaled, walk
from sidelong.plan.values import FocusPlan
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot

Points = NDArray[np.float64]

BESIDE = 0.5
"""How far beside their line people still belong to a row. [m]"""


@dataclass(frozen=True)
class ShotWalk:
    """`names` in the order of the row, and a step for each; `off_row` who stands elsewhere, `not_ahead` who is behind
    the camera or beside it. `whole` the largest part of the movement with which the ring reaches everyone of the row:
    1 when the movement itself does, None when not even the straight lens does."""

    names: tuple[str, ...]
    steps: tuple[Step, ...]
    off_row: tuple[str, ...]
    not_ahead: tuple[str, ...]
    whole: float | None
    movement: Movement

    @property
    def smaller(self) -> Movement | None:
        """The largest movement with which the ring reaches the whole row; None where there is none."""
        return None if self.whole is None else scaled(self.movement, self.whole)


def plan_walk(shoot: Shoot, shot: Shot, focus: FocusPlan) -> ShotWalk:
    """The walk along the row: those who stand within BESIDE of the line that has most people on it, and of two such
    lines the one with more people whom the shot names, whether the picture holds them or not. Where no three people
    stand in a line, everyone in front of the camera is walked to."""
    frame, lens, moved = focus.frame, focus.setting.lens, focus.setting.movement
    people = {p.name: frame.to_body(np.array(point_of(shoot, p.name))) for p in shoot.people}
    ahead = {name: at for name, at in people.items() if at[2] > 2 * lens.focal_length}
    beside = tuple(name for name in people if name not in ahead)
    if not ahead:
        return ShotWalk((), (), (), beside, None, moved)
    on_floor = {p.name: np.array(p.at[:2], float) for p in shoot.people if p.name in ahead}
    row = _row(on_floor, {*shot.sharp, *shot.soft, shot.focus_on})
    listed = [name for name in ahead if name in row]
    names = tuple(listed[i] for i in row_order([ahead[name] for name in listed]))
    steps = walk(focus.setting, np.array([ahead[n] for n in names]), shot.blur_limit)
    parts = [1.0 if step.setting is not None else step.smaller for step in steps]
    reached = [part for part in parts if part is not None]
    whole = min(reached) if len(reached) == len(parts) else None
    return ShotWalk(names, steps, tuple(n for n in ahead if n not in row), beside, whole, moved)


def _row(on_floor: dict[str, Points], named: set[str | None]) -> frozenset[str]:
    """Names of those who stand in a row, from where they stand on the floor (2,) [m]."""
    best: tuple[tuple[int, int, float], frozenset[str]] | None = None
    for one, two in itertools.combinations(on_floor, 2):
        way = on_floor[two] - on_floor[one]
        length = float(np.hypot(*way))
        if length < 1e-6:
            continue
        across = np.array([-way[1], way[0]]) / length
        off = {name: abs(float((at - on_floor[one]) @ across)) for name, at in on_floor.items()}
        inside = frozenset(name for name, away in off.items() if away <= BESIDE)
        rank = (len(inside), len(inside & named), -sum(off[name] for name in inside))
        if best is None or rank > best[0]:
            best = rank, inside
    return best[1] if best is not None and len(best[1]) >= 3 else frozenset(on_floor)
