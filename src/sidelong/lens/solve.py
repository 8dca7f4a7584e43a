"""Finding the movement: the widest stop at which the wanted ones are sharp, and there the softest others.

Both are second-order cone programmes on blur made linear (linear.py), solved again until they sit on the exact
ellipses; proof.py bounds what any other setting could do.

Source: derived, docs/computed/focus.md; tests hold it against a general optimiser.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible, OutOfReach
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.linear import State
from sidelong.lens.proof import softest_bound, widest_bound
from sidelong.lens.softest import Rotations, least_movement, ring_in_the_middle, softest
from sidelong.lens.widest import widest_stop
from sidelong.lens.wish import Answer, Wish

Array = NDArray[np.float64]

_KEPT_CLEAR = 2e-6
"""How far the answer stays inside the limit, relative, so that rounding never puts a sharp one outside."""


def solve_movement(wish: Wish, prove: bool = True) -> Answer:
    """The movement, ring and stop that serve a wish, with bounds (unless not to `prove`) that no setting beats.

    Raises
    ------
    OutOfReach
        A point wanted sharp lies behind the camera or within the focal length.
    Impossible
        The stop asked for, or the smallest that the lens has, is too wide for all the sharp ones at once.
    """
    answer = _solve(wish, _rotations(wish))
    if not prove:
        return answer
    proved = widest_bound(wish, answer.widest_f)
    soft = answer.soft_least
    soft_proved = None if soft is None else softest_bound(wish, soft, answer.setting.f_number)
    words = _sentence(answer.widest_f, proved, answer.setting.f_number)
    return replace(answer, widest_f_proved=proved, soft_least_proved=soft_proved, sentence=words)


def alternatives(wish: Wish, best: Answer, most: int = 3) -> tuple[Answer, ...]:
    """Other good answers that move the lens another way (left, right, up, down alone), best first, `best` leading.

    Good: within a stop of the best's, and where somebody is wanted soft at least half as soft. Not proved.
    """
    found = [best]
    for rotation in (0.0, math.pi, math.pi / 2, -math.pi / 2):
        try:
            other = _solve(wish, [rotation])
        except Impossible:
            continue
        if _is_as_good(other, best) and all(_differs(other, kept) for kept in found):
            found.append(other)
    ranked = sorted(found[1:], key=lambda a: (-(a.soft_least or 0.0), a.setting.f_number))
    return (best, *ranked[: most - 1])


def _is_as_good(other: Answer, best: Answer) -> bool:
    soft = best.soft_least is None or (other.soft_least or 0.0) >= 0.5 * best.soft_least
    return soft and other.setting.f_number <= 1.42 * best.setting.f_number


def _differs(one: Answer, two: Answer) -> bool:
    a, b = one.setting.movement, two.setting.movement
    return math.hypot(a.swing - b.swing, a.tilt - b.tilt) > math.radians(1.0)


def stops_that_do(wish: Wish) -> tuple[float, ...]:
    """The stops at which some movement keeps all the sharp ones within the limit; solve_movement's errors."""
    return _stops(wish, _widest(wish, _rotations(wish))[0])


def _widest(wish: Wish, rotations: Rotations) -> tuple[float, State]:
    """The widest stop of the sharp ones over some rotations, with its state."""
    _check_reach(wish)
    best: tuple[float, State] | None = None
    for rotation in rotations:
        found = widest_stop(wish, rotation)
        if found is not None and (best is None or found[0] < best[0] * (1 - 1e-9)):
            best = found
    if best is None:
        raise Impossible("no setting of this lens brings the sharp ones together", {}, "ask less to be sharp at once")
    return best


def _solve(wish: Wish, rotations: Rotations) -> Answer:
    widest_f, state = _widest(wish, rotations)
    stops = _stops(wish, widest_f)
    soft, f_number = None, stops[0]
    inside = replace(wish, blur_limit=wish.blur_limit * (1 - _KEPT_CLEAR))
    if len(wish.soft):
        pushed = softest(inside, state, stops, rotations)
        if pushed is not None:
            soft, f_number, state = pushed
    else:
        state = least_movement(inside, state, f_number, _with_room(inside, widest_f, f_number), rotations) or state
    setting = state.setting(wish, f_number)
    if not len(wish.soft):
        setting = ring_in_the_middle(wish, setting)
    residuals = blur(geometry_of(setting), wish.sharp).major / wish.blur_limit
    return Answer(setting, widest_f, None, soft, None, residuals, "")


def _with_room(wish: Wish, widest_f: float, f_number: float) -> float:
    """The blur [m] up to which a smaller movement is preferred when nobody is wanted soft: near the least that can be
    had at this stop, so that people keep room to lean."""
    return min(wish.blur_limit, max(0.05 * wish.blur_limit, 1.1 * wish.blur_limit * widest_f / f_number))


def _sentence(widest_f: float, proved: float, chosen: float) -> str:
    """The bound in words."""
    if widest_f <= chosen * 0.5:
        return "the sharp ones would stay within the limit at a far wider stop"
    gap = 100 * (1 - proved / widest_f)
    return f"no setting of this lens does better than f/{proved:.3g} (found f/{widest_f:.3g}, {gap:.1f} % from proof)"


def _check_reach(wish: Wish) -> None:
    if len(wish.sharp) == 0:
        raise Impossible("nobody is wanted sharp", {}, "name someone under `sharp`, or give the movement")
    nearest = float(np.min(wish.sharp[:, 2]))
    if nearest <= wish.lens.focal_length:
        raise OutOfReach(
            f"the point lies {nearest:.3f} m in front of the camera, inside the lens's focal length or behind it",
            {"forward_m": nearest, "focal_length_m": wish.lens.focal_length},
            "move the camera back or focus on someone in front of it",
        )


def _rotations(wish: Wish) -> Rotations:
    """The rotations to try: None for a mount that turns freely, else each step of the circle."""
    step = wish.lens.rotation_step
    if step <= 0.0 or wish.lens.movement <= 0.0:
        return [None]
    count = max(1, round(2 * math.pi / step))
    return [2 * math.pi * k / count for k in range(count)]


def _stops(wish: Wish, widest_f: float) -> tuple[float, ...]:
    fits = 1 - 1e-9
    if wish.f_number is not None:
        if widest_f * fits > wish.f_number:
            raise Impossible(
                f"at f/{wish.f_number:.3g} no movement of this lens keeps all the sharp ones within "
                f"{wish.blur_limit * 1e6:.0f} micrometres",
                {"widest_f": widest_f},
                f"f/{widest_f:.3g} is the widest stop that does, or ask fewer to be sharp",
            )
        return (wish.f_number,)
    stops = tuple(n for n in wish.marks if n >= widest_f * fits)
    if not stops:
        raise Impossible(
            f"the sharp ones need f/{widest_f:.3g}, and the lens closes only to f/{wish.marks[-1]:.3g}",
            {"widest_f": widest_f},
            "ask fewer to be sharp, allow more blur, or step back",
        )
    return stops
