"""`sidelong focus`: the card a photographer needs on the set."""

from __future__ import annotations

import math
from pathlib import Path

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.focus_drawings import print_drawings, print_plans_abreast, write_drawings
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.errors import Impossible
from sidelong.lens.coverage import dark_corners
from sidelong.plan.alternatives import plan_alternatives
from sidelong.plan.focus_answer import focus_answer, refusal, refusal_in_words
from sidelong.plan.order import where_to_focus
from sidelong.plan.predict import plan_without_light
from sidelong.plan.someone_moved import Moved, someone_moved
from sidelong.plan.sureness import Sureness, plan_sureness
from sidelong.plan.values import FocusPlan, PointFocus, ShotPlan
from sidelong.plan.ways_out import ways_out
from sidelong.plan.words import (
    SUPPORT_IN_WORDS,
    blur_in_words,
    corners_in_words,
    movement_to_set,
    rotation_to_set,
)
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark, metres_in_words

WHOLE = {"face": "the whole face", "figure": "the whole figure"}
"""Parts of a person in words; the eyes need none."""


def focus(
    shoot: ShootPath,
    /,
    *,
    shot: ShotId = None,
    json: AsJson = False,
    drawings: bool = True,
    svg: Path | None = None,
) -> None:
    """How far to swing or tilt and which way, the ring's mark, the stop, and who comes out how sharp.

    Parameters
    ----------
    drawings
        Draw a small plan and elevation under each card; --drawings=no leaves them out.
    svg
        Also write plan, elevation and the picture's frame with blur rings as SVG files into this folder.

    Raises
    ------
    FileFault
        The drawings cannot be written.
    Impossible
        After everything else is printed, when a shot cannot be had; the ways out that work are named.
    """
    opened = open_shoot(shoot, beyond=True)
    answers, refused = [], []
    for one in chosen_shots(opened, shot):
        try:
            planned = plan_without_light(opened, one)
        except Impossible as error:
            ways = ways_out(opened, one)
            moved = someone_moved(opened, one)
            answers.append({**refusal(one, error, ways), "someone_moved": _moved(moved)})
            words = "" if moved is None else f" Or somebody moves: {moved.words}."
            refused.append(refusal_in_words(one, error, ways) + words)
            continue
        sure = plan_sureness(opened, one, planned.focus)
        others = plan_alternatives(opened, one, planned.focus, sure.chance.together)
        answer = focus_answer(one, planned.focus, sure, others)
        answers.append(answer)
        if not json:
            _print(opened, one, planned.focus, sure)
            if drawings:
                print_drawings(planned)
            if others:
                _print_others(planned, others, drawings)
            say("")
        if svg is not None:
            files = write_drawings(svg, planned, others)
            answer["files"] = [str(path) for path in files]
            if not json:
                say("\n".join(f"  {path}" for path in files))
                say("")
    if json:
        json_answer("focus", shoot_head(opened), answers)
    if refused:
        raise Impossible("\n".join(refused))


def _moved(moved: Moved | None) -> dict[str, object] | None:
    return None if moved is None else {"name": moved.name, "at_m": list(moved.to), "words": moved.words}


def _print(shoot: Shoot, shot: Shot, planned: FocusPlan, sure: Sureness) -> None:
    ring = metres_in_words(planned.ring or math.inf, shoot.imperial)
    on = next((p for p in planned.points if p.name == planned.focus_on), None)
    where = where_to_focus(shoot, shot, planned.setting, on)
    say(f"{shot.id}  {shot.brief}")
    say(f"  {planned.setting.lens.id}: {movement_to_set(planned.setting)}  ({rotation_to_set(planned.setting)})")
    say(f"  ring {ring}, f/{f_mark(planned.setting.f_number)}, focus {where}")
    say(f"  {SUPPORT_IN_WORDS[shot.camera.support]}, lens {metres_in_words(shot.camera.at[2], shoot.imperial)} up")
    if planned.widest_f is not None:
        say(f"  {_stop_in_words(planned)}")
    if planned.soft_least is not None and planned.soft_least_proved is not None:
        say(f"  {_softness_in_words(planned.soft_least, planned.soft_least_proved)}")
    if sure.chance.together is not None:
        say(f"  {_chance_in_words(sure)}")
    say("")
    for number, step in enumerate(planned.order, 1):
        say(f"  {number}. {step}")
    for words in sure.corrections:
        say(f"     {words}")
    if sure.tightest:
        say(f"  Tightest: {sure.tightest}.")
    limit = planned.blur_limit
    columns = ("who", "wanted", "comes out", "on the film, µm", "at the eye, mm", "in the picture")
    rows = [_row(p, limit) for p in planned.points]
    show(table("", columns, rows, right=(3, 4)))
    for words in _parts_in_words(planned):
        say(f"  {words}")
    corners = dark_corners(planned.setting, shot.body.film)
    if corners:
        say(f"  {corners_in_words(corners)}")
    airy, pixel = planned.airy * 1e6, planned.pixel * 1e6
    say(f"  limit {limit * 1e6:.0f} µm; apart from that, diffraction {airy:.0f} µm, one pixel {pixel:.1f} µm")


