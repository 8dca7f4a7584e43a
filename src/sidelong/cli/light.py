"""`sidelong light`: what sun, sky and each strobe give everyone, and what to set."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.bar import bar
from sidelong.errors import OutOfPower
from sidelong.plan.focus import plan_focus
from sidelong.plan.learned import learned_in_words
from sidelong.plan.light import head_in_words, plan_light
from sidelong.plan.values import FocusPlan, HeadSetting, LearnedLight, LightAtPoint, LightPlan, PointLight
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Shot
from sidelong.units import f_mark, iso_mark, shutter_mark


def light(shoot: Path, /, *, shot: str | None = None, json: bool = False) -> None:
    """Sun, sky and strobes at everyone, in stops from middle grey, and the powers that make the balance.

    Exit code 3 when a head cannot give what is asked; the nearest it can is set and said.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    shot
        Only this shot, by its id.
    json
        Print one JSON object.

    Raises
    ------
    OutOfPower
        After everything is printed, when a head cannot give what is asked.
    """
    opened = open_shoot(shoot)
    answers, short = [], []
    for one in chosen_shots(opened, shot):
        with bar(f"light of {one.id}") as progress:
            focus = plan_focus(opened, one)
            progress(0.1)
            planned, _ = plan_light(opened, one, focus)
        answers.append(_answer(one, focus, planned))
        short += [f"{one.id}: {h.note}" for h in planned.heads if h.note]
        if not json:
            _print(one, focus, planned)
    if json:
        json_answer("light", shoot_head(opened), answers)
    if short:
        raise OutOfPower("\n".join(short))


def _answer(shot: Shot, focus: FocusPlan, planned: LightPlan) -> dict[str, Any]:
    return {
        "id": shot.id,
        "shutter_s": planned.shutter,
        "shutter_marked": shutter_mark(planned.shutter),
        "iso": planned.iso,
        "f_number": focus.setting.f_number,
        "bellows_stops": focus.bellows_stops,
        "points": [_point(p) for p in planned.points],
        "strobes": [_strobe(h) for h in planned.heads],
        "learned": [_learned(light) for light in planned.learned],
        "notes": list(planned.notes),
    }


def _learned(light: LearnedLight) -> dict[str, Any]:
    return {
        "name": light.light,
        "factor_stops": light.stops,
        "sigma_stops": light.sigma,
        "readings": light.readings,
        "outliers": list(light.outliers),
    }


def _point(point: PointLight) -> dict[str, Any]:
    flashes = [at.stops for at in point.lights if at.flash and math.isfinite(at.stops)]
    ordered = sorted(flashes, reverse=True)
    return {
        "name": point.name,
        "lights": [_light(at) for at in point.lights],
        "total_stops": point.total_stops,
        "ambient_stops": point.ambient_stops,
        "flash_stops": point.flash_stops,
        "flash_over_ambient_stops": point.flash_stops - point.ambient_stops,
        "key_over_fill_stops": ordered[0] - ordered[1] if len(ordered) > 1 else None,
    }


def _light(at: LightAtPoint) -> dict[str, Any]:
    unit = "lxs" if at.flash else "lx"
    return {
        "name": at.light,
        f"flat_{unit}": at.flat,
        f"flat_error_{unit}": at.flat_error,
        f"dome_{unit}": at.dome,
        f"dome_error_{unit}": at.dome_error,
        "stops": at.stops,
        "error_stops": at.stops_error,
    }


def _strobe(head: HeadSetting) -> dict[str, Any]:
    return {
        "name": head.name,
        "power": head.power,
        "power_stops": head.power_stops,
        ("watts_w" if head.steady else "energy_j"): head.energy,
        "wanted": head.wanted,
        "miss_stops": head.miss_stops,
        "note": head.note,
    }


def _print(shot: Shot, focus: FocusPlan, planned: LightPlan) -> None:
    settings = f"f/{f_mark(focus.setting.f_number)}, {shutter_mark(planned.shutter)} s, ISO {iso_mark(planned.iso)}"
    names = [at.light for at in planned.points[0].lights] if planned.points else []
    columns = ("stops from middle grey", *names, "flash", "ambient", "all")
    rows = [
        (
            p.name,
            *(_stops(at) for at in p.lights),
            *map(stops_in_words, (p.flash_stops, p.ambient_stops, p.total_stops)),
        )
        for p in planned.points
    ]
    show(table(f"{shot.id}: {settings}", columns, rows, right=range(1, len(columns))))
    for head in planned.heads:
        say(f"  {head.name}: set {head_in_words(head)} ({head.wanted})" + (f": {head.note}" if head.note else ""))
    for words in learned_in_words(planned.learned):
        say(f"  {words}")
    for note in planned.notes:
        say(f"  {note}")
    say("")


def _stops(at: LightAtPoint) -> str:
    doubt = f" ±{at.stops_error:.1f}" if at.stops_error >= 0.05 and math.isfinite(at.stops) else ""
    return stops_in_words(at.stops) + doubt
