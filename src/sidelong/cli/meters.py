"""The printed table of `sidelong light --meters`."""

from __future__ import annotations

import math

from sidelong.cli.answer import say, show, table
from sidelong.light.meters import K_SPOT, exposure_value, f_stop
from sidelong.plan.meters import SpotReading
from sidelong.plan.meters_answer import dome_answer
from sidelong.plan.values import LightPlan
from sidelong.shoot.values import Shot


def print_meters(shot: Shot, planned: LightPlan, readings: tuple[SpotReading, ...]) -> None:
    """Spot and dome at everyone, then a line on each face."""
    points = {point.name: point for point in planned.points}
    rows = []
    for reading in readings:
        seen, dome = reading.luminance, dome_answer(planned, points[reading.name])
        spot = f_stop(seen.steady, seen.flash, planned.shutter, planned.iso, K_SPOT)
        rows.append(
            (
                reading.name,
                f"{seen.steady:.3g}",
                _ev(exposure_value(seen.steady, K_SPOT)),
                f"f/{spot:.1f}",
                f"{dome['steady_lx']:.3g}",
                _ev(dome["steady_ev100"]),
                f"{dome['flash_lxs']:.3g}",
                f"f/{dome['f_stop']:.1f}",
            )
        )
    columns = ("", "spot cd/m2", "EV", "spot f", "dome lx", "EV", "flash lx s", "dome f")
    show(
        table(
            f"{shot.id}: meters: EV at ISO 100 without flash, f-stops with it",
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
            words = "dark" if math.isnan(contrast) else f"{side} cheek {abs(contrast):.1f} stops over the other"
            say(f"  {reading.name}: {words}" + (f"; nose's shadow is {soft} wide at its edge" if soft else ""))


def _ev(value: float) -> str:
    return f"{value:.1f}" if math.isfinite(value) else "dark"
