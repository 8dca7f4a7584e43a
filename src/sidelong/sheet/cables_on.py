"""The cables of a shot on its plan: the way along the floor, the length, where one lies across a way out."""

from __future__ import annotations

import math
from itertools import pairwise

from sidelong.plan.cables import Cable, cables
from sidelong.plan.values import ShotPlan
from sidelong.sheet.drawing import Circle, Line, Point, Shape, Text, rectangle
from sidelong.units import metres_in_words

_SOCKET = 0.07


def cables_on(plan: ShotPlan) -> list[Shape]:
    """The cables of a shot and the outlets, batteries and generators they come from, seen from above. [m]"""
    shapes: list[Shape] = []
    laid = cables(plan.shoot, plan.shot)
    for cable in laid:
        shapes.append(Line(cable.way, "cable"))
        shapes.append(Text(_middle(cable), _words(cable, plan.shoot.imperial), "cable", clear=0.05))
        for crossing in cable.crossings:
            shapes += [Circle(crossing.at, 0.12, "cable"), Text(crossing.at, "ramp or tape", "cable", clear=0.14)]
    for id_ in dict.fromkeys(cable.source for cable in laid):
        at = plan.shoot.kit.power[id_].at
        assert at is not None
        x, y = at[:2]
        shapes.append(rectangle(x - _SOCKET, y - _SOCKET, x + _SOCKET, y + _SOCKET, "light"))
        shapes.append(Text((x, y), id_, "cable", clear=_SOCKET + 0.03))
    return shapes


def _words(cable: Cable, imperial: bool) -> str:
    words = f"cable {metres_in_words(cable.length, imperial)}"
    return f"{words}, longer than the kit's" if cable.too_short else words


def _middle(cable: Cable) -> Point:
    """The middle of the longest piece of the way."""
    one, other = max(pairwise(cable.way), key=lambda piece: math.dist(*piece))
    return ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
