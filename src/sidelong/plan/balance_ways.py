"""Why a shot's wishes cannot be met, and what would let them: every way out computed, not estimated.

The solver finds what each single change would have to be. A head brought closer is then metered there, and another
time of day is metered under its own sun and sky, until it does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from sidelong.light.balance_obstacles import PRICE, can_be_met
from sidelong.light.balance_solver import solve_balance
from sidelong.light.balance_wish import Settings, WayOut, wish_in_words
from sidelong.light.daylight import daylight
from sidelong.plan.balance_places import at_distance, is_free, metered_at
from sidelong.plan.metered import meter_cards
from sidelong.plan.stage import stage_at_full_power
from sidelong.plan.values import BalancePlan, FocusPlan
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import FIRST_SAMPLES
from sidelong.units import metres_in_words

Array = NDArray[np.float64]

OFFERED = 3
NEAREST = 0.4
"""No head is brought nearer to its aim than this. [m] Our own figure."""
_MORE_STEPS = 6
_STEP_OF_TIME = timedelta(minutes=10)
_LONGEST_WAIT = timedelta(hours=16)
_MOST_METERED = 6


@dataclass(frozen=True)
class Reasons:
    """Which wishes stand against which limits, in words, and the cheapest ways out."""

    wishes: tuple[str, ...]
    limits: tuple[str, ...]
    ways_out: tuple[WayOut, ...]


def reasons(shoot: Shoot, focus: FocusPlan, plan: BalancePlan) -> Reasons:
    """Why the wishes of a shot cannot be met, and at most three ways out, the cheapest first."""
    answer = solve_balance(plan.lit, plan.asked, plan.means, offered=100)
    named = tuple(wish_in_words(plan.lit, wish) for wish in answer.stuck)
    others = tuple(words for words in answer.obstacles if words not in named and words not in answer.limits)
    found: list[WayOut] = []
    for way in answer.ways_out:
        computed = _computed(shoot, focus, plan, way)
        found += [computed] if computed is not None else []
        if len(found) == OFFERED:
            break
    if plan.lit.steady.any() and any(plan.lit.steady_of(wish).any() for wish in answer.stuck):
        waited = other_time(shoot, plan)
        found += [waited] if waited is not None else []
    found.sort(key=lambda way: way.price * way.stops)
    return Reasons((*others, *named), answer.limits, tuple(found[:OFFERED]))


def wished_at(plan: BalancePlan) -> set[str]:
    """The people and marks that a balance's wishes are about."""
    return {plan.lit.points[wish.point] for wish in plan.asked}


def _computed(shoot: Shoot, focus: FocusPlan, plan: BalancePlan, way: WayOut) -> WayOut | None:
    """A way out as it is on the set; None where it is none there."""
    if way.kind == "closer":
        return _closer(shoot, plan, way)
    if way.kind == "later":
        return None
    if way.kind == "stop" and way.settings.f_number < focus.setting.f_number * 0.999:
        return replace(way, words=way.words + _softer(focus, plan.shot, way.settings.f_number))
    return way


def _softer(focus: FocusPlan, shot: Shot, f_number: float) -> str:
    """What a wider stop does to the ones that are to be sharp, for a blur goes with the opening."""
    sharp = [p for p in focus.points if p.name in shot.sharp and p.blur_major is not None]
    if not sharp:
        return ""
    worst = max(sharp, key=lambda p: p.blur_major or 0.0)
    times = (worst.blur_major or 0.0) * focus.setting.f_number / f_number / focus.blur_limit
    return f", where {worst.name} is blurred to {times:.1f} times the limit" if times > 1 + 1e-6 else ""


def _closer(shoot: Shoot, plan: BalancePlan, way: WayOut) -> WayOut | None:
    """A head at the distance from which it does, metered there; nearer by thirds of a stop until it does."""
    head = way.head or 0
    light = plan.shot.lights[head]
    drawn = math.dist(light.at, light.aim)
    names = wished_at(plan)
    before = metered_at(shoot, plan.shot, head, drawn, names)
    already = way.first.stops if way.first is not None else 0.0
    for more in range(_MORE_STEPS):
        stops = way.stops - already + more / 3
        distance = drawn * 2.0 ** (-stops / 2)
        at = at_distance(light, distance)
        if distance < NEAREST or not is_free(shoot, at):
            return None
        ratio = _ratio(metered_at(shoot, plan.shot, head, distance, names), before)
        flash = plan.lit.flash.copy()
        flash[:, head] *= ratio
        settings = can_be_met(replace(plan.lit, flash=flash), plan.asked, way.means or plan.means)
        if settings is not None:
            after, now = (metres_in_words(d, shoot.imperial) for d in (distance, drawn))
            words = f"with {plan.lit.heads[head]} {after} from its aim instead of {now}"
            words = f"{way.first.words} and {words}" if way.first is not None else words
            return replace(way, words=words, stops=stops + already, settings=settings)
    return None


