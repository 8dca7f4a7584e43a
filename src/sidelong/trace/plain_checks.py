"""What a plain scene's numbers are checked for: a fault is an InputFault that says what was found and expected."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Protocol

import numpy as np

from sidelong.errors import InputFault
from sidelong.trace.glass import inner_transmittance

FACES = ("left", "right", "near", "far", "floor", "ceiling")
_LARGEST = 1e6


def checked_number(what: str, value: Any, least: float = 1e-6, most: float = 1e12) -> float:
    """The number, if it is one and lies between `least` and `most`.

    Raises
    ------
    InputFault
        It does not.
    """
    if isinstance(value, bool) or not isinstance(value, (int, float, np.number)) or not least <= float(value) <= most:
        raise InputFault(f"{what} is {_shown(value)}; expected a number from {least:g} to {most:g}")
    return float(value)


def checked_vector(what: str, value: Any, direction: bool = False) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Three finite numbers; not all nought for a direction.

    Raises
    ------
    InputFault
        It is something else.
    """
    try:
        vector = np.asarray(value, float)
    except (TypeError, ValueError):
        vector = np.zeros(0)
    if vector.shape != (3,) or not np.all(np.abs(vector) <= _LARGEST):
        raise InputFault(f"{what} is {_shown(value)}; expected three numbers, each within {_LARGEST:g}")
    if direction and np.linalg.norm(vector) < 1e-9:
        raise InputFault(f"{what} is {_shown(value)}; expected a direction, which has a length")
    return vector


def checked_sides(what: str, edge_u: Any, edge_v: Any) -> None:
    """Two sides with lengths, square to one another within a thousandth.

    Raises
    ------
    InputFault
        They are not.
    """
    u = checked_vector(f"a {what}'s edge_u", edge_u, direction=True)
    v = checked_vector(f"a {what}'s edge_v", edge_v, direction=True)
    cosine = float(u @ v / np.linalg.norm(u) / np.linalg.norm(v))
    if min(np.linalg.norm(u), np.linalg.norm(v)) < 1e-6 or abs(cosine) > 1e-3:
        angle = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
        raise InputFault(
            f"a {what}'s sides {_shown(edge_u)} and {_shown(edge_v)} meet at {angle:.1f} degrees; expected two sides"
            " that are square to one another and have a length"
        )


def checked_fractions(what: str, reflectance: Any, transmittance: Any = 0.0, mirror: Any = 0.0) -> None:
    """Fractions of light that a surface gives back or through, together no more than all of it.

    Raises
    ------
    InputFault
        One is no fraction, or together they are over 1.
    """
    parts = {"reflectance": reflectance, "transmittance": transmittance, "mirror": mirror}
    total = sum(checked_number(f"a {what}'s {name}", value, 0.0, 1.0) for name, value in parts.items())
    if total > 1.0 + 1e-9:
        raise InputFault(
            f"a {what}'s reflectance, transmittance and mirror come to {total:g}; expected 1 at most, since it cannot"
            " give back more light than it gets"
        )


def checked_emission(what: str, luminance: Any, exitance: Any, shines: Any, sides: tuple[str, ...]) -> None:
    """Light of its own is given once and for stated sides.

    Raises
    ------
    InputFault
        Both or a negative amount are given, or no side or one that it has not.
    """
    given = {n: v for n, v in (("luminance", luminance), ("exitance", exitance)) if v is not None}
    for name, value in given.items():
        checked_number(f"a {what}'s {name}", value, least=0.0)
    if len(given) > 1:
        raise InputFault(f"a {what} has both a luminance and an exitance; expected one of them")
    wanted = ", ".join(f'"{side}"' for side in sides)
    if given and shines not in sides:
        raise InputFault(f"a {what} gives light and shines {_shown(shines)}; expected one of {wanted}")
    if not given and shines is not None:
        raise InputFault(f"a {what} shines {_shown(shines)} without a luminance or an exitance; expected one of them")


def checked_pane(what: str, transmittance: Any, index: Any) -> None:
    """A pane's transmittance and index, of which it has at least one.

    Raises
    ------
    InputFault
        It has neither, or glass of that index cannot let so much through.
    """
    if transmittance is None and index is None:
        raise InputFault(f"{what} has neither a transmittance nor an index; expected at least one of them")
    if transmittance is not None:
        checked_number(f"the transmittance of {what}", transmittance, 0.0, 1.0)
    if index is not None:
        checked_number(f"the index of {what}", index, 1.0, 4.0)
        if transmittance is not None:
            inner_transmittance(float(index), float(transmittance))


