"""What `sidelong light --meters --json` says of one shot's meters."""

from __future__ import annotations

from typing import Any

from sidelong.light.meters import C_DOME, C_FLAT, K_SPOT, exposure_value, f_stop
from sidelong.plan.meters import Amount, SpotReading, dome_of
from sidelong.plan.values import LightAtPoint, LightPlan, PointLight


def meters_answer(planned: LightPlan, readings: tuple[SpotReading, ...]) -> list[dict[str, Any]]:
    """Each person and mark: the spot meter, the dome of all lights, and a person's face; keys carry their unit."""
    domes = {point.name: point for point in planned.points}
    return [
        {
            "name": reading.name,
            "spot": _spot(planned, reading),
            "dome": dome_answer(planned, domes[reading.name]),
            "lights": [_flat(planned, at) for at in domes[reading.name].lights],
            "face": _face(planned, reading),
        }
        for reading in readings
    ]


def dome_answer(planned: LightPlan, point: PointLight) -> dict[str, float]:
    """A dome turned to the camera under all lights together."""
    seen = dome_of(point)
    return {
        "steady_lx": seen.steady,
        "steady_error_lx": seen.steady_error,
        "flash_lxs": seen.flash,
        "flash_error_lxs": seen.flash_error,
        "steady_ev100": exposure_value(seen.steady, C_DOME),
        "f_stop": f_stop(seen.steady, seen.flash, planned.shutter, planned.iso, C_DOME),
        "error_stops": seen.error(planned.shutter),
    }


def _spot(planned: LightPlan, reading: SpotReading) -> dict[str, float]:
    seen = reading.luminance
    return {
        "steady_cd_m2": seen.steady,
        "steady_error_cd_m2": seen.steady_error,
        "flash_cds_m2": seen.flash,
        "flash_error_cds_m2": seen.flash_error,
        "steady_ev100": exposure_value(seen.steady, K_SPOT),
        "f_stop": f_stop(seen.steady, seen.flash, planned.shutter, planned.iso, K_SPOT),
        "error_stops": seen.error(planned.shutter),
    }


def _flat(planned: LightPlan, at: LightAtPoint) -> dict[str, Any]:
    """One light by a flat receptor turned to it; its amount is under the shot's `points`."""
    steady, flash = (0.0, at.flat) if at.flash else (at.flat, 0.0)
    return {
        "name": at.light,
        "flat_ev100": None if at.flash else exposure_value(steady, C_FLAT),
        "flat_f_stop": f_stop(steady, flash, planned.shutter, planned.iso, C_FLAT),
        "flat_error_stops": Amount(at.flat, 0.0, at.flat_error, 0.0).error(1.0),
    }


def _face(planned: LightPlan, reading: SpotReading) -> dict[str, Any] | None:
    if reading.face is None:
        return None
    return {
        "left": _cheek(planned, reading.face.left),
        "right": _cheek(planned, reading.face.right),
        "left_over_right_stops": reading.face.contrast(planned.shutter),
        "left_over_right_error_stops": reading.face.contrast_error(planned.shutter),
        "nose_penumbra_mm": {n: None if w is None else 1e3 * w for n, w in reading.face.softness},
    }


def _cheek(planned: LightPlan, cheek: Amount) -> dict[str, float]:
    return {
        "steady_lx": cheek.steady,
        "steady_error_lx": cheek.steady_error,
        "flash_lxs": cheek.flash,
        "flash_error_lxs": cheek.flash_error,
        "error_stops": cheek.error(planned.shutter),
    }
