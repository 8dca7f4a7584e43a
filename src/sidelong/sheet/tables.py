"""The tables of a shot's page, as rows of words: the settings card, people, light at each of them, heads, colours."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from sidelong.colour.light_colour import LightColour
from sidelong.lens.axis import movement_and_rotation
from sidelong.lens.coverage import dark_corners
from sidelong.light.power import power_in_words
from sidelong.plan.order import where_to_focus
from sidelong.plan.precision import LIGHT_UNDER
from sidelong.plan.stage import head_names
from sidelong.plan.values import FocusPlan, HeadSetting, PointFocus, ShotPlan
from sidelong.plan.words import SUPPORT_IN_WORDS, blur_in_words, corners_in_words, movement_to_set, rotation_to_set
from sidelong.sheet.naming import in_table
from sidelong.sheet.wording import DASH, micrometres, millimetres, name, signed, true_minus
from sidelong.shoot.values import Shoot, ShotLight
from sidelong.units import f_mark, iso_mark, metres_in_words, shutter_mark

Row = dict[str, Any]

_LIGHTS_ABREAST = 6
"""Columns of light at each person before the table goes on below."""
_FACE = 0.22
"""Height of the face that blur is drawn beside; common practice, no source. [m]"""


def settings_card(plan: ShotPlan) -> list[tuple[str, str]]:
    """What to set, line by line: the thing and its setting."""
    focus, shot, imperial = plan.focus, plan.shot, plan.shoot.imperial
    moved = movement_and_rotation(focus.setting.movement.swing, focus.setting.movement.tilt)[0] > 1e-6
    ring = "infinity" if focus.ring is None else metres_in_words(focus.ring, imperial)
    lines = [
        ("Lens", f"{name(shot.lens.id, 26)}, {shot.lens.focal_length * 1e3:g} mm"),
        (
            "Movement",
            _upper(movement_to_set(focus.setting)) + (", found here" if focus.solved and moved else ""),
        ),
    ]
    if moved:
        lines.append(("Or, one hinge", _upper(rotation_to_set(focus.setting))))
    lines.append(("Support", _upper(SUPPORT_IN_WORDS[shot.camera.support])))
    lines += [
        ("Refocus" if moved else "Focus", f"{_where(plan)}; ring at {ring}"),
        ("Stop", f"f/{f_mark(focus.setting.f_number)}"),
        ("Shutter", f"{shutter_mark(plan.light.shutter)} s"),
        ("ISO", f"{iso_mark(plan.light.iso)}"),
        *([("ND", f"{plan.light.nd:g} stops")] if plan.light.nd else []),
        ("Balance", f"{shot.balance:.0f} K"),
    ]
    if focus.frames_to_take is not None:
        lines.append(("Frames to take", f"{focus.frames_to_take}"))
    return [(_kept(label), text) for label, text in lines]


def _where(plan: ShotPlan) -> str:
    on = next((p for p in plan.focus.points if p.name == plan.focus.focus_on), None)
    short = None if on is None else replace(on, name=name(on.name, 26))
    return where_to_focus(plan.shoot, plan.shot, plan.focus.setting, short)


def fine_print(plan: ShotPlan) -> list[str]:
    """What the settings rest on, in sentences."""
    focus = plan.focus
    limit = f"Blur limit {micrometres(focus.blur_limit)} µm on the film"
    sentences = [
        f"{limit}; diffraction alone makes {micrometres(focus.airy)} µm, a pixel is {micrometres(focus.pixel)} µm.",
        f"Principal point to film {focus.film_distance * 1e3:.2f} mm; bellows cost "
        f"{abs(focus.bellows_stops):.2f} stop, counted in.",
    ]
    dark = dark_corners(focus.setting, plan.shot.body.film)
    sentences += [corners_in_words(dark)] if dark else []
    if focus.widest_f is not None:
        proved = (
            ""
            if focus.widest_f_proved is None
            else f"; proved that nothing wider than f/{focus.widest_f_proved:.2f} can"
        )
        wide_open = focus.widest_f <= focus.setting.lens.widest
        when = "at every stop of this lens" if wide_open else f"from f/{focus.widest_f:.2f} on"
        sentences.append(f"All who are to be sharp are within the limit {when}{'' if wide_open else proved}.")
    if focus.soft_least is not None:
        more = focus.soft_least_proved
        proved = (
            "" if more is None else f"; proved that nothing makes it more than {micrometres(more)} µm at this stop"
        )
        sentences.append(
            f"The least soft of those to be soft is blurred by {micrometres(focus.soft_least)} µm{proved}."
        )
    return sentences


def focus_rows(shoot: Shoot, focus: FocusPlan) -> list[Row]:
    """A row for each person and mark: what was wanted, what comes out, in words and numbers."""
    return [{"name": in_table(shoot, p.name), **_focus_row(p, focus.blur_limit)} for p in focus.points]


def _focus_row(point: PointFocus, limit: float) -> Row:
    at_subject = point.blur_at_subject
    ring = None if at_subject is None or not math.isfinite(at_subject) else at_subject / _FACE
    return {
        "mark": point.kind == "mark",
        "wanted": point.wanted if point.wanted != "free" else DASH,
        "word": blur_in_words(point.blur_major, limit),
        "verdict": _verdict(point, limit),
        "patch": DASH
        if point.blur_major is None
        else f"{micrometres(point.blur_major)} × {micrometres(point.blur_minor)}",
        "subject": millimetres(at_subject),
        "keep": DASH if point.keep is None or point.blur_major is None else f"{point.keep * 100:.0f} %",
        "seen": "yes" if point.in_picture and point.in_circle else "past the circle" if point.in_picture else "no",
        "falloff": DASH if point.falloff_stops is None else signed(point.falloff_stops, 2),
        "ring": ring,
    }


def _verdict(point: PointFocus, limit: float) -> str:
    """Whether what comes out is what was wanted; empty where nothing was."""
    if point.wanted == "free":
        return ""
    if point.blur_major is None:
        return "not in front"
    sharp = point.blur_major <= limit
    return "as wanted" if sharp == (point.wanted == "sharp") else "not as wanted"


def light_tables(plan: ShotPlan) -> list[Row]:
    """Stops from middle grey at everyone, light by light, so many lights abreast; the totals stand in the last."""
    lights: list[str] = []
    for point in plan.light.points:
        lights += [one.light for one in point.lights if one.light not in lights]
    chunks = [lights[k : k + _LIGHTS_ABREAST] for k in range(0, len(lights), _LIGHTS_ABREAST)]
    tables = []
    for number, chunk in enumerate(chunks, 1):
        last = number == len(chunks)
        rows = []
        for point in plan.light.points:
            stops = {one.light: one.stops for one in point.lights}
            cells = [signed(stops.get(light, -math.inf)) for light in chunk]
            if last:
                cells += [signed(v) for v in (point.ambient_stops, point.flash_stops, point.total_stops)]
            rows.append({"name": in_table(plan.shoot, point.name, 34), "cells": cells})
        heads = [name(light, 14) for light in chunk] + (["ambient", "flash", "all"] if last else [])
        tables.append({"heads": heads, "rows": rows, "totals": last})
    return tables


def largest_error(plan: ShotPlan, people: bool) -> float:
    """The largest statistical error of a light at people, or at marks, that lies within LIGHT_UNDER of all light
    there. [stops]"""
    names = {person.name for person in plan.shoot.people}
    points = [p for p in plan.light.points if (p.name in names) == people]
    errors = [one.stops_error for p in points for one in p.lights if one.stops > p.total_stops - LIGHT_UNDER]
    return max((e for e in errors if math.isfinite(e)), default=0.0)


def errors_in_words(plan: ShotPlan) -> str:
    """How well the table knows its lights: ``Statistical error of a light at people at most 0.03 stop, ...``."""
    at_people, at_marks = (largest_error(plan, people) for people in (True, False))
    marks = f", at marks {at_marks:.2f}" if plan.shoot.marks else ""
    return f"Statistical error of any light that counts: at people at most {at_people:.2f} stop{marks}."


def head_rows(plan: ShotPlan) -> list[Row]:
    """A row for each head: where it stands, what is before it, what it is set to, what that gives."""
    settings = {h.name: h for h in plan.light.heads}
    heads = zip(head_names(plan.shot), plan.shot.lights, strict=True)
    return [_head_row(title, light, settings.get(title), plan.shoot.imperial) for title, light in heads]


def _head_row(title: str, light: ShotLight, setting: HeadSetting | None, imperial: bool) -> Row:
    def place(point: tuple[float, float, float]) -> str:
        if imperial:
            return ", ".join(metres_in_words(v, True) for v in point)
        return ", ".join(f"{v:.2f}".replace("-", "\u2212") for v in point)

    before = [name(light.modifier.id, 24)] if light.modifier else ["bare"]
    if light.bounce is not None:
        onto = light.bounce.surface or (light.bounce.panel.id if light.bounce.panel else "a panel")
        before.append(f"bounced off {name(onto, 20)}")
    said = "" if setting is None else setting.wanted
    if setting is not None and setting.note:
        said += f"; {setting.note}" if said else setting.note
    return {
        "name": name(title, 24),
        "at": place(light.at),
        "aim": place(light.aim),
        "before": ", ".join(before),
        "gel": " + ".join(name(g.id, 18) for g in light.gels) or "none",
        "power": DASH if setting is None else power_in_words(setting.power),
        "stops": DASH if setting is None else signed(setting.power_stops),
        "energy": DASH if setting is None else f"{setting.energy:.0f} {'W' if setting.steady else 'J'}",
        "said": name(true_minus(said), 160),
        "miss": ""
        if setting is None or abs(setting.miss_stops) < 0.05
        else f"misses by {signed(setting.miss_stops)}",
    }


def colour_rows(colours: tuple[LightColour, ...]) -> list[Row]:
    """A patch for each light: what an 18 % grey card becomes, in colour, numbers and words."""
    return [
        {
            "name": name(c.name, 28),
            "rgb": list(c.grey_srgb),
            "srgb": " ".join(str(v) for v in c.grey_srgb),
            "cct": f"{c.cct:.0f} K",
            "duv": signed(c.duv, 4),
            "words": colour_in_words(c),
            "delta": f"{c.delta_uv:.3f}",
        }
        for c in colours
    ]


def colour_in_words(colour: LightColour) -> str:
    """``131 mired colder than the balance, a little green``.

    Under 8 mired counts as neutral and under 0.002 of Duv as no tint: common practice, no source. A light of fewer
    mireds than the balance is colder.
    """
    shift = colour.mired_from_balance
    words = (
        "neutral"
        if abs(shift) < 8
        else f"{abs(shift):.0f} mired {'colder' if shift < 0 else 'warmer'} than the balance"
    )
    if abs(colour.duv) >= 0.002:
        size = "a little " if abs(colour.duv) < 0.006 else ""
        words += f", {size}{'green' if colour.duv > 0 else 'magenta'}"
    return words


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _kept(words: str) -> str:
    return words.replace(" ", "\u00a0")
