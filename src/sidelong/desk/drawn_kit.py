"""The kit as the page lists it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from sidelong.day.kit import packing
from sidelong.desk.messages_drawn import DrawnKit, DrawnPiece
from sidelong.lens.values import Lens
from sidelong.light.values import Gel, Modifier, Strobe
from sidelong.shoot.values import Body, HazeMachine, NdFilter, Owned, Power, Shoot
from sidelong.units import f_mark


def drawn_kit(shoot: Shoot) -> DrawnKit:
    """Every piece of kit, in the file's order."""
    kit = shoot.kit
    used = {(piece.kind, piece.id): piece.shots for piece in packing(shoot).pieces}
    for number, shot in enumerate(shoot.shots, 1):
        for nd in shot.filters:
            used["filter", nd.id] = (*used.get(("filter", nd.id), ()), number)

    def listed(kind: str, items: Mapping[str, Any], summary: Callable[[Any], str]) -> list[DrawnPiece]:
        return [
            DrawnPiece(
                id=id_,
                summary=summary(item),
                owned=kit.owned.get(id_, Owned()).owned,
                rent_per_day=kit.owned.get(id_, Owned()).rent_per_day,
                weight=kit.owned.get(id_, Owned()).weight,
                used_by=[shoot.shots[number - 1].id for number in used.get((kind, id_), ())],
            )
            for id_, item in items.items()
        ]

    return DrawnKit(
        bodies=listed("body", kit.bodies, _body),
        lenses=listed("lens", kit.lenses, _lens),
        strobes=listed("strobe", kit.strobes, _strobe),
        lamps=listed("lamp", kit.lamps, _strobe),
        modifiers=listed("modifier", kit.modifiers, _modifier),
        gels=listed("gel", kit.gels, _gel),
        filters=listed("filter", kit.filters, _filter),
        power=listed("power", kit.power, _power),
        haze=listed("haze", kit.haze, _haze),
    )


def _body(body: Body) -> str:
    film = body.film
    return f"{film.width * 1e3:g} x {film.height * 1e3:g} mm, {film.pixels[0]} x {film.pixels[1]} px"


def _lens(lens: Lens) -> str:
    moves = f", moves {math.degrees(lens.movement):.3g}°" if lens.movement else ""
    shifts = f", shifts {lens.shift * 1e3:g} mm" if lens.shift else ""
    return f"{lens.focal_length * 1e3:g} mm f/{f_mark(lens.widest)}{moves}{shifts}"


def _strobe(strobe: Strobe) -> str:
    if strobe.steady:
        return f"{strobe.energy:g} W, steady, {strobe.kelvin:.0f} K"
    return f"{strobe.energy:g} J, {strobe.range_stops:g} stops, {strobe.kelvin:.0f} K"


def _modifier(modifier: Modifier) -> str:
    grid = f", grid {math.degrees(modifier.grid):.0f}°" if modifier.grid else ""
    return f"{modifier.kind}, {modifier.size[0]:g} x {modifier.size[1]:g} m{grid}"


def _gel(gel: Gel) -> str:
    green = f", Duv {gel.duv:+.3f}" if gel.duv else ""
    return f"{gel.mired:+.0f} mired{green}, passes {gel.transmission:.0%}"


def _filter(nd: NdFilter) -> str:
    return f"ND, {nd.stops:g} stops"


def _power(power: Power) -> str:
    figures = [f"{power.watts:g} W"] if power.watts is not None else []
    figures += [f"{power.watt_hours:g} Wh"] if power.watt_hours is not None else []
    return ", ".join([power.kind, *figures])


def _haze(machine: HazeMachine) -> str:
    return machine.fluid + (f", {machine.output:g} g/min" if machine.output is not None else "")
