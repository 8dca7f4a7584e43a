"""Finding the movement: the widest stop at which the wanted ones are sharp, and there the softest others.

Blur is made linear (linear.py), solved as small programmes, and solved again until it sits on the exact ellipses;
proof.py bounds what any other setting could do, and certain.py goes on wherever it leaves room.

Source: derived, docs/computed/focus.md; tests hold it against a general optimiser.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible, OutOfReach
from sidelong.lens.blur import blur
from sidelong.lens.certain import certain_softest, certain_widest
from sidelong.lens.geometry import geometry_of
from sidelong.lens.least import least_movement, ring_in_the_middle
from sidelong.lens.linear import Rotations, setting_of, state_of
from sidelong.lens.softest import Choices, Soft, share_of_least, softest
from sidelong.lens.values import Setting
from sidelong.lens.widest import widest_stop
from sidelong.lens.wish import Answer, Wish

Array = NDArray[np.float64]

_KEPT_CLEAR = 2e-6
"""How far the answer stays inside the limit, relative, so that rounding never puts a sharp one outside."""


@dataclass(frozen=True)
class Found:
    """An answer not proved, and what a solver may start from when the wish has changed a little: the state (q,) of
    the widest stop, the choice that made the others softest (None without any), and its state (q,). [m]"""

    answer: Answer
    widest_state: Array
    choice: Choices | None
    state: Array


def solve_movement(wish: Wish, prove: bool = True) -> Answer:
    """The movement, ring and stop that serve a wish, with bounds (unless not to `prove`) that no setting beats.

    Raises
    ------
    OutOfReach
        A point wanted sharp lies behind the camera or within the focal length.
    Impossible
        The stop asked for, or the smallest that the lens has, is too wide for all the sharp ones at once; or nothing
        keeps the framing and the image circle; or the soft ones cannot have the least blur that is asked of them.
    """
    return find(wish, prove=prove).answer


def alternatives(wish: Wish, best: Answer, most: int = 3) -> tuple[Answer, ...]:
    """Other good answers that move the lens another way (left, right, up, down alone), best first, `best` leading.

    Good: within a stop of the best's, and where somebody is wanted soft at least half as soft. Not proved.
    """
    found = [best]
    for rotation in (0.0, math.pi, math.pi / 2, -math.pi / 2):
        try:
            other = find(wish, [rotation]).answer
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
    return stops_of(wish, _widest(wish, rotations_of(wish))[0])


def _widest(wish: Wish, rotations: Rotations) -> tuple[float, Array]:
    """The widest stop of the sharp ones over some rotations, with its state."""
    check_reach(wish)
    best = widest_stop(wish, rotations)
    if best is None:
        held = wish.framing is not None or len(wish.lit) > 0
        raise Impossible(
            "no setting of this lens brings the sharp ones together"
            + (" and keeps framing and image circle" if held else ""),
            {},
            "let the framing change more, or ask less to be sharp at once"
            if held
            else "ask less to be sharp at once",
        )
    return best


def find(wish: Wish, rotations: Rotations | None = None, prove: bool = False) -> Found:
    """The best setting over some rotations of the mount [rad], over all it has for None; with its bounds, which are
    over all rotations, if it is to be proved.

    Raises
    ------
    OutOfReach, Impossible
        As solve_movement.
    """
    turns = rotations_of(wish) if rotations is None else rotations
    widest_f, state = _widest(wish, turns)
    bound = None
    if prove:
        (widest_f, state), bound = certain_widest(wish, (widest_f, state))
    stops = stops_of(wish, widest_f)
    inside = kept_clear(wish)
    soft = softest(inside, state, stops, turns) if len(wish.soft) else None
    if soft is None and np.any(wish.least_blurs > 0.0):
        raise _not_soft_enough(wish, share_of_least(inside, state, stops, turns))
    if soft is None:
        answer = without_soft(wish, widest_f, state, stops[0], turns)
        return Found(_with_bounds(answer, bound, None), state, None, state_of(wish, answer.setting))
    most = None
    if prove and np.any(wish.least_blurs <= 0.0):
        soft, most = certain_softest(wish, inside, soft)
    return Found(_with_bounds(with_soft(wish, widest_f, soft), bound, most), state, soft.choice, soft.state)


def _with_bounds(answer: Answer, widest: float | None, softest: float | None) -> Answer:
    """An answer with its bounds and its sentence, where there is a bound."""
    if widest is None:
        return answer
    words = _sentence(answer.widest_f, widest, answer.setting.f_number)
    return replace(answer, widest_f_proved=widest, soft_least_proved=softest, sentence=words)


def with_soft(wish: Wish, widest_f: float, soft: Soft) -> Answer:
    """The answer of a soft choice, not proved."""
    return _answer(wish, widest_f, setting_of(wish, soft.state, float(soft.choice.f_number[0])))


def without_soft(
    wish: Wish, widest_f: float, state: Array, f_number: float, rotations: Rotations, last: Array | None = None
) -> Answer:
    """The answer where nobody is wanted soft, from the state of the widest stop (q,) [m]: the smallest movement that
    will do and the ring in the middle. Not proved. `last` (q,) is a state near it, if there is one. [m]"""
    inside = kept_clear(wish)
    room = _with_room(inside, widest_f, f_number)
    moved = None if last is None else least_movement(inside, last, f_number, room, rotations, near=True)
    if moved is None:
        moved = least_movement(inside, state, f_number, room, rotations)
    return _answer(
        wish, widest_f, ring_in_the_middle(wish, setting_of(wish, state if moved is None else moved, f_number))
    )


def kept_clear(wish: Wish) -> Wish:
    """The same wish with its limits a hair tighter, so that rounding never puts anybody outside."""
    least = wish.least_blurs * (1 + _KEPT_CLEAR)
    return replace(wish, blur_limit=wish.blur_limit * (1 - _KEPT_CLEAR), least=least)


def _answer(wish: Wish, widest_f: float, setting: Setting) -> Answer:
    glass = geometry_of(setting)
    sharp = blur(glass, wish.sharp).major / wish.blur_limit
    if len(wish.soft) == 0:
        return Answer(setting, widest_f, None, None, None, sharp, "")
    soft, least = blur(glass, wish.soft).major, wish.least_blurs
    counted = soft[least <= 0.0] if np.any(least <= 0.0) else soft
    over = np.where(least > 0.0, soft / np.where(least > 0.0, least, 1.0), np.inf)
    return Answer(setting, widest_f, None, float(np.min(counted)), None, sharp, "", over)


def _with_room(wish: Wish, widest_f: float, f_number: float) -> float:
    """The blur [m] up to which a smaller movement is preferred when nobody is wanted soft: near the least that can be
    had at this stop, so that people keep room to lean."""
    return min(wish.blur_limit, max(0.05 * wish.blur_limit, 1.1 * wish.blur_limit * widest_f / f_number))


def _sentence(widest_f: float, proved_f: float, chosen: float) -> str:
    """The bound in words."""
    if widest_f <= chosen * 0.5:
        return "the sharp ones would stay within the limit at a far wider stop"
    gap = 100 * (1 - proved_f / widest_f)
    return (
        f"no setting of this lens does better than f/{proved_f:.3g} (found f/{widest_f:.3g}, {gap:.1f} % from proof)"
    )


def check_reach(wish: Wish) -> None:
    """Nothing if a wish has somebody sharp, all of them in front of the lens.

    Raises
    ------
    OutOfReach
        A point wanted sharp lies behind the camera or within the focal length.
    Impossible
        Nobody is wanted sharp.
    """
    if len(wish.sharp) == 0:
        raise Impossible("nobody is wanted sharp", {}, "name someone under `sharp`, or give the movement")
    nearest = float(np.min(wish.sharp[:, 2]))
    if nearest <= wish.lens.focal_length:
        raise OutOfReach(
            f"the point lies {nearest:.3f} m in front of the camera, inside the lens's focal length or behind it",
            {"forward_m": nearest, "focal_length_m": wish.lens.focal_length},
            "move the camera back or focus on someone in front of it",
        )


def rotations_of(wish: Wish) -> Rotations:
    """The rotations to try: None for a mount that turns freely, else each step of the circle. [rad]"""
    step = wish.lens.rotation_step
    if step <= 0.0 or wish.lens.movement <= 0.0:
        return [None]
    count = max(1, round(2 * math.pi / step))
    return [2 * math.pi * k / count for k in range(count)]


def stops_of(wish: Wish, widest_f: float) -> tuple[float, ...]:
    """The true f-numbers, ascending, at which the sharp ones can be within the limit: the one asked for, or marks.

    Raises
    ------
    Impossible
        There is none.
    """
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


def _not_soft_enough(wish: Wish, share: float) -> Impossible:
    least = float(np.min(wish.least_blurs[wish.least_blurs > 0.0]))
    return Impossible(
        f"the soft ones come to {share:.0%} of the least blur that is asked of them, while the sharp ones stay sharp",
        {"share_of_least": share, "least_um": least * 1e6},
        f"ask for {math.floor(share * 100) / 100:.2f} times as much at most, or allow the sharp ones more blur",
    )