def _parts_in_words(planned: FocusPlan) -> list[str]:
    """What is asked beyond the eyes and beyond "as soft as can be", and what comes of it, a line each."""
    told = []
    for wish in planned.reached:
        sharp, part = wish.wanted == "sharp", WHOLE.get(wish.part, "")
        if part or (not sharp and wish.limit is not None):
            figure = f"{wish.reached * 1e6:,.0f} µm at {'most' if sharp else 'least'}"
            asked = "as soft as can be" if wish.limit is None else f"asked {wish.limit * 1e6:,.0f} µm"
            short = "" if wish.short == 0.0 else f", missed by {wish.short * 1e6:,.0f} µm"
            told.append(f"{wish.name}, {part or wish.part} {wish.wanted}: {figure} on the film, {asked}{short}")
    return told


def _chance_in_words(sure: Sureness) -> str:
    chance = sure.chance
    together = chance.together or 0.0
    if chance.frames_95 is None:
        return f"all sharp in one frame: {together:.0%}; no number of frames will do, the {chance.culprit} spoils it"
    frames = f"{_frames(chance.frames_95)} for 95 in 100, {chance.frames_99} for 99"
    return f"all sharp in one frame: {together:.0%}; take {frames}"


def _frames(count: int) -> str:
    return "one frame" if count == 1 else f"{count} frames"


def _stop_in_words(planned: FocusPlan) -> str:
    needed, chosen, widest = planned.widest_f or 0.0, planned.setting.f_number, planned.setting.lens.widest
    if needed > chosen * (1 + 1e-6):
        return f"the sharp ones would need f/{needed:.2g}: at f/{f_mark(chosen)} one of them is soft"
    if needed <= widest:
        return "the sharp ones stay within the limit even wide open"
    if not planned.solved or planned.widest_f_proved is None:
        return f"the sharp ones need f/{needed:.2g} or smaller"
    gap = 100 * (1 - planned.widest_f_proved / needed)
    return (
        f"no setting of this lens does better than f/{planned.widest_f_proved:.2f}; found f/{needed:.2f}, "
        f"{gap:.1f} % from proof"
    )


def _softness_in_words(least: float, proved: float) -> str:
    """The least blur of the soft ones and what no setting exceeds. [m]"""
    return (
        f"the soft ones are blurred by {least * 1e6:,.0f} µm at least; no setting at this stop makes that more than "
        f"{proved * 1e6:,.0f} µm, {100 * (proved / least - 1):.1f} % from proof"
    )


def _print_others(planned: ShotPlan, others: tuple[FocusPlan, ...], drawings: bool) -> None:
    """Other good settings, their plans drawn small side by side."""
    for number, other in enumerate(others, 1):
        ring = metres_in_words(other.ring or math.inf, planned.shoot.imperial)
        soft = "" if other.soft_least is None else f", the soft ones at least {other.soft_least * 1e6:,.0f} µm"
        frames = "" if other.frames_to_take is None else f", {_frames(other.frames_to_take)} for 95 in 100"
        surer = (other.chance.together or 0.0) > (planned.focus.chance.together or 0.0) + 0.1
        words = f"{movement_to_set(other.setting)}, ring {ring}, f/{f_mark(other.setting.f_number)}"
        say(f"  or {number}: {words}{soft}{frames}{': steadier' if surer else ''}")
    if drawings:
        print_plans_abreast(planned, others)


def _row(point: PointFocus, limit: float) -> tuple[str, ...]:
    if point.blur_major is None or point.blur_minor is None or point.blur_at_subject is None:
        return (point.name, point.wanted, "behind the camera", "", "", "no")
    size = f"{point.blur_major * 1e6:,.0f} x {point.blur_minor * 1e6:,.0f}"
    place = "yes" if point.in_picture and point.in_circle else "outside the circle" if point.in_picture else "no"
    word = blur_in_words(point.blur_major, limit)
    return (point.name, point.wanted, word, size, f"{point.blur_at_subject * 1e3:.1f}", place)
