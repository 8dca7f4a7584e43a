"""Wishes that cannot all be met: which stand against which limits of the kit, and the cheapest ways out.

The wishes that clash are a smallest set: without any one of them the rest can be met. A limit is named if moving it
alone would do. Every way out is solved for, in thirds of a stop, and the least that does is given.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sidelong.light.balance_search import least_miss, problem_of, settings_of
from sidelong.light.balance_wish import ALL, AMBIENT, LightWish, LitPoints, Means, Settings, WayOut, wish_in_words
from sidelong.units import f_mark, iso_mark, shutter_mark

HALF_A_STEP = 1 / 6 + 1e-6
"""What marks in thirds cannot do better than: a wish within it is met. [stops]"""
MOST = 6.0
"""How far a way out may go. [stops]"""
MOVED = 8.0
"""How far a limit is moved to see whether it is the obstacle. [stops]"""
PRICE = {"nd": 1.0, "iso": 1.0, "scrim": 1.2, "stop": 1.5, "closer": 1.6, "shutter": 2.0, "later": 3.0, "wish": 4.0}
"""What a stop of each change costs in trouble on the set. Our own scale."""
OFFERED = 3

Case = tuple[LitPoints, tuple[LightWish, ...], Means]


@dataclass(frozen=True)
class _Change:
    """One thing that could be otherwise by some stops: its kind, how the limit that it moves is called, what it makes
    of a case, how it is said ("" if nobody can do it), its `smallest` step and the `most` of it that the camera has
    [stops], and the head that it is about."""

    kind: str
    limit: str
    make: Callable[[Case, float], Case]
    words: Callable[[float], str]
    smallest: float = 1 / 3
    most: float = MOST
    head: int | None = None


def can_be_met(lit: LitPoints, wishes: Sequence[LightWish], means: Means) -> Settings | None:
    """Settings that meet every wish within half a step, found fast; None if there are none."""
    problem = problem_of(lit, tuple(wishes), means)
    found = least_miss(problem, np.full(len(wishes), np.inf), HALF_A_STEP, HALF_A_STEP)
    return None if found is None else settings_of(problem, found)


def obstacles_of(
    lit: LitPoints, wishes: tuple[LightWish, ...], means: Means
) -> tuple[tuple[LightWish, ...], tuple[str, ...]]:
    """A smallest set of wishes that cannot be met together, and the limits any of which, moved alone, would let them.
    No limits: the set-up itself is in the way, since the same light falls on both."""
    stuck = list(wishes)
    for wish in wishes:
        others = [w for w in stuck if w is not wish]
        if others and can_be_met(lit, others, means) is None:
            stuck = others
    case = (lit, tuple(stuck), means)
    limits = [c.limit for c in _limits(lit, means) if can_be_met(*c.make(case, MOVED)) is not None]
    return tuple(stuck), tuple(limits)


def ways_out_of(
    lit: LitPoints, wishes: tuple[LightWish, ...], means: Means, stuck: tuple[LightWish, ...]
) -> tuple[WayOut, ...]:
    """The changes that let every wish be met, the cheapest first; `stuck` are those that may give way. Single ones,
    and where fewer than three do, two together; where none do, those that let the stuck ones be met."""
    changes = [*_possible(lit, means), *_concessions(lit, stuck)]
    ways = _cheapest((lit, wishes, means), changes)
    if len(ways) < OFFERED:
        ways = (*ways, *_pairs((lit, wishes, means), stuck))
    if ways or len(stuck) == len(wishes):
        return tuple(sorted(ways, key=lambda way: way.price * way.stops))
    return tuple(
        replace(w, words=f"{w.words} (for that clash alone)") for w in _cheapest((lit, stuck, means), changes)
    )


def _possible(lit: LitPoints, means: Means) -> list[_Change]:
    return [change for change in _limits(lit, means) if change.words(1.0)]


def _pairs(case: Case, stuck: tuple[LightWish, ...]) -> list[WayOut]:
    """Two changes together: one of the camera that lets the stuck wishes be met, and the least other one that then
    does for all; the cheapest second for each first."""
    lit, wishes, means = case
    found = []
    for change in _possible(lit, means):
        first = None if change.head is not None else _least((lit, stuck, means), change)
        if first is None:
            continue
        moved = change.make(case, first.stops)[2]
        others = [c for c in _possible(lit, moved) if c.kind != change.kind]
        for second in _cheapest((lit, wishes, moved), others)[:1]:
            stops = first.stops + second.stops
            price = (first.price * first.stops + second.price * second.stops) / stops
            words = f"{first.words} and {second.words}"
            found.append(replace(second, words=words, stops=stops, price=price, first=first, means=moved))
    return found


def _cheapest(case: Case, changes: Sequence[_Change]) -> tuple[WayOut, ...]:
    found = [way for change in changes if (way := _least(case, change)) is not None]
    return tuple(sorted(found, key=lambda way: way.price * way.stops))


def _least(case: Case, change: _Change) -> WayOut | None:
    """The least of a change that does: by halving where what a smaller one allows a larger one does too."""

    def fits(step: int) -> bool:
        return can_be_met(*change.make(case, step * change.smallest)) is not None

    low, high = 0, math.floor(min(change.most, MOST) / change.smallest + 1e-6)
    if high < 1:
        return None
    if change.kind == "later":
        least = next((step for step in range(1, high + 1) if fits(step)), None)
        if least is None:
            return None
        high = least
    elif not fits(high):
        return None
    while change.kind != "later" and high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    stops = high * change.smallest
    last = change.make(case, stops) if change.head is None else _moved(case, change, stops)
    settings = can_be_met(*last)
    if settings is None:
        return None
    return WayOut(change.words(stops), stops, settings, change.kind, change.head, PRICE[change.kind])


def _moved(case: Case, change: _Change, stops: float) -> Case:
    """A head's light itself made stronger or weaker, its marks as they are."""
    lit, wishes, means = case
    flash = lit.flash.copy()
    flash[:, change.head] *= 2.0 ** (stops if change.kind == "closer" else -stops)
    return replace(lit, flash=flash), wishes, means


