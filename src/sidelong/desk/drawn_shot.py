"""A shot as the page draws it."""

from __future__ import annotations

import math

import numpy as np

from sidelong.desk.messages_drawn import DrawnCamera, DrawnLight, DrawnSheet, DrawnShot, DrawnTarget, LensFacts
from sidelong.desk.swatch import light_colour
from sidelong.lens.values import Lens
from sidelong.light.patterns import front_outline, is_ball
from sidelong.light.values import Emitter, Modifier
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.model_shot import ShotTable
from sidelong.shoot.values import Shoot, Shot, ShotLight
from sidelong.trace.values import Sheet

_DEPTH = 0.2
"""Depth of an umbrella or a dish over its width, as it is drawn. Our own figure. [-]"""


def drawn_shot(shoot: Shoot, shot: Shot, table: ShotTable) -> DrawnShot:
    """A shot of the shoot; `table` is its table in the file."""
    aim = table.camera.aim
    stage = stage_at_full_power(shoot, shot)
    day = stage.daylight
    return DrawnShot(
        id=shot.id,
        brief=shot.brief,
        when=shot.when.isoformat(),
        body=shot.body.id,
        lens=shot.lens.id,
        film_mm=(shot.body.film.width * 1e3, shot.body.film.height * 1e3),
        camera=DrawnCamera(
            at=shot.camera.at,
            aim=shot.camera.aim,
            aim_name=aim if isinstance(aim, str) else shot.focus_on if aim is None else None,
            level=shot.camera.level,
            rise_mm=shot.rise_shift[0] * 1e3,
            shift_mm=shot.rise_shift[1] * 1e3,
        ),
        lens_facts=_facts(shot.lens),
        sharp=list(shot.sharp),
        soft=list(shot.soft),
        focus_on=shot.focus_on,
        solved=shot.movement is None and bool(shot.sharp),
        shutter=shot.shutter,
        iso=shot.iso,
        balance_K=shot.balance,
        aperture=shot.f_number,
        blur_limit_um=shot.blur_limit * 1e6,
        lights=[
            _light(index, light, emitted, shot.balance)
            for index, (light, emitted) in enumerate(zip(shot.lights, stage.emitters, strict=True))
        ],
        sun_colour=light_colour(day.sun_spectrum, shot.balance) if day and day.sun_normal > 0 else None,
        sky_colour=light_colour(day.sky_spectrum, shot.balance) if day else None,
        sheets=[_sheet(sheet) for sheet in stage.sheets],
    )


def _facts(lens: Lens) -> LensFacts:
    return LensFacts(
        focal_mm=lens.focal_length * 1e3,
        widest=lens.widest,
        smallest=lens.smallest,
        movement_deg=math.degrees(lens.movement),
        rotation_step_deg=math.degrees(lens.rotation_step),
        pupil_ratio=lens.pupil_ratio,
        pivot_mm=lens.pivot * 1e3,
        field_curvature=lens.field_curvature,
        blades=lens.blades,
        closest=lens.closest,
        image_circle_mm=None if lens.image_circle is None else lens.image_circle * 1e3,
    )


def _sheet(sheet: Sheet) -> DrawnSheet:
    at, up = np.array(sheet.at), np.array(sheet.up) * sheet.size[1] / 2
    across = np.cross(sheet.up, sheet.axis) * sheet.size[0] / 2
    corners = [at + i * across + j * up for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return DrawnSheet(name=sheet.name, at=sheet.at, corners=[(float(x), float(y), float(z)) for x, y, z in corners])


def _light(index: int, light: ShotLight, emitted: Emitter, balance: float) -> DrawnLight:
    return DrawnLight(
        index=index,
        name=emitted.name,
        strobe=light.strobe.id,
        steady=light.strobe.steady,
        at=light.at,
        aim=light.aim,
        modifier=light.modifier.id if light.modifier else None,
        gels=[gel.id for gel in light.gels],
        power=light.power,
        target=DrawnTarget(who=light.target.who, stops=light.target.stops) if light.target else None,
        size=light.modifier.size if light.modifier else None,
        front=_front(emitted),
        bulge=_bulge(light.modifier),
        colour=light_colour(emitted.spectrum, balance),
    )


def _front(emitted: Emitter) -> list[tuple[float, float]]:
    """What a light shows along its axis: corners, across and up from its middle. [m]"""
    if is_ball(emitted):
        turns = np.linspace(0, 2 * math.pi, 24, endpoint=False)
        return [(emitted.size[0] / 2 * math.cos(t), emitted.size[0] / 2 * math.sin(t)) for t in turns]
    corners = front_outline(emitted)
    corners = corners[:: max(1, len(corners) // 24)] - np.array(emitted.at)
    across = np.cross(emitted.axis, emitted.up)
    return [(float(c @ across), float(c @ np.array(emitted.up))) for c in corners]


def _bulge(modifier: Modifier | None) -> float:
    """How far the middle of an umbrella or a dish stands out before its rim; behind it below nought. [m]"""
    if modifier is None or modifier.kind not in ("umbrella", "dish"):
        return 0.0
    depth = _DEPTH * max(modifier.size)
    return depth if modifier.kind == "umbrella" and modifier.spill > 0 else -depth
