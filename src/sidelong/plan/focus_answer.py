"""What `sidelong focus --json` says of one shot."""

from __future__ import annotations

import math
from typing import Any

from sidelong.errors import Impossible
from sidelong.lens.axis import engraved, movement_and_rotation
from sidelong.lens.chance import SUPPORTS, SWAY, Sway
from sidelong.lens.coverage import dark_corners
from sidelong.lens.tolerance import Lean, Slack
from sidelong.lens.values import Setting
from sidelong.plan.sureness import Sureness
from sidelong.plan.values import FocusPlan, PointFocus, WishReached
from sidelong.plan.ways_out import WayOut
from sidelong.shoot.values import Shot
from sidelong.units import f_mark


def focus_answer(
    shot: Shot, planned: FocusPlan, sure: Sureness, others: tuple[FocusPlan, ...] = ()
) -> dict[str, Any]:
    """One shot of `sidelong.focus/1`: figures by keys that carry their unit."""
    return {
        "id": shot.id,
        **setting_answer(planned),
        "corners_dark": dark_corners(planned.setting, shot.body.film),
        "frames_to_take": planned.frames_to_take,
        "bound": {
            "widest_f": planned.widest_f,
            "widest_f_proved": planned.widest_f_proved,
            "soft_least_um": _micro(planned.soft_least),
            "soft_least_proved_um": _micro(planned.soft_least_proved),
        },
        "wishes": [_wish(wish) for wish in planned.reached],
        "parts": [
            {"name": p.name, "where": p.where, "wanted": p.wanted, "blur_major_um": p.blur_major * 1e6}
            for p in planned.parts
        ],
        "support": shot.camera.support,
        "chance": _chance(shot, sure),
        "leans": [{"name": name, **_lean(lean)} for name, lean in sure.leans.items()],
        "slack": None if sure.slack is None else _slack(sure.slack),
        "corrections": list(sure.corrections),
        "alternatives": [_alternative(other) for other in others],
    }


def _wish(wish: WishReached) -> dict[str, Any]:
    """`asked_um` null for as soft as can be; `short_um` by how much it is missed, 0 when met."""
    return {
        "name": wish.name,
        "wanted": wish.wanted,
        "part": wish.part,
        "asked_um": _micro(wish.limit),
        "reached_um": wish.reached * 1e6,
        "short_um": wish.short * 1e6,
        "met": wish.short == 0.0,
    }


def setting_answer(planned: FocusPlan) -> dict[str, Any]:
    """The part of it that needs no chances and no proofs: the lens as set, the plane, how everyone comes out."""
    movement = planned.setting.movement
    angle, rotation = movement_and_rotation(movement.swing, movement.tilt)
    return {
        "lens": {
            "id": planned.setting.lens.id,
            "swing_deg": _degrees(movement.swing),
            "tilt_deg": _degrees(movement.tilt),
            **_engraved(planned.setting),
            "movement_deg": _degrees(angle),
            "rotation_deg": _degrees(rotation),
            "rise_mm": movement.rise * 1e3,
            "shift_mm": movement.shift * 1e3,
            "film_distance_mm": planned.film_distance * 1e3,
            "extension_mm": planned.setting.extension * 1e3,
            "ring_m": planned.ring,
        },
        "focus_on": planned.focus_on,
        "solved": planned.solved,
        "f_number": planned.setting.f_number,
        "f_marked": float(f_mark(planned.setting.f_number)),
        "plane": {"normal": planned.plane_normal, "offset_m": planned.plane_offset},
        "hinge_m": planned.hinge,
        "blur_limit_um": planned.blur_limit * 1e6,
        "bellows_stops": planned.bellows_stops,
        "airy_um": planned.airy * 1e6,
        "pixel_um": planned.pixel * 1e6,
        "points": [_point(p) for p in planned.points],
        "order": list(planned.order),
    }


