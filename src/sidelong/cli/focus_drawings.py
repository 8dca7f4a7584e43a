"""The drawings of `sidelong focus`: in the terminal, and as SVG files."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path

from sidelong.cli.answer import say
from sidelong.errors import FileFault
from sidelong.plan.values import FocusPlan, ShotPlan
from sidelong.plan.words import movement_to_set
from sidelong.sheet.book import write_whole
from sidelong.sheet.drawing import Drawing
from sidelong.sheet.elevation_view import elevation_of_shot
from sidelong.sheet.picture_view import picture_of_shot
from sidelong.sheet.plan_view import plan_of_shot
from sidelong.sheet.scales import scale_for
from sidelong.sheet.svg import abreast, svg_drawing
from sidelong.sheet.terminal import terminal_drawing
from sidelong.units import f_mark, metres_in_words

WIDE, HIGH = 180.0, 180.0
"""A drawing to scale is at most so large on paper. [mm]"""
PICTURE = 160.0
"""Width of the picture's frame on paper, about. [mm]"""
SMALL = 88.0
"""Width of one of several answers beside one another. [mm]"""
_NOT_IN_NAMES = re.compile(r'[\\/:*?"<>|\x00-\x1f]')


def print_drawings(planned: ShotPlan) -> None:
    """A small plan and elevation under a card."""
    unicode = _unicode()
    for drawn in (plan_of_shot(planned), elevation_of_shot(planned)):
        say(f"\n  {drawn.title}")
        say(terminal_drawing(drawn, unicode=unicode))


def print_plans_abreast(planned: ShotPlan, others: Sequence[FocusPlan]) -> None:
    """The plans of other settings small side by side."""
    unicode = _unicode()
    small = [
        terminal_drawing(
            plan_of_shot(replace(planned, focus=other)), columns=40, rows=12, unicode=unicode
        ).splitlines()
        for other in others
    ]
    for lines in zip_longest(*small, fillvalue=""):
        say("  " + "  ".join(f"{line:<40}" for line in lines).rstrip())


def _unicode() -> bool:
    return (sys.stdout.encoding or "").lower().startswith("utf")


def write_drawings(folder: Path, planned: ShotPlan, others: Sequence[FocusPlan]) -> list[Path]:
    """SVG files of a shot in a folder, made if need be: SHOT-plan, SHOT-elevation, SHOT-picture, and SHOT-answers
    where there are other good settings; the paths in this order.

    Raises
    ------
    FileFault
        They cannot be written there.
    """
    plan, elevation, picture = plan_of_shot(planned), elevation_of_shot(planned), picture_of_shot(planned)
    drawn = {
        "plan": svg_drawing(plan, scale_for([plan], WIDE, HIGH, planned.shoot.imperial)),
        "elevation": svg_drawing(elevation, scale_for([elevation], WIDE, HIGH, planned.shoot.imperial)),
        "picture": svg_drawing(picture, planned.shot.body.film.width * 1e3 / PICTURE),
    }
    if others:
        answers = [planned, *(replace(planned, focus=other) for other in others)]
        drawn["answers"] = abreast([_answer(answer) for answer in answers], SMALL)
    name = _NOT_IN_NAMES.sub("-", planned.shot.id)
    files = [(folder / f"{name}-{kind}.svg", text) for kind, text in drawn.items()]
    try:
        for path, text in files:
            write_whole(path, text.encode())
    except OSError as fault:
        raise FileFault(
            f"{folder}: the drawings cannot be written there ({fault.strerror}); name another folder with --svg"
        ) from fault
    return [path for path, _ in files]


def _answer(planned: ShotPlan) -> Drawing:
    """One answer's plan, with its setting for a title."""
    focus = planned.focus
    ring = metres_in_words(focus.ring or math.inf, planned.shoot.imperial)
    soft = "" if focus.soft_least is None else f"; the soft ones at least {focus.soft_least * 1e6:,.0f} µm"
    words = movement_to_set(focus.setting)
    title = f"{words[:1].upper()}{words[1:]}; ring {ring}, f/{f_mark(focus.setting.f_number)}{soft}"
    return replace(plan_of_shot(planned), title=title)
