"""`sidelong light`: what sun, sky and each strobe give everyone, and what to set."""

from __future__ import annotations

import math

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.bar import bar
from sidelong.cli.light_words import (
    cautions_for_machines,
    cautions_on_the_spot,
    facts_in_words,
    missed_in_words,
    settings_in_words,
    wish_rows,
)
from sidelong.cli.meters import print_meters
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.day.cautions import cautions
from sidelong.errors import NoBalance, OutOfPower
from sidelong.plan.balance_answer import facts_answer
from sidelong.plan.in_picture import in_picture
from sidelong.plan.in_picture_answer import in_picture_answer, in_picture_in_words
from sidelong.plan.learned import learned_in_words
from sidelong.plan.light import head_in_words
from sidelong.plan.light_answer import light_answer
from sidelong.plan.meters import spot_readings
from sidelong.plan.meters_answer import meters_answer
from sidelong.plan.predict import plan_shot
from sidelong.plan.teacher import Teacher
from sidelong.plan.values import FocusPlan, LightAtPoint, LightPlan, ShotPlan
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Shot


def light(shoot: ShootPath, /, *, shot: ShotId = None, meters: bool = False, json: AsJson = False) -> None:
    """Sun, sky and strobes at everyone, in stops from middle grey, and the powers that make the balance.

    Exit code 3 when a head cannot give what is asked; the nearest it can is set and said.

    Parameters
    ----------
    meters
        Also what a spot meter at the camera and a dome read, the contrast of each face, and how soft its shadows are.

    Raises
    ------
    OutOfPower
        After everything is printed, when a head cannot give what is asked.
    NoBalance
        The same, when a wish cannot be met.
    """
    opened = open_shoot(shoot)
    teacher = Teacher(opened)
    plans: list[ShotPlan] = []
    answers, short, missed = [], [], []
    for one in chosen_shots(opened, shot):
        with bar(f"light of {one.id}"):
            plan = plan_shot(opened, one, teacher=teacher)
        plans.append(plan)
        one, focus, planned = plan.shot, plan.focus, plan.light
        spots = spot_readings(plan) if meters else ()
        film, around = one.body.film, in_picture(plan)
        more = in_picture_answer(around, film)
        more |= {"meters": meters_answer(planned, spots)} if meters else {}
        answers.append({**light_answer(one, focus, planned), **facts_answer(opened, one, focus, planned), **more})
        short += [f"{one.id}: {h.note}" for h in planned.heads if h.note]
        if planned.balance is not None and not planned.balance.met:
            missed.append(f"{missed_in_words(one, planned.balance)} (sidelong balance says why)")
        if not json:
            _print(one, focus, planned)
            if meters:
                print_meters(one, planned, spots)
            for words in (*facts_in_words(opened, one, focus, planned), *in_picture_in_words(around, film)):
                say(f"  {words}")
            say("")
    minded = cautions(opened, plans)
    if json:
        json_answer("light", shoot_head(opened), answers, cautions_for_machines(minded))
    else:
        for words in cautions_on_the_spot(minded):
            say(words)
    if missed:
        raise NoBalance("\n".join([*short, *missed]))
    if short:
        raise OutOfPower("\n".join(short))


def _print(shot: Shot, focus: FocusPlan, planned: LightPlan) -> None:
    settings = settings_in_words(focus.setting.f_number, planned)
    names = [at.light for at in planned.points[0].lights] if planned.points else []
    columns = ("stops from middle grey", *names, "flash", "ambient", "all")
    rows = [
        (
            p.name,
            *(_stops(at) for at in p.lights),
            *map(stops_in_words, (p.flash_stops, p.ambient_stops, p.total_stops)),
        )
        for p in planned.points
    ]
    show(table(f"{shot.id}: {settings}", columns, rows, right=range(1, len(columns))))
    for head in planned.heads:
        say(f"  {head.name}: set {head_in_words(head)} ({head.wanted})" + (f": {head.note}" if head.note else ""))
    for words in learned_in_words(planned.learned):
        say(f"  {words}")
    if planned.balance is not None:
        for words, got, miss, _, verdict in wish_rows(planned.balance):
            say(f"  {words}: comes out {got}, {verdict}, off by {miss}")
    for note in planned.notes:
        say(f"  {note}")


def _stops(at: LightAtPoint) -> str:
    doubt = f" ±{at.stops_error:.1f}" if at.stops_error >= 0.05 and math.isfinite(at.stops) else ""
    return stops_in_words(at.stops) + doubt