def _further(marks: tuple[float, ...], stops: float, stop: float) -> tuple[float, ...]:
    """Marks, and more in thirds beyond their end for some stops; a stop is a factor of `stop`, under 1 downwards."""
    end = max(marks) if stop > 1 else min(m for m in marks if m > 0)
    return (*marks, *(end * stop ** (k / 3) for k in range(1, round(3 * stops) + 1)))


def _limits(lit: LitPoints, means: Means) -> list[_Change]:
    """The limits of camera and heads, each as a change that moves it outwards."""
    heads = (change for head, name in enumerate(lit.heads) for change in _head_limits(means, head, name))
    return [*_speed_limits(means), *_stop_limits(means), *_shutter_limits(means), *heads]


def _of_camera(
    kind: str, limit: str, change: Callable[[float], Means], words: Callable[[float], str], most: float = MOST
) -> _Change:
    step = 1.0 if kind == "nd" else 1 / 3
    return _Change(kind, limit, lambda c, k: (c[0], c[1], change(k)), words, step, most)


def _speed_limits(means: Means) -> list[_Change]:
    nd, iso, outermost = means.nd, means.isos, means.outermost.iso
    densest, low, high = max(nd), min(iso), max(iso)
    return [
        _of_camera(
            "nd",
            "no ND in hand" if densest == 0 else f"ND of {densest:g} stops, the most in hand",
            lambda k: replace(means, nd=(*nd, *(densest + j for j in range(1, round(k) + 1)))),
            lambda k: f"with ND of {densest + k:g} stops",
        ),
        _of_camera(
            "iso",
            f"ISO {iso_mark(low)}, the lowest",
            lambda k: replace(means, isos=_further(iso, k, 0.5)),
            lambda k: f"at ISO {iso_mark(low / 2**k) if low / 2**k > 45 else round(low / 2**k)}",
            _stops_between(outermost[0], low),
        ),
        _of_camera(
            "iso",
            f"ISO {iso_mark(high)}, the highest",
            lambda k: replace(means, isos=_further(iso, k, 2)),
            lambda k: f"at ISO {iso_mark(high * 2**k)}",
            _stops_between(high, outermost[1]),
        ),
    ]


