"""The printed table of `sidelong light --meters`."""

from __future__ import annotations

import math

from sidelong.cli.answer import say, show, table
from sidelong.light.meters import C_DOME, K_SPOT, exposure_value, f_stop
from sidelong.plan.meters import LEAST_TOLD, Amount, SpotReading, dome_of
from sidelong.plan.values import LightPlan
from sidelong.shoot.values import Shot


def print_meters(shot: Shot, planned: LightPlan, readings: tuple[SpotReading, ...]) -> None:
    """Spot and dome at everyone, then a line on each face."""
    points = {point.name: point for point in planned.points}
    rows = []
    for reading in readings:
        seen, dome = reading.luminance, dome_of(points[reading.name])
        rows.append(
            (
                reading.name,
                f"{seen.steady:.3g}",
                _ev(exposure_value(seen.steady, K_SPOT)),
                *_shown(planned, seen, K_SPOT),
                f"{dome.steady:.3g}",
                _ev(exposure_value(dome.steady, C_DOME)),
                f"{dome.flash:.3g}",
                *_shown(planned, dome, C_DOME),
            )
        )
    columns = ("", "spot cd/m2", "EV", "spot f", "±", "dome lx", "EV", "flash lx s", "dome f", "±")
    show(
        table(
            f"{shot.id}: meters: EV at ISO 100 without flash, f-stops with it, ± in stops",
            columns,
            rows,
            right=range(1, len(columns)),
        )
    )
    for reading in readings:
        if reading.face is not None:
            contrast = reading.face.contrast(planned.shutter)
            soft = ", ".join(f"{n} {1e3 * w:.1f} mm" for n, w in reading.face.softness if w is not None)
            side = "left" if contrast >= 0 else "right"
            doubt = f" (±{reading.face.contrast_error(planned.shutter):.2f})"
            words = (
                "dark" if math.isnan(contrast) else f"{side} cheek {abs(contrast):.1f} stops over the other{doubt}"
            )
            say(f"  {reading.name}: {words}" + (f"; nose's shadow is {soft} wide at its edge" if soft else ""))


def _shown(planned: LightPlan, amount: Amount, calibration: float) -> tuple[str, str]:
    """The f-stop that a meter shows of flash and steady light together, and its statistical error."""
    stop = f_stop(amount.steady, amount.flash, planned.shutter, planned.iso, calibration)
    return f"f/{stop:.1f}", f"{max(amount.error(planned.shutter), LEAST_TOLD):.2f}"


def _ev(value: float) -> str:
    return f"{value:.1f}" if math.isfinite(value) else "dark"
