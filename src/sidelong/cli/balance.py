"""`sidelong balance`: what to set so that every wish for the light is met, or what stands in the way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table, talk
from sidelong.cli.bar import bar
from sidelong.cli.light_words import (
    cautions_for_machines,
    cautions_on_the_spot,
    facts_in_words,
    missed_in_words,
    settings_in_words,
    wish_rows,
)
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.day.cautions import cautions
from sidelong.day.loads import Load, load_in_words, loads
from sidelong.errors import InputFault, NoBalance
from sidelong.light.balance_wish import WayOut
from sidelong.light.power import power_in_words
from sidelong.plan.balance_answer import facts_answer, wishes_answer
from sidelong.plan.balance_hold import held
from sidelong.plan.balance_ways import Reasons, reasons
from sidelong.plan.learned import learned_in_words
from sidelong.plan.light import head_in_words
from sidelong.plan.motion import burning_of
from sidelong.plan.predict import plan_shot
from sidelong.plan.teacher import Teacher
from sidelong.plan.values import BalancePlan, ShotPlan
from sidelong.shoot.document import set_values
from sidelong.shoot.lines import Path as KeyPath
from sidelong.shoot.values import Freedom, Shoot
from sidelong.units import F_THIRDS, f_mark, iso_mark, shutter_mark, true_f_number


def balance(
    shoot: ShootPath, /, *, shot: ShotId = None, hold: str | None = None, write: bool = False, json: AsJson = False
) -> None:
    """The powers, shutter, ISO, stop, ND, gels and distances that meet every wish for the light.

    Exit code 3 when they cannot all be met: which wish stands against which limit, the nearest settings, and the
    cheapest ways out are printed.

    Parameters
    ----------
    hold
        A strobe whose power shall be the same in every shot.
    write
        Put what was found into the shoot file; comments stay, and the version before is kept beside it.

    Raises
    ------
    InputFault
        No shot has wishes, or `hold` names no strobe that may be set.
    NoBalance
        After everything is printed, when a wish cannot be met.
    """
    opened = open_shoot(shoot)
    wished = [one for one in chosen_shots(opened, shot) if one.free is not None]
    if not wished:
        raise InputFault("found no wishes in the shot; expected [[shots.wishes]] or [shots.free] in at least one")
    plans, teacher = [], Teacher(opened)
    for one in wished:
        with bar(f"light of {one.id}"):
            plans.append(plan_shot(opened, one, teacher=teacher))
    if hold is not None:
        plans = held(opened, plans, hold)
    why = {p.shot.id: reasons(opened, p.focus, _balance(p)) for p in plans if not _balance(p).answer.met}
    if json:
        more = {**cautions_for_machines(cautions(opened, plans)), "power": [_load(at) for at in loads(opened, plans)]}
        json_answer("balance", shoot_head(opened), [_answer(opened, p, why.get(p.shot.id)) for p in plans], more)
    else:
        for plan in plans:
            _print(opened, plan, why.get(plan.shot.id))
        _print_day(opened, plans)
    if write:
        set_values(opened.folder, _changes(opened, plans))
        talk(f"written into {opened.folder / 'shoot.toml'}; the version before is beside it")
    missed = [missed_in_words(p.shot, _balance(p)) for p in plans if not _balance(p).met]
    if missed:
        raise NoBalance("\n".join(missed))


def _balance(plan: ShotPlan) -> BalancePlan:
    assert plan.light.balance is not None
    return plan.light.balance


def _print(shoot: Shoot, plan: ShotPlan, why: Reasons | None) -> None:
    found = _balance(plan)
    columns = ("wish", "comes out", "off by", "may be off", "")
    title = f"{plan.shot.id}: {settings_in_words(plan.focus.setting.f_number, plan.light)}"
    show(table(title, columns, wish_rows(found), right=(1, 2, 3)))
    ready = {flash.name: flash.recycle for flash in burning_of(plan.shot, plan.light)}
    for head, light in zip(plan.light.heads, plan.shot.lights, strict=True):
        gels = "".join(f", {gel.id}" for gel in light.gels)
        again = f", ready again in {ready[head.name]:.1f} s" if head.name in ready else ""
        say(f"  {head.name}: set {head_in_words(head)}{gels}{again} ({head.wanted})")
    for words in found.changes:
        say(f"  {words}")
    if plan.shot.filters:
        say(f"  on the lens: {', '.join(f.id for f in plan.shot.filters)}")
    if found.answer.met and found.wishes:
        say(
            f"  {found.answer.settings.energy:.0f} J a frame; no marked setting misses by less than "
            f"{found.answer.bound:.2f} stop at worst"
        )
    if why is not None:
        _print_why(why)
    for words in facts_in_words(shoot, plan.shot, plan.focus, plan.light):
        say(f"  {words}")
    for words in learned_in_words(plan.light.learned):
        say(f"  {words}")
    for note in plan.light.notes:
        say(f"  {note}")
    say("")


def _print_why(why: Reasons) -> None:
    say(f"  cannot be met: {'; against '.join(why.wishes)}")
    if why.limits:
        say(f"  in the way, each alone: {'; '.join(why.limits)}")
    else:
        say("  no limit of the kit is in the way: the same light falls on both, or none at all arrives")
    for number, way in enumerate(why.ways_out, 1):
        say(f"  way out {number}: {way.words}: {_dialled(way)}")


def _dialled(way: WayOut) -> str:
    found = way.settings
    nd = f", ND {found.nd:g} stops" if found.nd else ""
    powers = "".join(f", {power_in_words(p) if p > 0 else 'off'}" for p in found.powers)
    return f"f/{f_mark(found.f_number)}, {shutter_mark(found.shutter)} s, ISO {iso_mark(found.iso)}{nd}{powers}"


def _print_day(shoot: Shoot, plans: Sequence[ShotPlan]) -> None:
    for load in loads(shoot, plans):
        say(load_in_words(load))
    for words in cautions_on_the_spot(cautions(shoot, plans)):
        say(words)


def _answer(shoot: Shoot, plan: ShotPlan, why: Reasons | None) -> dict[str, Any]:
    found, light = _balance(plan), plan.light
    return {
        "id": plan.shot.id,
        "met": found.met,
        "f_number": plan.focus.setting.f_number,
        "f_marked": f_mark(plan.focus.setting.f_number),
        "shutter_s": light.shutter,
        "shutter_marked": shutter_mark(light.shutter),
        "iso": light.iso,
        "filters": [f.id for f in plan.shot.filters],
        "strobes": [
            {
                "name": head.name,
                "power": head.power,
                "power_marked": power_in_words(head.power) if head.power > 0 else "off",
                ("watts_w" if head.steady else "energy_j"): head.energy,
                "gels": [gel.id for gel in placed.gels],
                "at_m": list(placed.at),
            }
            for head, placed in zip(light.heads, plan.shot.lights, strict=True)
        ],
        "energy_j": found.answer.settings.energy,
        "worst_stops": found.answer.worst,
        "bound_stops": found.answer.bound,
        "gap_stops": found.answer.gap,
        "changes": list(found.changes),
        **wishes_answer(found),
        "obstacles": None if why is None else {"wishes": list(why.wishes), "limits": list(why.limits)},
        "ways_out": [] if why is None else [_way(way) for way in why.ways_out],
        **facts_answer(shoot, plan.shot, plan.focus, light),
        "notes": list(light.notes),
    }


def _way(way: WayOut) -> dict[str, Any]:
    found = way.settings
    return {
        "words": way.words,
        "kind": way.kind,
        "stops": way.stops,
        "f_number": found.f_number,
        "shutter_s": found.shutter,
        "iso": found.iso,
        "nd_stops": found.nd,
        "powers": list(found.powers),
    }


def _load(load: Load) -> dict[str, Any]:
    return {
        "id": load.id,
        "kind": load.kind,
        "strobes": list(load.heads),
        "needed_w": load.watts_needed,
        "has_w": load.watts,
        "needed_wh": load.watt_hours_needed,
        "has_wh": load.watt_hours,
    }


def _changes(shoot: Shoot, plans: Sequence[ShotPlan]) -> list[tuple[KeyPath, Any]]:
    """What `--write` puts into the shoot file: marks where there are marks."""
    drawn = {one.id: (k, one) for k, one in enumerate(shoot.shots)}
    changes: list[tuple[KeyPath, Any]] = []
    for plan in plans:
        number, before = drawn[plan.shot.id]
        path: KeyPath = ("shots", number)
        free = before.free or Freedom()
        if before.shutter is None:
            changes.append(((*path, "shutter"), shutter_mark(plan.light.shutter)))
        if free.iso is not None:
            changes.append(((*path, "iso"), iso_mark(plan.light.iso)))
        if free.f_number is not None:
            changes.append(((*path, "aperture"), _marked_stop(plan.focus.setting.f_number)))
        if plan.shot.filters != before.filters:
            changes.append(((*path, "filters"), [f.id for f in plan.shot.filters]))
        for k, (light, old) in enumerate(zip(plan.shot.lights, before.lights, strict=True)):
            own: KeyPath = (*path, "lights", k)
            if old.power is None:
                changes.append(((*own, "power"), _marked_power(light.power or 0.0)))
            if old.target is not None:
                changes.append(((*own, "target"), None))
            if light.at != old.at:
                changes.append(((*own, "at"), [round(x, 3) for x in light.at]))
            if light.gels != old.gels:
                changes.append(((*own, "gel"), [gel.id for gel in light.gels]))
    return changes


def _marked_stop(f_number: float) -> float:
    """The mark of a stop as a number, where it is one; else the number itself."""
    mark = f_mark(f_number)
    near = mark not in F_THIRDS or abs(true_f_number(mark) / f_number - 1) < 1e-3
    return float(mark) if near else round(f_number, 4)


def _marked_power(power: float) -> float | str:
    words = power_in_words(power)
    return words if words.startswith("1/") and "+" not in words else round(power, 6)
