"""What a planned shot has to say on and inside its picture: the settings in words, the points of the overlays."""

from __future__ import annotations

import math

from sidelong.picture.values import OverlayPoint
from sidelong.plan.values import PointFocus, ShotPlan
from sidelong.plan.words import movement_to_set, rotation_to_set
from sidelong.units import f_mark, iso_mark, metres_in_words, shutter_mark

FACE_WIDTH = 0.15
"""Breadth of a head, common practice, no source. [m]"""


def settings_of(plan: ShotPlan) -> dict[str, str]:
    """Name and words of every setting, in the order of the card: as they stand on lens, camera and packs."""
    focus, light, shot = plan.focus, plan.light, plan.shot
    lens = focus.setting.lens
    words = {
        "Lens": f"{lens.id}, {lens.focal_length * 1e3:g} mm",
        "Stop": f"f/{f_mark(focus.setting.f_number)}",
        "Shutter": f"{shutter_mark(light.shutter)} s",
        "ISO": str(iso_mark(light.iso)),
        **({"ND": f"{light.nd:g} stops"} if light.nd else {}),
        "Balance": f"{shot.balance:.0f} K",
        "Movement": movement_to_set(focus.setting),
        "Mount": rotation_to_set(focus.setting),
        "Ring": "infinity" if focus.ring is None else metres_in_words(focus.ring, plan.shoot.imperial),
        "When": shot.when.isoformat(sep=" ", timespec="minutes"),
    }
    for head in light.heads:
        kind, unit = ("Lamp", "W") if head.steady else ("Strobe", "J")
        words[f"{kind} {head.name}"] = f"{power_in_words(head.power_stops)}, {head.energy:.0f} {unit}"
    return words


def power_in_words(stops: float) -> str:
    """A strobe's power: ``full power``, ``−5.3 stops from full``, ``off``. [stops from full in]"""
    if stops == -math.inf:
        return "off"
    return "full power" if abs(stops) < 0.05 else f"{stops:+.1f} stops from full".replace("-", "−")


def overlay_points(plan: ShotPlan) -> list[OverlayPoint]:
    """Everyone and everything marked that is in the picture; marks have no face."""
    stops = {point.name: point.total_stops for point in plan.light.points}
    return [
        OverlayPoint(
            name=point.name,
            image=point.image,
            blur_major=point.blur_major,
            blur_minor=point.blur_minor,
            blur_angle=point.blur_angle or 0.0,
            stops=stops.get(point.name),
            face=_face_on_film(plan, point),
            is_mark=point.kind == "mark",
        )
        for point in plan.focus.points
        if point.image is not None and point.in_picture
    ]


def _face_on_film(plan: ShotPlan, point: PointFocus) -> float | None:
    """Breadth of a person's head on the film, None for a mark. [m]"""
    focus = plan.focus
    depth = float(focus.frame.to_body(point.at)[2] - focus.principal_point[2])
    return FACE_WIDTH * focus.film_distance / depth if point.kind == "person" and depth > 0 else None
