"""Other good settings of the lens for the same wishes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sidelong.errors import Impossible
from sidelong.lens.solve import alternatives, solve_movement
from sidelong.lens.values import Setting
from sidelong.lens.wish import Answer, Wish
from sidelong.plan.focus import plan_setting, wish_of
from sidelong.plan.values import FocusPlan
from sidelong.shoot.values import Shoot, Shot

STEADIER = 0.4
"""Part of the blur limit that a steadier setting keeps the sharp ones within. [-]"""
UNSURE = 0.9
"""A chance under which a steadier setting is offered too. [-]"""


def plan_alternatives(shoot: Shoot, shot: Shot, best: FocusPlan, together: float | None) -> tuple[FocusPlan, ...]:
    """Up to three other settings: one that is steadier, where the chance of all sharp `together` is poor, and others
    that move the lens another way, within a stop of the best and half as soft at least. Empty for a shot whose
    movement is given, or with nobody to be sharp."""
    if not best.solved or not shot.sharp:
        return ()
    wish = wish_of(shoot, shot, best.frame)
    found: list[Setting] = []
    if together is not None and together < UNSURE:
        found += _steadier(wish, best)
    known = Answer(best.setting, best.widest_f or 0.0, None, best.soft_least, None, np.zeros(len(wish.sharp)), "")
    found += [other.setting for other in alternatives(wish, known)[1:]]
    return tuple(plan_setting(shoot, shot, setting) for setting in found)


def _steadier(wish: Wish, best: FocusPlan) -> list[Setting]:
    """The same wishes with the sharp ones well inside the limit; empty where the lens has no such setting."""
    try:
        answer = solve_movement(replace(wish, blur_limit=STEADIER * wish.blur_limit), prove=False)
    except Impossible:
        return []
    return [answer.setting] if best.soft_least is None or (answer.soft_least or 0.0) > 0.25 * best.soft_least else []
