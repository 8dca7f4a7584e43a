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


def face_lines(plan: ShotPlan, readings: Sequence[SpotReading]) -> list[str]:
    """A sentence on each face: which cheek is brighter, by how many stops, and how wide the nose's shadow fades."""
    lines = []
    for reading in readings:
        face = reading.face
        if face is None:
            continue
        contrast = face.contrast(plan.light.shutter)
        if not math.isfinite(contrast):
            continue
        side = "left" if contrast >= 0 else "right"
        soft = ", ".join(f"{name(n, 20)} {1e3 * w:.1f} mm" for n, w in face.softness if w is not None)
        lines.append(
            f"{name(reading.name, 34)}: {side} cheek {abs(contrast):.1f} stops over the other "
            f"(±{face.contrast_error(plan.light.shutter):.2f})"
            + (f"; the nose's shadow fades over {soft}." if soft else ".")
        )
    return lines
