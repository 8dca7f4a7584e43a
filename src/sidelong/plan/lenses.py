"""The same shot, the same framing, through every lens of the kit."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible
from sidelong.lens.axis import from_movement_and_rotation, movement_and_rotation
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Lens, Movement
from sidelong.place.containment import inside_block, inside_wall, room_at, sight_line_blocked
from sidelong.place.values import Vector
from sidelong.plan.focus import plan_focus
from sidelong.plan.values import FocusPlan
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot

Array = NDArray[np.float64]

NEAR_BEHIND, FAR_BEHIND = 1.0, 4.0
"""How far behind the subject the two points lie that stand for the background. [m]"""
LEAST = 2e-6
"""A blur under this tells nothing of an effect. [m]"""
BESIDE = 0.6
"""How far beside the subject, along the film, the points lie that stand for neighbours in a row. [m]"""


@dataclass(frozen=True)
class LensChoice:
    """One lens on the shot. `at` where the camera stands for the same framing, `distance` from there to the subject
    [m]; `obstacle` why it cannot stand there, "" if it can; `focus` None when the lens cannot do it and `why` says
    so; blurs of the background and of the softer of two neighbours in the subject's own row [m on the film]; `rent` a
    day, 0 when owned."""

    lens: Lens
    at: Vector
    distance: float
    obstacle: str
    focus: FocusPlan | None
    why: str
    background_near: float | None
    background_far: float | None
    beside: float | None
    owned: bool
    rent: float


def plan_lenses(shoot: Shoot, shot: Shot) -> tuple[LensChoice, ...]:
    """Every lens of the kit on a shot, shortest first, the camera moved so that the subject stays as large."""
    subject = _subject(shoot, shot)
    lenses = sorted(shoot.kit.lenses.values(), key=lambda lens: lens.focal_length)
    return tuple(_choice(shoot, shot, lens, subject) for lens in lenses)


def _subject(shoot: Shoot, shot: Shot) -> Array:
    name = shot.focus_on or next(iter(shot.sharp), None)
    return np.array(shot.camera.aim if name is None else point_of(shoot, name))


def _choice(shoot: Shoot, shot: Shot, lens: Lens, subject: Array) -> LensChoice:
    back = (np.array(shot.camera.at) - subject) * (lens.focal_length / shot.lens.focal_length)
    stand = subject + back
    at = (float(stand[0]), float(stand[1]), float(stand[2]))
    aim = tuple(float(v) for v in np.array(shot.camera.aim) + (stand - np.array(shot.camera.at)))
    same_aim = shot.camera.aim if np.allclose(shot.camera.aim, subject) else (aim[0], aim[1], aim[2])
    tried = replace(
        shot,
        lens=lens,
        camera=replace(shot.camera, at=at, aim=same_aim),
        movement=_within(shot.movement, lens),
        f_number=None if shot.f_number is None else min(max(shot.f_number, lens.widest), lens.smallest),
    )
    owned = shoot.kit.owned.get(lens.id)
    focus, why, near, far, beside = None, "", None, None, None
    try:
        focus = plan_focus(shoot, tried)
        near, far, beside = _round_about(focus, subject)
    except Impossible as error:
        why = str(error)
    return LensChoice(
        lens=lens,
        at=at,
        distance=float(np.linalg.norm(back)),
        obstacle=obstacle_at(shoot, at, subject),
        focus=focus,
        why=why,
        background_near=near,
        background_far=far,
        beside=beside,
        owned=owned is None or owned.owned,
        rent=0.0 if owned is None or owned.owned else owned.rent_per_day,
    )


def _within(movement: Movement | None, lens: Lens) -> Movement | None:
    """A given movement, no larger than the lens has."""
    if movement is None:
        return None
    angle, rotation = movement_and_rotation(movement.swing, movement.tilt)
    swing, tilt = from_movement_and_rotation(min(angle, lens.movement), rotation)
    return replace(movement, swing=swing, tilt=tilt)


def _round_about(focus: FocusPlan, subject: Array) -> tuple[float, float, float]:
    """Blur near and far behind the subject, and of the softer of two neighbours at the same depth. [m]"""
    sight = subject - focus.frame.at
    sight = sight / np.linalg.norm(sight)
    aside = BESIDE * focus.frame.right
    points = np.array([subject + sight * NEAR_BEHIND, subject + sight * FAR_BEHIND, subject - aside, subject + aside])
    near, far, left, right = blur(geometry_of(focus.setting), focus.frame.to_body(points)).major
    return float(near), float(far), float(max(left, right))


@dataclass(frozen=True)
class Effect:
    """From the `shortest` to the `longest` lens that does the shot, at the same stop: how many times as soft the
    background and a neighbour in the subject's own row get; None where the shortest leaves them sharp [-].
    `moved_apart`: the movements of the two differ."""

    shortest: Lens
    longest: Lens
    background: float | None
    row: float | None
    moved_apart: bool


def effect_of_length(choices: tuple[LensChoice, ...]) -> Effect | None:
    """What a longer lens does at the same framing, from the choices themselves; None with fewer than two that do.

    Blur goes as one over the f-number, which brings both to one stop. The trade's rule, longer lens, stronger
    effect, is about the background; at the same framing a row beside the subject is hardly touched, since its blur
    is the movement's alone: x sin(movement) / N times the magnification, whatever the focal length.
    """
    some = [c for c in choices if c.focus is not None]
    if len(some) < 2 or some[0].lens.focal_length == some[-1].lens.focal_length:
        return None

    def times(short: float | None, long: float | None) -> float | None:
        one, two = some[0].focus, some[-1].focus
        if not short or not long or one is None or two is None or short < LEAST:
            return None
        return long * two.setting.f_number / (short * one.setting.f_number)

    return Effect(
        some[0].lens,
        some[-1].lens,
        times(some[0].background_far, some[-1].background_far),
        times(some[0].beside, some[-1].beside),
        abs((movement_of(some[0]) or 0.0) - (movement_of(some[-1]) or 0.0)) > math.radians(0.1),
    )


def obstacle_at(shoot: Shoot, at: Vector, subject: Array) -> str:
    """Why a camera cannot stand there and see the subject; "" where it can."""
    place = shoot.place
    if at[2] <= 0.05:
        return "under the floor"
    if inside_wall(place, at):
        return "inside a wall"
    block = inside_block(place, at)
    if block:
        return "inside something that stands there"
    if sight_line_blocked(place, at, (float(subject[0]), float(subject[1]), float(subject[2]))):
        return "the view is blocked" if room_at(place, at) else "outside, behind a wall"
    return ""


def movement_of(choice: LensChoice) -> float | None:
    """Movement angle of a choice, None when the lens cannot do the shot. [rad]"""
    if choice.focus is None:
        return None
    movement = choice.focus.setting.movement
    angle, _ = movement_and_rotation(movement.swing, movement.tilt)
    return angle if math.isfinite(angle) else None
