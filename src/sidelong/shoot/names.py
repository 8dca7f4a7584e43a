"""What a name of the shoot stands for: a mark is its point, a person is the middle of their eyes."""

from __future__ import annotations

from sidelong.errors import Fault, ShootFault
from sidelong.people.eyes import eyes
from sidelong.place.values import Vector
from sidelong.shoot.values import Shoot


def points_of(shoot: Shoot) -> dict[str, Vector]:
    """The point of every name, place frame [m], people first, then marks, in the file's order."""
    people = {person.name: eyes(person) for person in shoot.people}
    return {**people, **{mark.name: mark.at for mark in shoot.marks if mark.name not in people}}


def point_names(shoot: Shoot) -> tuple[str, ...]:
    """Every name that stands for a point: people first, then marks, in the file's order."""
    return tuple(points_of(shoot))


def point_of(shoot: Shoot, name: str) -> Vector:
    """The point of a name, (3,) place frame [m]: a person's eyes, or a mark.

    Raises
    ------
    ShootFault
        Nobody and nothing has that name.
    """
    points = points_of(shoot)
    if name in points:
        return points[name]
    known = ", ".join(points) or "none"
    fault = Fault(str(shoot.folder), 0, 0, f'the name "{name}"', f"a person or a mark of the shoot ({known})")
    raise ShootFault([fault])
