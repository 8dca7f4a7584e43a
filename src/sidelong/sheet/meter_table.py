"""What meters show at everyone of a shot, as rows and lines of its page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from sidelong.light.meters import C_DOME, K_SPOT, exposure_value, f_stop
from sidelong.plan.meters import LEAST_TOLD, Amount, SpotReading, dome_of
from sidelong.plan.values import LightPlan, ShotPlan
from sidelong.sheet.naming import in_table
from sidelong.sheet.wording import DASH, name

Row = dict[str, Any]


def meter_rows(plan: ShotPlan, readings: Sequence[SpotReading]) -> list[Row]:
    """A row for each person and mark: the spot meter, the dome, each with its statistical error in stops."""
    points = {point.name: point for point in plan.light.points}
    rows = []
    for reading in readings:
        dome = dome_of(points[reading.name])
        spot = _cells(plan.light, reading.luminance, K_SPOT)
        rows.append(
            {"name": in_table(plan.shoot, reading.name, 34), "cells": spot + _cells(plan.light, dome, C_DOME)}
        )
    return rows


def _cells(light: LightPlan, amount: Amount, calibration: float) -> list[str]:
    """Amount of steady light, of flash, EV of the one, f-stop of both and the error of that."""
    ev = exposure_value(amount.steady, calibration)
    stop = f_stop(amount.steady, amount.flash, light.shutter, light.iso, calibration)
    return [
        _figure(amount.steady),
        f"{ev:.1f}".replace("-", "\u2212") if math.isfinite(ev) else DASH,
        _figure(amount.flash),
        f"f/{stop:.1f}" if stop > 0 else DASH,
        f"±{max(amount.error(light.shutter), LEAST_TOLD):.2f}" if stop > 0 else DASH,
    ]


def _figure(amount: float) -> str:
    if amount <= 0:
        return DASH
    return f"{amount:.0f}" if amount >= 99.5 else f"{amount:.3g}"


def face_table(plan: ShotPlan, readings: Sequence[SpotReading]) -> dict[str, Any]:
    """Which cheek of each face is brighter, by how many stops, with its statistical error, and how wide the nose's
    shadow fades by each light, in millimetres; `heads` are the lights that make an edge somewhere."""
    faces = [(reading.name, reading.face) for reading in readings if reading.face is not None]
    lights = list(dict.fromkeys(light for _, face in faces for light, wide in face.softness if wide is not None))
    rows = []
    for who, face in faces:
        contrast = face.contrast(plan.light.shutter)
        wide = dict(face.softness)
        edges = [wide.get(light) for light in lights]
        rows.append(
            {
                "name": in_table(plan.shoot, who, 34),
                "cells": [
                    *_contrast(contrast, face.contrast_error(plan.light.shutter)),
                    *(DASH if edge is None else f"{1e3 * edge:.1f}" for edge in edges),
                ],
            }
        )
    return {"heads": [name(light, 14) for light in lights], "rows": rows}


def _contrast(stops: float, error: float) -> list[str]:
    """The brighter cheek, by how much, and the error of that."""
    if not math.isfinite(stops):
        return [DASH, DASH, DASH]
    return ["left" if stops >= 0 else "right", f"{abs(stops):.1f}", f"±{max(error, LEAST_TOLD):.2f}"]