def _stop_limits(means: Means) -> list[_Change]:
    stop, outermost, root = means.f_numbers, means.outermost.f_number, 2**0.5
    wide, small = min(stop), max(stop)
    return [
        _of_camera(
            "stop",
            f"f/{f_mark(small)}, the smallest stop allowed",
            lambda k: replace(means, f_numbers=_further(stop, k, root)),
            lambda k: f"at f/{f_mark(small * root**k)}, {k:.1f} stops smaller",
            2 * _stops_between(small, outermost[1]),
        ),
        _of_camera(
            "stop",
            f"f/{f_mark(wide)}, the widest stop allowed",
            lambda k: replace(means, f_numbers=_further(stop, k, 1 / root)),
            lambda k: f"at f/{f_mark(wide / root**k)}, {k:.1f} stops wider",
            2 * _stops_between(outermost[0], wide),
        ),
    ]


def _shutter_limits(means: Means) -> list[_Change]:
    time = means.shutters
    short, long = min(time), max(time)
    at_sync = means.sync > 0 and abs(short / means.sync - 1) < 0.01
    return [
        _of_camera(
            "shutter",
            f"{shutter_mark(long)} s, the longest shutter",
            lambda k: replace(means, shutters=_further(time, k, 2)),
            lambda k: f"at {shutter_mark(long * 2**k)} s",
            _stops_between(long, means.outermost.longest),
        ),
        # nobody can have a shorter one, so that it is no way out
        _of_camera(
            "shutter",
            f"{shutter_mark(short)} s, the {'sync speed' if at_sync else 'shortest shutter'}",
            lambda k: replace(means, shutters=_further(time, k, 0.5), sync=0.0 if at_sync else means.sync),
            lambda k: "",
        ),
    ]


def _stops_between(low: float, high: float) -> float:
    return math.log2(high / low) if low > 0 and math.isfinite(high) else math.inf


def _head_limits(means: Means, head: int, name: str) -> tuple[_Change, _Change]:
    def make(stop: float) -> Callable[[Case, float], Case]:
        def moved(case: Case, k: float) -> Case:
            marks = _further(means.powers[head], k, stop)
            return case[0], case[1], replace(means, powers=(*means.powers[:head], marks, *means.powers[head + 1 :]))

        return moved

    return (
        _Change(
            "closer",
            f"full power of {name}",
            make(2.0),
            lambda k: f"with {name} at {2 ** (-k / 2):.2f} of its distance ({k:.1f} stops more)",
            head=head,
        ),
        _Change(
            "scrim",
            f"the lowest power of {name}",
            make(0.5),
            lambda k: f"with {k:.1f} stops of scrim or neutral gel before {name}",
            head=head,
        ),
    )


def _concessions(lit: LitPoints, stuck: tuple[LightWish, ...]) -> list[_Change]:
    """What is no limit of the kit: less daylight, a wish that gives way."""

    def darker(case: Case, k: float) -> Case:
        return replace(case[0], steady=case[0].steady * 2.0**-k), case[1], case[2]

    def give_way(wish: LightWish) -> Callable[[Case, float], Case]:
        def made(case: Case, k: float) -> Case:
            softer = replace(wish, weight=HALF_A_STEP / (HALF_A_STEP / wish.weight + k))
            return case[0], tuple(softer if w is wish else w for w in case[1]), case[2]

        return made

    changes = [_Change("wish", "", give_way(w), _conceded(lit, w)) for w in stuck]
    if any(w.of in (ALL, AMBIENT, *lit.steady_names) for w in stuck) and lit.steady.any():
        changes.append(_Change("later", "", darker, lambda k: f"when daylight is {k:.1f} stops less"))
    return changes


def _conceded(lit: LitPoints, wish: LightWish) -> Callable[[float], str]:
    return lambda k: f"with {k:.1f} stops let off {wish_in_words(lit, wish)}"
