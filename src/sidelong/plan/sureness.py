"""How sure a shot's focus is: leans, slack of the setting, the chance of all, and how to correct by eye."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.response import Response, response
from sidelong.lens.tolerance import Lean, Slack, lean_of, slack_of
from sidelong.plan.chance import ShotChance
from sidelong.plan.order import where_to_focus
from sidelong.plan.values import FocusPlan
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sureness:
    """`leans` of each sharp name; `slack` of the setting for all of them, None without any; `chance`; `tightest` what
    spoils the focus first, in words; `corrections` what to do when one of them is seen to be soft."""

    leans: Mapping[str, Lean]
    slack: Slack | None
    chance: ShotChance
    tightest: str
    corrections: tuple[str, ...]


def plan_sureness(shoot: Shoot, shot: Shot, focus: FocusPlan) -> Sureness:
    """The sureness of a planned focus, for the people and points wanted sharp."""
    chance = focus.chance
    names = shot.sharp
    if not names:
        return Sureness({}, None, chance, "", ())
    points = focus.frame.to_body(np.array([point_of(shoot, name) for name in names]))
    leans = {name: lean_of(focus.setting, p, shot.blur_limit) for name, p in zip(names, points, strict=True)}
    slack = slack_of(focus.setting, points, shot.blur_limit)
    return Sureness(leans, slack, chance, _tightest(leans, slack, shot), _corrections(shoot, shot, focus))


def _tightest(leans: Mapping[str, Lean], slack: Slack, shot: Shot) -> str:
    name, lean = min(leans.items(), key=lambda item: min(item[1].nearer, item[1].farther))
    nearer = lean.nearer <= lean.farther
    least = min(lean.nearer, lean.farther)
    swing, tilt = math.degrees(min(slack.swing)), math.degrees(min(slack.tilt))
    angle = f"swing may be {swing:.2f}°" if swing <= tilt else f"tilt may be {tilt:.2f}°"
    text = (
        f"{name} may lean {least * 1e3:.0f} mm {'forward' if nearer else 'back'}; "
        f"the {angle} off, the ring {min(slack.ring) * 1e6:.0f} µm"
    )
    if shot.camera.support == "tripod":
        return text
    back, forward = slack.camera
    way = "forward" if forward <= back else "back"
    turn = math.degrees(min(slack.yaw))
    return f"{text}; the camera may move {min(back, forward) * 1e3:.0f} mm {way} and turn {turn:.1f}°"


def _corrections(shoot: Shoot, shot: Shot, focus: FocusPlan) -> tuple[str, ...]:
    """For each sharp one but the one focused on: which way to move the lens, focus held on that one.

    With the ring always turned back to the point focused on, a point's signed blur answers to a swing by
    dX/ds - dX/de (dY/ds)/(dY/de). Positive means nearer than the plane of focus.
    """
    others = [name for name in shot.sharp if name != focus.focus_on]
    if not focus.focus_on or not others:
        return ()
    named = [focus.focus_on, *others]
    points = focus.frame.to_body(np.array([point_of(shoot, name) for name in named]))
    at = response(focus.setting, points)
    held = next((p for p in focus.points if p.name == focus.focus_on), None)
    where = where_to_focus(shoot, shot, focus.setting, held)
    advice: dict[str, list[str]] = {}
    for k, name in enumerate(others):
        advice.setdefault(_correction(where, at, k + 1), []).append(name)
    return tuple(
        f"{' or '.join(names)} soft while {focus.focus_on} is sharp: {words}" for words, names in advice.items()
    )


def _correction(where: str, at: Response, k: int) -> str:
    swing = float(at.swing[k] - at.ring[k] * at.swing[0] / at.ring[0])
    tilt = float(at.tilt[k] - at.ring[k] * at.tilt[0] / at.ring[0])
    if max(abs(swing), abs(tilt)) < 1e-9:
        return "no movement helps, stop down."
    # a nearer point has positive signed blur: the movement that lowers it brings the plane forward to the point
    if abs(swing) >= abs(tilt):
        nearer, farther = (
            ("swing to the left", "to the right") if swing > 0 else ("swing to the right", "to the left")
        )
    else:
        nearer, farther = ("tilt down", "up") if tilt > 0 else ("tilt up", "down")
    return f"a little more {nearer} if they sharpen as the ring turns nearer, else {farther}; then refocus {where}."
