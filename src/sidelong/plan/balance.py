"""A shot's wishes for its light, met together: what is asked of which light, what may be set, what comes of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from sidelong.light.balance_obstacles import HALF_A_STEP
from sidelong.light.balance_solver import solve_balance
from sidelong.light.balance_wish import (
    AMBIENT,
    Balance,
    LightWish,
    LitPoints,
    Means,
    Outermost,
    settable_powers,
    wish_in_words,
)
from sidelong.light.balance_wish import Settings as Dialled
from sidelong.light.exposure import flash_loss_above_sync
from sidelong.plan.metered import Exposed, Readings
from sidelong.plan.precision import in_stops
from sidelong.plan.settings import Settings, above_sync, has_flash, head_at
from sidelong.plan.stage import head_names
from sidelong.plan.values import BalancePlan, FocusPlan, WishOutcome
from sidelong.shoot.values import Freedom, NdFilter, Shoot, Shot, WishOfLight
from sidelong.units import ISO_MARKS, SHUTTER_MARKS, f_marks, true_iso, true_shutter

DAYLIGHT = ("sun", "sky")
MOST_FILTERS = 2
"""So many ND filters are put one on another at most. Common practice."""
USUAL_SHUTTER = 2 ** (-21 / 3)
"""1/125, where there is no flash to wait for. [s]"""
LAMP_SECONDS = 1 / 60
"""What a lamp's watts count for beside the joules of a flash; our own figure. [s]"""


def balanced_settings(shoot: Shoot, shot: Shot, readings: Readings, exposed: Exposed, focus: FocusPlan) -> Settings:
    """All that is free in a shot, found together for its wishes; the nearest to them where they cannot be met."""
    lit, asked = lit_points(readings, shot), asked_of(shot, readings)
    means = means_of(shoot, shot, exposed, focus)
    answer = solve_balance(lit, asked, means, offered=0) if asked else _lowest(means)
    plan = balance_plan(shoot, shot, (lit, asked, means), answer)
    plan = replace(plan, wishes=tuple(_with_error(w, readings, answer, means) for w in plan.wishes))
    return _settings(shot, answer, plan, exposed)


def _with_error(wish: WishOutcome, readings: Readings, answer: Balance, means: Means) -> WishOutcome:
    """The outcome with the error of what was metered, at the settings found."""
    points = (*readings.points, *readings.seen_names)
    value = np.vstack([readings.card, readings.seen]) if len(readings.seen) else readings.card
    error = np.vstack([readings.card_error, readings.seen_error]) if len(readings.seen) else readings.card_error
    found = answer.settings
    powers = dict(zip([name for name in readings.lights if name not in DAYLIGHT], found.powers, strict=True))
    loss = 2.0 ** -flash_loss_above_sync(found.shutter, means.sync)
    counts = np.array(
        [
            powers.get(name, 1.0) * (loss if flash else found.shutter)
            for name, flash in zip(readings.lights, readings.flash, strict=True)
        ]
    )
    taken = [
        wish.light in ("all", name) or wish.light == ("flash" if flash else "ambient")
        for name, flash in zip(readings.lights, readings.flash, strict=True)
    ]
    at = points.index(wish.who)
    return replace(wish, error=float(in_stops((error[at] * counts)[taken], (value[at] * counts)[taken])))


def _lowest(means: Means) -> Balance:
    """Nothing is wished for: the lowest powers and ISO, the widest stop, the usual shutter, the least ND."""
    usual = means.sync or USUAL_SHUTTER
    shutter = min(means.shutters, key=lambda t: abs(math.log2(t / usual)))
    powers = tuple(min(marks) for marks in means.powers)
    energy = math.fsum(p * e for p, e in zip(powers, means.energy, strict=True))
    found = Dialled(shutter, min(means.isos), min(means.f_numbers), min(means.nd), powers, energy)
    return Balance(found, np.zeros(0), 0.0, 0.0, 0.0, True, "")


def wishes_of(shot: Shot) -> tuple[WishOfLight, ...]:
    """The shot's wishes, the targets of its lights and its ambient among them."""
    wishes = list(shot.wishes)
    for name, light in zip(head_names(shot), shot.lights, strict=True):
        if light.target is not None:
            wishes.append(WishOfLight(light.target.who, name, light.target.stops))
    who = next(iter(shot.sharp), shot.focus_on)
    if shot.ambient is not None and who is not None:
        wishes.append(WishOfLight(who, AMBIENT, shot.ambient))
    return tuple(wishes)


def lit_points(readings: Readings, shot: Shot) -> LitPoints:
    """What the meters said, as the balance takes it: everyone and every mark, then what is seen itself."""
    heads = head_names(shot)
    columns = [readings.lights.index(name) for name in heads]
    light = np.vstack([readings.card, readings.seen]) if len(readings.seen) else readings.card
    dark = np.zeros(len(light))
    daylight = [light[:, readings.lights.index(name)] if name in readings.lights else dark for name in DAYLIGHT]
    return LitPoints(
        (*readings.points, *readings.seen_names),
        heads,
        DAYLIGHT,
        light[:, columns],
        np.stack(daylight, axis=1),
        tuple(not readings.flash[k] for k in columns),
    )


def asked_of(shot: Shot, readings: Readings) -> tuple[LightWish, ...]:
    """The wishes by the points of `lit_points`; the tighter a wish, the more its miss counts."""
    points = (*readings.points, *readings.seen_names)
    return tuple(
        LightWish(
            points.index(wish.who),
            wish.stops,
            wish.light,
            HALF_A_STEP / wish.within,
            wish.bound == "at_most",
            wish.bound == "at_least",
        )
        for wish in wishes_of(shot)
    )


