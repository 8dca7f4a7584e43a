"""`sidelong colour`: the colour of every light under the shot's balance."""

from __future__ import annotations

from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, shoot_head, show, table
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.colour.light_colour import LightColour
from sidelong.plan.colours import plan_colours
from sidelong.plan.stage import stage_at_full_power
from sidelong.plan.words import warmth_in_words


def colour(shoot: ShootPath, /, *, shot: ShotId = None, json: AsJson = False) -> None:
    """How warm or cold each light comes out under the balance, gels on, told by an 18 % grey card."""
    opened = open_shoot(shoot)
    answers = []
    for one in chosen_shots(opened, shot):
        colours = plan_colours(one, stage_at_full_power(opened, one))
        answers.append({"id": one.id, "balance_K": one.balance, "lights": [_light(c) for c in colours]})
        if not json:
            columns = ("light", "kelvin", "Duv", "mired off", "grey card", "how it looks")
            rows = [_row(c) for c in colours]
            show(table(f"{one.id}: balance {one.balance:.0f} K", columns, rows, right=(1, 2, 3)))
    if json:
        json_answer("colour", shoot_head(opened), answers)


def _light(light: LightColour) -> dict[str, Any]:
    return {
        "name": light.name,
        "cct_K": light.cct,
        "duv": light.duv,
        "mired_from_balance": light.mired_from_balance,
        "grey_srgb": list(light.grey_srgb),
        "delta_uv": light.delta_uv,
    }


def _row(light: LightColour) -> tuple[str, ...]:
    red, green, blue = light.grey_srgb
    return (
        light.name,
        f"{light.cct:.0f}",
        f"{light.duv:+.4f}",
        f"{light.mired_from_balance:+.0f}",
        f"{red} {green} {blue}",
        warmth_in_words(light.mired_from_balance),
    )
