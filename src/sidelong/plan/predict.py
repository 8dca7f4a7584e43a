"""The main path: a shot put together, from the shoot file's values to all that the card, picture and book need."""

from __future__ import annotations

import math

from sidelong.light.daylight import daylight
from sidelong.plan.colours import plan_colours
from sidelong.plan.focus import plan_focus
from sidelong.plan.light import plan_light
from sidelong.plan.teacher import Teacher
from sidelong.plan.values import FocusPlan, LightPlan, ShotPlan
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import MOST_SAMPLES
from sidelong.trace.values import Progress, Stage, View

PICTURE_WIDTH = 1500
"""Pixels across a predicted picture, unless asked otherwise; its height follows the film."""


def plan_without_light(shoot: Shoot, shot: Shot) -> ShotPlan:
    """A shot's focus alone, quick: nothing is metered, the table and the colours are empty. Raises as plan_shot."""
    focus = plan_focus(shoot, shot)
    sun_and_sky = daylight(shot.when, shoot.place)
    light = LightPlan(shot.shutter or shot.body.sync, shot.iso, sun_and_sky, (), (), ())
    return ShotPlan(
        shoot, shot, focus, light, (), Stage(shoot.place, shoot.people, (), sun_and_sky), _view(shot, focus)
    )


def plan_shot(
    shoot: Shoot,
    shot: Shot,
    most_paths: int = MOST_SAMPLES,
    teacher: Teacher | None = None,
    progress: Progress | None = None,
) -> ShotPlan:
    """One shot, planned; readings follow up to `most_paths` light paths a point, `progress` is told how far they are.

    `teacher` knows what the other shots' readings teach; where several shots are planned, one serves them all.

    Raises
    ------
    Impossible
        The focus asked for cannot be had with this lens; the nearest that can is in the message.
    """
    focus = plan_focus(shoot, shot)
    taught = (teacher or Teacher(shoot, most_paths)).taught(shot)
    light, stage = plan_light(shoot, shot, focus, most_paths, taught, progress)
    if light.balance is not None:
        shot, focus = as_balanced(shoot, light.balance.shot, focus)
    colours = plan_colours(shot, stage)
    return ShotPlan(shoot, shot, focus, light, colours, stage, _view(shot, focus))


def as_balanced(shoot: Shoot, shot: Shot, focus: FocusPlan) -> tuple[Shot, FocusPlan]:
    """A shot with all that its balance found, and its focus, planned anew where the stop has changed."""
    if shot.f_number is not None and abs(math.log2(shot.f_number / focus.setting.f_number)) > 1e-9:
        focus = plan_focus(shoot, shot)
    return shot, focus


def _view(shot: Shot, focus: FocusPlan) -> View:
    film = shot.body.film
    return View(focus.frame, film, focus.setting, PICTURE_WIDTH, round(PICTURE_WIDTH * film.height / film.width))
