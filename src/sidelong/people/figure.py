"""The clothed figure of a person, in the place frame, ready to be traced or drawn."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from sidelong.errors import InputFault
from sidelong.geometry.mesh import Mesh, Thing
from sidelong.people import stand_in
from sidelong.people.cloth import SKINS, unknown
from sidelong.people.eyes import eyes
from sidelong.people.outfits import Outfit, outfit
from sidelong.people.values import Person

_Choice = TypeVar("_Choice")
_HAIR = {
    "man": ("black hair", "dark brown hair", "brown hair", "red hair", "fair hair"),
    "heavy man": ("dark brown hair", "brown hair", "grey hair"),
    "old man": ("grey hair", "white hair"),
    "woman": ("dark brown hair", "brown hair", "black hair", "fair hair"),
    "heavy woman": ("grey hair", "brown hair", "dark brown hair"),
    "young woman": ("black hair", "red hair", "fair hair", "dark brown hair"),
}
_BUTTONS = {"jacket": "buttons", "coat": "coat buttons"}
_DARKER_SKINS = ("medium", "tan", "brown", "dark")
_BROW = {
    "white hair": "grey brows", "grey hair": "grey brows", "fair hair": "fair brows", "red hair": "fair brows",
    "brown hair": "brown brows", "dark brown hair": "dark brows", "black hair": "dark brows",
}  # fmt: skip


def figure(person: Person) -> tuple[Thing, ...]:
    """The person, clothed, as separate parts with their finishes, place frame [m].

    The middle of the pupils lies exactly at `eyes(person)`; the soles (kneeling: knees and toes) at the height of
    `person.at`; sitting, the underside of the hips on the seat; the person looks along (cos facing, sin facing).
    Body, hair and the colours of the cloth follow from the person's name, so that they never change.

    Raises
    ------
    InputFault
        Unknown build, outfit, skin or pose, or a seat that this stature cannot sit on.

    Method
    ------
    a stored stand-in, bent for the seat, scaled to the eye height, turned, moved
    """
    if person.skin not in SKINS:
        raise InputFault(f"{person.name}: {unknown('a skin', person.skin, tuple(SKINS))}")
    worn = outfit(person.clothes)
    at = eyes(person)
    body = stand_in.body_of(person)
    stored = stand_in.load(body, person.pose)
    to_place = stand_in.placing(person, at, stored)
    things = []
    clothes = tuple(_clothes(person, worn))
    covered = any(part in ("beanie", "cap") for part, _ in clothes)
    for part, cloth in (*_bare(person, body, stored, covered), *clothes):
        piece = stored.parts[part]
        mesh = Mesh(to_place.place(piece.vertices, piece.low, piece.high), piece.faces, smooth=True)
        things.append(Thing(f"{person.name}: {part}", mesh, cloth, owner=person.name))
    return tuple(things)


def _bare(person: Person, body: str, stored: stand_in.StandIn, covered: bool) -> Iterator[tuple[str, str]]:
    """Head, hands, eyes and hair with their finishes; `covered` when headgear is worn."""
    hairs = _HAIR[body]
    if person.skin in _DARKER_SKINS:
        hairs = tuple(h for h in hairs if h not in ("red hair", "fair hair", "brown hair")) or hairs
    hair = hairs[stand_in.pick(person.name, len(hairs), "hair")]
    iris = "brown iris" if person.skin in _DARKER_SKINS or stand_in.pick(person.name, 2, "iris") else "blue iris"
    yield "face", f"skin {person.skin}"
    yield "hands", f"skin {person.skin}"
    yield "lips", f"lips {person.skin}"
    yield "white", "eye white"
    yield "iris", iris
    yield "pupil", "pupil"
    yield "lashes", "dark brown hair"
    yield "brows", _BROW[hair]
    yield "hair under" if covered else "hair", hair
    if "beard" in stored.parts:
        yield "beard", hair


def _clothes(person: Person, worn: Outfit) -> Iterator[tuple[str, str]]:
    """The parts of an outfit with the cloths that the person's name picks."""

    def choose(choices: tuple[_Choice, ...], salt: str) -> _Choice:
        return choices[stand_in.pick(person.name, len(choices), salt)]

    top = choose(worn.top_cloth, "top")
    yield worn.top, top
    yield "roll", choose(worn.under, "under") if worn.under else top
    if worn.top != "jersey":
        yield "collar", top
    if worn.top in _BUTTONS:
        yield _BUTTONS[worn.top], "horn"
    feet, hide = choose(worn.feet, "feet")
    below = tuple(cloth for cloth in worn.trousers if cloth != top) or worn.trousers
    yield "tucked" if feet == "boots" else "trousers", choose(below, "trousers")
    yield feet, hide
    if worn.apron:
        yield "apron", choose(worn.apron, "apron")
    head, cloth = choose(worn.headgear, "head")
    if head:
        yield head, cloth