def means_of(shoot: Shoot, shot: Shot, exposed: Exposed, focus: FocusPlan) -> Means:
    """What may be set in a shot: only marks, and only what the shot leaves free."""
    free, body, lens = shot.free or Freedom(), shot.body, shot.lens
    powers = tuple(
        (light.power,) if light.power is not None else settable_powers(light.strobe) for light in shot.lights
    )
    energy = tuple(s.energy * (LAMP_SECONDS if s.steady else 1.0) for s in (light.strobe for light in shot.lights))
    return Means(
        powers=powers,
        energy=energy,
        shutters=_shutters(shot, free),
        isos=_between(map(true_iso, ISO_MARKS), free.iso) if free.iso else (shot.iso,),
        f_numbers=f_numbers_of(shot, free, focus),
        nd=tuple(nd_choices(shoot.kit.filters, shot)),
        bellows=exposed.bellows,
        sync=body.sync if has_flash(shot) else 0.0,
        outermost=Outermost(body.iso, (lens.widest, lens.smallest), body.shutter[1]),
    )


def _shutters(shot: Shot, free: Freedom) -> tuple[float, ...]:
    usual = shot.body.sync if has_flash(shot) else USUAL_SHUTTER
    if free.shutter is None:
        return (shot.shutter if shot.shutter is not None else usual,)
    return _between(map(true_shutter, SHUTTER_MARKS), free.shutter)


def _between(marks: Iterable[float], span: tuple[float, float]) -> tuple[float, ...]:
    inside = tuple(m for m in marks if span[0] * 0.999 <= m <= span[1] * 1.001)
    return inside or (span[0],)


def f_numbers_of(shot: Shot, free: Freedom, focus: FocusPlan) -> tuple[float, ...]:
    """The stops that the focus allows: from the widest that keeps the sharp ones sharp to where the first of the soft
    ones would be sharp, for a blur goes with the opening. Fixed, unless the shot leaves it free."""
    now = focus.setting.f_number
    if free.f_number is None:
        return (now,)
    softest = math.inf if focus.soft_least is None else now * focus.soft_least / focus.blur_limit
    low = max(free.f_number[0], now)
    high = min(free.f_number[1], shot.lens.smallest, max(softest * (1 - 1e-6), low))
    return tuple(n for n in f_marks(shot.lens.widest, shot.lens.smallest) if low * 0.999 <= n <= high * 1.001) or (
        now,
    )


def nd_choices(filters: Mapping[str, NdFilter], shot: Shot) -> dict[float, tuple[NdFilter, ...]]:
    """Stops of ND that can be put on, and the filters that make them: what is on already, or any one or two."""
    free = shot.free or Freedom()
    if not free.filters:
        return {math.fsum(f.stops for f in shot.filters): shot.filters}
    choices: dict[float, tuple[NdFilter, ...]] = {}
    for count in range(MOST_FILTERS + 1):
        for some in itertools.combinations(filters.values(), count):
            choices.setdefault(round(math.fsum(f.stops for f in some), 6), some)
    return choices


Case = tuple[LitPoints, tuple[LightWish, ...], Means]


def balance_plan(shoot: Shoot, shot: Shot, case: Case, answer: Balance) -> BalancePlan:
    """An answer of the solver as the plan of a shot."""
    lit, asked, means = case
    found = answer.settings
    lights = tuple(replace(light, power=p) for light, p in zip(shot.lights, found.powers, strict=True))
    settled = replace(
        shot,
        shutter=found.shutter,
        iso=found.iso,
        f_number=found.f_number,
        filters=nd_choices(shoot.kit.filters, shot)[found.nd],
        lights=lights,
    )
    outcomes = tuple(
        WishOutcome(
            wish_in_words(lit, wish),
            lit.points[wish.point],
            wish.of,
            wish.stops,
            "at_most" if wish.at_most else "at_least" if wish.at_least else "at",
            got_of(lit, wish, means, answer),
            float(miss),
            HALF_A_STEP / wish.weight,
        )
        for wish, miss in zip(asked, answer.misses, strict=True)
    )
    return BalancePlan(answer, lit, asked, means, outcomes, settled)


def got_of(lit: LitPoints, wish: LightWish, means: Means, answer: Balance) -> float:
    """What the light that a wish is about gives at the settings found. [stops]"""
    found = answer.settings
    loss = 2.0 ** -flash_loss_above_sync(found.shutter, means.sync)
    counts = np.where(lit.lamps, found.shutter, loss) * np.array(found.powers)
    light = float((lit.flash[wish.point] * counts)[lit.heads_of(wish)].sum())
    light += found.shutter * float(lit.steady[wish.point, lit.steady_of(wish)].sum())
    return Exposed(found.f_number, found.iso, means.bellows, found.nd).stops(light, 1.0)


def _settings(shot: Shot, answer: Balance, plan: BalancePlan, exposed: Exposed) -> Settings:
    found = answer.settings
    loss = flash_loss_above_sync(found.shutter, shot.body.sync) if has_flash(shot) else 0.0
    heads = tuple(
        head_at(name, light.strobe, power, "as given" if light.power is not None else "for the wishes")
        for name, light, power in zip(head_names(shot), shot.lights, found.powers, strict=True)
    )
    notes = (above_sync(shot, found.shutter, loss),) if loss > 0 else ()
    film = Exposed(found.f_number, found.iso, exposed.bellows, found.nd)
    return Settings(film, found.shutter, loss, heads, notes, plan)
