"""Other good ways to move the lens for the same wishes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sidelong.errors import Impossible
from sidelong.lens.solve import alternatives
from sidelong.lens.wish import Answer, Wish
from sidelong.plan.focus import plan_focus
from sidelong.plan.values import FocusPlan
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_marks


def plan_alternatives(shoot: Shoot, shot: Shot, best: FocusPlan) -> tuple[FocusPlan, ...]:
    """Up to two other settings that move the lens another way: sharp where asked, within a stop of the best, and half
    as soft at least. Empty for a shot whose movement is given, or with nobody to be sharp."""
    if not best.solved or not shot.sharp:
        return ()
    sharp, soft = (
        best.frame.to_body(np.array([point_of(shoot, name) for name in names], float).reshape(-1, 3))
        for names in (shot.sharp, shot.soft)
    )
    lens = shot.lens
    marks = f_marks(lens.widest, lens.smallest)
    wish = Wish(lens, sharp, soft, shot.blur_limit, marks, shot.f_number, *shot.rise_shift)
    known = Answer(best.setting, best.widest_f or 0.0, None, best.soft_least, None, np.zeros(len(sharp)), "")
    found = []
    for other in alternatives(wish, known)[1:]:
        held = replace(shot, movement=other.setting.movement, f_number=other.setting.f_number, focus_stated=False)
        try:
            found.append(replace(plan_focus(shoot, held), solved=True))
        except Impossible:
            continue
    return tuple(found)
