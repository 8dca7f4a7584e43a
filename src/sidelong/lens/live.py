"""Following a wish that changes little by little, as while somebody is dragged about a plan: milliseconds a step."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible
from sidelong.lens.linear import Rotations, state_of
from sidelong.lens.softest import FOLLOWED, near_softest
from sidelong.lens.solve import Found, check_reach, find, kept_clear, rotations_of, stops_of, with_soft, without_soft
from sidelong.lens.widest import widest_stop
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

_WIDER = 0.98
"""A stop wider by so much than the widest to choose from leaves the choice alone. [-]"""
_NEVER_FELT = 0.04
"""Where nobody is soft, by so much: the room that people keep to lean hangs on it down to there (solve.py). [-]"""


def follow(wish: Wish, last: Found | None) -> Found:
    """The answer to a wish near the one that `last` answers, from there on; not proved. None starts afresh.

    The widest stop is the full answer's to a relative 1e-4 (where it is wider than the stops that there are to choose
    from, it only says so), and so is the softness as long as the same side of the
    plane of focus for each soft one, the same or the next step of the mount and the same stop or the next mark are
    still the best choice: these are kept, and followed. When the dragging ends, solve.solve_movement looks at every
    choice again.

    Parameters
    ----------
    wish : Wish
        As many soft points as before; another number starts afresh.
    last : Found or None

    Returns
    -------
    Found

    Raises
    ------
    OutOfReach, Impossible
        As solve.solve_movement.
    """
    if last is None or _another(wish, last):
        return find(wish)
    check_reach(wish)
    turns = rotations_of(wish)
    best = _widest(wish, last, turns)
    if best is None:
        return find(wish)
    widest_f, state = best
    try:
        stops = stops_of(wish, widest_f)
    except Impossible:
        return find(wish)
    if last.choice is None:
        answer = without_soft(wish, widest_f, state, stops[0], turns, last.state)
        return Found(answer, state, None, state_of(wish, answer.setting))
    soft = near_softest(kept_clear(wish), last.state, last.choice, stops, turns)
    return find(wish) if soft is None else Found(with_soft(wish, widest_f, soft), state, soft.choice, soft.state)


def _widest(wish: Wish, last: Found, turns: Rotations) -> tuple[float, Array] | None:
    """The widest stop near the last one's, no nearer than it matters: with somebody soft any that is wider than the
    stops to choose from is as good as another, and the mount may stay where it is for it."""
    enough = (wish.f_number or wish.marks[0]) * (_WIDER if last.choice is not None else _NEVER_FELT)
    start = last.widest_state
    if len(turns) == 1:
        return widest_stop(wish, turns, start, FOLLOWED, enough)
    step = 2.0 * math.pi / len(turns)
    here = turns[round(math.atan2(start[1], start[0]) / step) % len(turns)]
    found = widest_stop(wish, [here], start, FOLLOWED, enough)
    return found if found is not None and found[0] < enough else widest_stop(wish, turns, None, FOLLOWED)


def _another(wish: Wish, last: Found) -> bool:
    sides = 0 if last.choice is None else last.choice.sides.shape[1]
    return sides != len(wish.soft) or len(last.state) != (5 if wish.corrects else 3)