def _engraved(setting: Setting) -> dict[str, float]:
    """What the lens's own scale must show; the same as the true movement where it has no error."""
    shown = engraved(setting)
    return {"engraved_swing_deg": _degrees(shown.swing), "engraved_tilt_deg": _degrees(shown.tilt)}


def _alternative(other: FocusPlan) -> dict[str, Any]:
    movement = other.setting.movement
    return {
        "swing_deg": _degrees(movement.swing),
        "tilt_deg": _degrees(movement.tilt),
        **_engraved(other.setting),
        "ring_m": other.ring,
        "f_number": other.setting.f_number,
        "f_marked": float(f_mark(other.setting.f_number)),
        "soft_least_um": _micro(other.soft_least),
        "sharp_most_um": max((p.blur_major or 0.0) * 1e6 for p in other.points if p.wanted == "sharp"),
        "frames_to_take": other.frames_to_take,
    }


def _chance(shot: Shot, sure: Sureness) -> dict[str, Any]:
    hand = SUPPORTS[shot.camera.support]

    def sway(s: Sway) -> dict[str, float]:
        return {"fore_mm": s.fore * 1e3, "side_mm": s.side * 1e3, "up_mm": s.up * 1e3}

    return {
        "together": sure.chance.together,
        "frames_95": sure.chance.frames_95,
        "frames_99": sure.chance.frames_99,
        "most_of_it": sure.chance.culprit,
        "one_sigma": {
            "swing_deg": _degrees(hand.swing),
            "tilt_deg": _degrees(hand.tilt),
            "extension_um": hand.ring * 1e6,
            "camera": {**sway(hand.camera), "yaw_deg": _degrees(hand.yaw), "pitch_deg": _degrees(hand.pitch)},
            **{pose: sway(s) for pose, s in SWAY.items()},
        },
    }


def _lean(lean: Lean) -> dict[str, float]:
    return {f"{way}_mm": getattr(lean, way) * 1e3 for way in ("nearer", "farther", "left", "right", "up", "down")}


def _slack(slack: Slack) -> dict[str, Any]:
    return {
        "swing_deg": [_degrees(v) for v in slack.swing],
        "tilt_deg": [_degrees(v) for v in slack.tilt],
        "extension_um": [v * 1e6 for v in slack.ring],
        "camera_forward_mm": [v * 1e3 for v in slack.camera],
        "camera_right_deg": [_degrees(v) for v in slack.yaw],
    }


def refusal(shot: Shot, error: Impossible, ways: tuple[WayOut, ...]) -> dict[str, Any]:
    """A shot that cannot be had, and the changes to its keys that have been tried and work."""
    return {
        "id": shot.id,
        "impossible": str(error),
        "figures": error.figures,
        "nearest": error.nearest,
        "ways_out": [{"words": way.words, "change": way.change} for way in ways],
    }


def refusal_in_words(shot: Shot, error: Impossible, ways: tuple[WayOut, ...]) -> str:
    """The same, to be said."""
    offers = "; or ".join(way.words for way in ways) or "nothing that was tried helps"
    return f"{shot.id}: {error}. What would do: {offers}."


def _micro(metres: float | None) -> float | None:
    return None if metres is None else metres * 1e6


def _point(point: PointFocus) -> dict[str, Any]:
    return {
        "name": point.name,
        "kind": point.kind,
        "at_m": point.at,
        "wanted": point.wanted,
        "blur_major_um": _micro(point.blur_major),
        "blur_minor_um": _micro(point.blur_minor),
        "blur_angle_deg": None if point.blur_angle is None else _degrees(point.blur_angle),
        "blur_at_subject_mm": None if point.blur_at_subject is None else point.blur_at_subject * 1e3,
        "image_mm": None if point.image is None else [v * 1e3 for v in point.image],
        "in_picture": point.in_picture,
        "in_image_circle": point.in_circle,
        "falloff_stops": point.falloff_stops,
        "keep": point.keep,
    }


def _degrees(radians: float) -> float:
    """Degrees, rid of the last bit that a given angle picks up on its way through radians."""
    return round(math.degrees(radians), 12)
