"""What is needed on the set for one shot: settings as they stand on the scales, order of work, people, heads,
readings."""

from __future__ import annotations

import math
from typing import Any

from sidelong.desk.focus_room import FocusRoom
from sidelong.desk.messages_shot import Card, CardHead, CardLine, CardPerson, CardReading
from sidelong.desk.refused import ShotRefused
from sidelong.light.power import power_in_words
from sidelong.plan.order import where_to_focus
from sidelong.plan.values import FocusPlan, PointFocus
from sidelong.plan.words import SUPPORT_IN_WORDS, blur_in_words, movement_to_set, rotation_to_set, stops_in_words
from sidelong.shoot.values import Reading, Shoot, Shot
from sidelong.units import f_mark, iso_mark, metres_in_words, shutter_mark


def card(shoot: Shoot, shot: Shot, focus: FocusRoom, key: str, light: dict[str, Any]) -> Card:
    """The card of a shot; `key` names what its focus rests on, `light` is the metered light as far as it is."""
    table = light["table"] if light["of_now"] else None
    planned, refusal = None, None
    try:
        planned = focus.plan(shoot, shot, key)
    except ShotRefused as refused:
        refusal = refused.refusal
    return Card(
        id=shot.id,
        brief=shot.brief,
        when=shot.when.isoformat(timespec="minutes"),
        settings=_settings(shoot, shot, planned, table),
        order=list(planned.order) if planned else [],
        people=_people(planned) if planned else [],
        heads=[_head(head) for head in table["strobes"]] if table else [],
        readings=[_reading(r) for r in shoot.readings if r.shot in (None, shot.id)],
        frames_to_take=planned.frames_to_take if planned else None,
        light_state=light["state"],
        impossible=refusal,
    )


def _focused(planned: FocusPlan) -> PointFocus | None:
    return next((p for p in planned.points if p.name == planned.focus_on), None)


def _settings(shoot: Shoot, shot: Shot, planned: FocusPlan | None, table: dict[str, Any] | None) -> list[CardLine]:
    lines = [("Body", shot.body.id), ("Lens", f"{shot.lens.id}, {shot.lens.focal_length * 1e3:g} mm")]
    if planned is not None:
        ring = "infinity" if planned.ring is None else metres_in_words(planned.ring, shoot.imperial)
        lines += [
            ("Movement", movement_to_set(planned.setting)),
            ("Or, one hinge", rotation_to_set(planned.setting)),
            ("Focus", where_to_focus(shoot, shot, planned.setting, _focused(planned))),
            ("Ring", ring),
            ("Stop", f"f/{f_mark(planned.setting.f_number)}"),
        ]
    seconds = table["shutter_s"] if table else shot.shutter
    iso = table["iso"] if table else shot.iso
    lines += [("Shutter", f"{shutter_mark(seconds)} s")] if seconds else []
    lines += [
        ("ISO", str(iso_mark(iso))),
        ("Balance", f"{shot.balance:.0f} K"),
        ("Support", SUPPORT_IN_WORDS[shot.camera.support]),
        ("Lens height", metres_in_words(shot.camera.at[2], shoot.imperial)),
    ]
    return [CardLine(what=what, words=words) for what, words in lines]


def _people(planned: FocusPlan) -> list[CardPerson]:
    return [
        CardPerson(name=p.name, wanted=p.wanted, words=blur_in_words(p.blur_major, planned.blur_limit))
        for p in planned.points
        if p.kind == "person" and (p.in_picture or p.wanted != "free")
    ]


def _head(head: dict[str, Any]) -> CardHead:
    energy = head.get("energy_j", head.get("watts_w"))
    unit = "J" if "energy_j" in head else "W"
    power = head["power"]
    words = "off" if not power or not math.isfinite(power) else f"{power_in_words(power)}, {energy:.0f} {unit}"
    return CardHead(name=head["name"], words=words, note=head.get("note") or "")


def _reading(reading: Reading) -> CardReading:
    value = (
        stops_in_words(reading.value) + " stops" if reading.unit == "stops" else f"{reading.value:g} {reading.unit}"
    )
    return CardReading(who=reading.who, light=reading.light, words=value)