def other_time(shoot: Shoot, plan: BalancePlan) -> WayOut | None:
    """The first time later in the day, or the last one before if that is nearer, at which the wishes can be met, to
    ten minutes; None where there is none. How bright sun and sky are tells where to look; then they are metered
    there, and halving finds the first time that does, as far as one that does is followed by others."""
    base = _daylight_at(shoot, plan, plan.shot.when)

    def at(when: datetime) -> WayOut | None:
        now = _daylight_at(shoot, plan, when)
        steady = np.where(base > 0, plan.lit.steady * _ratio(now, base), now)
        settings = can_be_met(replace(plan.lit, steady=steady), plan.asked, plan.means)
        return None if settings is None else _at_time(plan, when, steady, settings)

    looked = []
    for forward in (True, False):
        times = list(_times(shoot, plan.shot, forward))
        looked.append((times, [k for k, (_, gain) in enumerate(times) if _would_do(plan, gain)]))
    # the nearer of the two, later where they are alike
    for times, likely in sorted(looked, key=lambda pair: pair[1][0] if pair[1] else len(pair[0])):
        for k in likely[:_MOST_METERED]:
            found = at(times[k][0])
            low = -1
            while found is not None and k - low > 1:
                middle = (low + k) // 2
                earlier = at(times[middle][0])
                low, k, found = (middle, k, found) if earlier is None else (low, middle, earlier)
            if found is not None:
                return found
    return None


def _would_do(plan: BalancePlan, gain: Array) -> bool:
    """Whether the wishes can be met with sun and sky (2,) so many times as bright."""
    return can_be_met(replace(plan.lit, steady=plan.lit.steady * gain), plan.asked, plan.means) is not None


def _at_time(plan: BalancePlan, when: datetime, steady: Array, settings: Settings) -> WayOut:
    """What another time of day changes, told at the point of the first wish that daylight counts in."""
    point = next((wish.point for wish in plan.asked if plan.lit.steady_of(wish).any()), 0)
    before, after = float(plan.lit.steady[point].sum()), float(steady[point].sum())
    stops = math.log2(after / before) if before > 0 and after > 0 else -math.inf
    wait = when - plan.shot.when
    minutes = round(abs(wait.total_seconds()) / 60)
    span = f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
    said = (
        "no daylight" if math.isinf(stops) else f"daylight {abs(stops):.1f} stops {'more' if stops > 0 else 'less'}"
    )
    words = f"{span} {'later' if minutes and wait > timedelta(0) else 'earlier'}, at {when:%H:%M}, with {said}"
    return WayOut(
        f"{words} at {plan.lit.points[point]}", min(abs(stops), 20.0), settings, "later", None, PRICE["later"]
    )


def _times(shoot: Shoot, shot: Shot, forward: bool) -> Iterator[tuple[datetime, Array]]:
    """Times from a shot's on, and by what sun and sky (2,) would grow if they came from where they do now. [-]"""
    now = daylight(shot.when, shoot.place)
    step = _STEP_OF_TIME if forward else -_STEP_OF_TIME
    for k in range(1, int(_LONGEST_WAIT / _STEP_OF_TIME) + 1):
        when = shot.when + k * step
        then = daylight(when, shoot.place)
        if now is None or then is None:
            return
        pairs = ((then.sun_normal, now.sun_normal), (then.sky_horizontal, now.sky_horizontal))
        yield when, np.array([after / before if before > 0 else 0.0 for after, before in pairs])


def _daylight_at(shoot: Shoot, plan: BalancePlan, when: datetime) -> Array:
    """What cards at everyone get of sun and sky at a time (P, 2). [lx]"""
    stage = replace(stage_at_full_power(shoot, plan.shot), emitters=(), daylight=daylight(when, shoot.place))
    return meter_cards(shoot, plan.shot, stage, FIRST_SAMPLES, wished_at(plan))


def _ratio(after: Array, before: Array) -> Array:
    return np.asarray(np.divide(after, before, out=np.zeros_like(after), where=before > 0))
