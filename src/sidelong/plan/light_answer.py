"""What `sidelong light --json` says of one shot."""

from __future__ import annotations

import math
from typing import Any

from sidelong.plan.balance_answer import wishes_answer
from sidelong.plan.values import FocusPlan, HeadSetting, LearnedLight, LightAtPoint, LightPlan, PointLight
from sidelong.shoot.values import Shot
from sidelong.units import shutter_mark


def light_answer(shot: Shot, focus: FocusPlan, planned: LightPlan) -> dict[str, Any]:
    """One shot of `sidelong.light/1`: figures by keys that carry their unit."""
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
        **wishes_answer(planned.balance),
    }


def _learned(light: LearnedLight) -> dict[str, Any]:
    return {
        "name": light.light,
        "factor_stops": light.stops,
        "sigma_stops": light.sigma,
        "readings": light.readings,
        "outliers": list(light.outliers),
        "taught_in": list(light.taught_in),
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
