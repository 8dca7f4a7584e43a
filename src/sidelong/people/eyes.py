"""Where the eyes of a person are, and other named points of face and hands. Place frame, SI.

The eyes are the point judged for sharpness, so their place follows from the shoot alone, by published body
proportions, and the figure is fitted to them; chin, forehead, hands and feet follow from the figure.

Source
------
drillis1966 (eye height 0.936 of the stature, knee height 0.285, sitting height 0.520), as reprinted in
winter2009, figure 4.1.
"""

from __future__ import annotations

from sidelong.errors import InputFault
from sidelong.people.stand_in import points_of
from sidelong.people.values import Person, Vector

STANDING = 0.936
"""Eye height of someone who stands, as a fraction of the stature. [-]"""
SITTING = 0.520 - (1.0 - 0.936)
"""Eye height above the seat: the sitting height less what lies above the eyes. [-]"""
KNEELING = 0.936 - 0.285 + 0.030
"""Eye height of someone who kneels upright: the shin's height is lost, and half a knee's depth, 0.030 (common
practice, no source), remains under the knee's axis. [-]"""


def eye_height(person: Person) -> float:
    """Height of the middle of the two eyes above what carries the feet (kneeling: the knees). [m]

    Raises
    ------
    InputFault
        The pose is none of standing, sitting, kneeling.
    """
    if person.pose == "standing":
        return STANDING * person.height
    if person.pose == "sitting":
        return person.seat + SITTING * person.height
    if person.pose == "kneeling":
        return KNEELING * person.height
    raise InputFault(
        f'found the pose "{person.pose}" for {person.name}; expected "standing", "sitting" or "kneeling"'
    )


def eyes(person: Person) -> Vector:
    """The middle of the two pupils, place frame [m]: exactly above `person.at`, at the eye height of the pose."""
    x, y, z = person.at
    return (x, y, z + eye_height(person))


def face(person: Person) -> dict[str, Vector]:
    """Points of the face, place frame [m]: chin, forehead, nose, left eye, right eye (the person's own left)."""
    points = points_of(person, eyes(person))
    return {name: points[name] for name in ("chin", "forehead", "nose", "left eye", "right eye")}


def hands(person: Person) -> dict[str, Vector]:
    """Left and right hand (knuckle of the middle finger), left and right foot (root of the toes), place frame [m]."""
    points = points_of(person, eyes(person))
    return {name: points[name] for name in ("left hand", "right hand", "left foot", "right foot")}