class _BoxLike(Protocol):
    @property
    def low(self) -> Any: ...
    @property
    def high(self) -> Any: ...
    @property
    def reflectance(self) -> Any: ...
    @property
    def luminance(self) -> Any: ...
    @property
    def exitance(self) -> Any: ...
    @property
    def shines(self) -> Any: ...
    @property
    def openings(self) -> Any: ...


def checked_box(box: _BoxLike) -> None:
    """A box with room in it, faces that exist, openings inside their faces and apart from one another.

    Raises
    ------
    InputFault
        Something of it is not so.
    """
    low, high = checked_vector("a box's low corner", box.low), checked_vector("a box's high corner", box.high)
    if np.min(high - low) < 1e-6:
        raise InputFault(
            f"a box runs from {_shown(box.low)} to {_shown(box.high)}; expected a high corner that is above the low"
            " one along x, y and z"
        )
    for face in FACES:
        checked_fractions("box", of_face(box.reflectance, face))
        luminance, exitance = of_face(box.luminance, face), of_face(box.exitance, face)
        checked_emission("box", luminance, exitance, box.shines, ("in", "out", "both"))
    taken: list[tuple[str, float, float, float, float]] = []
    for hole in box.openings:
        size = _sides_of(high - low, hole.face)
        spans = []
        for start, length, most in zip(hole.at, hole.size, size, strict=True):
            if not (start >= -1e-9 and length > 1e-6 and start + length <= most + 1e-9):
                raise InputFault(
                    f"an opening at {_shown(hole.at)} of {_shown(hole.size)} m does not lie in the {hole.face}, which"
                    f" is {size[0]:g} by {size[1]:g} m"
                )
            spans += [start, start + length]
        for face, a, b, c, d in taken:
            if face == hole.face and a < spans[1] and spans[0] < b and c < spans[3] and spans[2] < d:
                raise InputFault(f"two openings in the {face} of a box overlap; expected them apart")
        taken.append((hole.face, *spans))
        if hole.transmittance is not None or hole.index is not None:
            checked_pane("the pane in an opening", hole.transmittance, hole.index)


def of_face(value: Any, face: str) -> Any:
    """What a number or a table by face says of a face.

    Raises
    ------
    InputFault
        The table names something that is no face.
    """
    if not isinstance(value, Mapping):
        return value
    unknown = [name for name in value if name not in FACES]
    if unknown:
        raise InputFault(f'a box has no face "{unknown[0]}"; expected one of {", ".join(FACES)}')
    return value.get(face, 0.0)


def _sides_of(size: Any, face: Any) -> tuple[float, float]:
    if face not in FACES:
        raise InputFault(f"an opening is in the face {_shown(face)}; expected one of {', '.join(FACES)}")
    across = [k for k in range(3) if k != FACES.index(face) // 2]
    return float(size[across[0]]), float(size[across[1]])


class _SkyLike(Protocol):
    @property
    def kind(self) -> Any: ...
    @property
    def zenith(self) -> Any: ...
    @property
    def horizontal(self) -> Any: ...
    @property
    def to_sun(self) -> Any: ...
    @property
    def sun(self) -> Any: ...


def checked_sky(sky: _SkyLike) -> None:
    """A sky of a type that there is, its amount given once.

    Raises
    ------
    InputFault
        It is not.
    """
    if isinstance(sky.kind, bool) or sky.kind not in range(1, 17):
        raise InputFault(
            f"a sky of type {_shown(sky.kind)} was given; expected 1 to 15 (ISO 15469), or 16 for the traditional"
            " overcast sky"
        )
    given = [v for v in (sky.zenith, sky.horizontal) if v is not None]
    if len(given) != 1:
        raise InputFault("a sky has one of zenith and horizontal, its luminance straight up or what it gives ground")
    checked_number("a sky's amount", given[0], least=0.0)
    checked_number("the sun's illuminance", sky.sun, least=0.0)
    towards = checked_vector("a sky's to_sun", sky.to_sun, direction=True)
    if sky.sun > 0 and towards[2] <= 0:
        raise InputFault("the sun shines from below the horizon; expected a to_sun with z over 0, or sun=0")


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
