"""What people wear: which parts of a stand-in an outfit shows, and in which cloth."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sidelong.errors import InputFault
from sidelong.people import cloth
from sidelong.people.cloth import unknown

Choice = tuple[str, ...]


@dataclass(frozen=True)
class Outfit:
    """`tops` are parts with the cloths that each may be of; of every tuple of cloths the person's name picks one.

    `headgear` are parts ("beanie", "cap", or "" for a bare head) with their cloths; legs and feet likewise.
    """

    top: str
    top_cloth: Choice
    trousers: Choice
    feet: tuple[tuple[str, str], ...]
    headgear: tuple[tuple[str, str], ...]
    under: Choice = ()
    apron: Choice = ()


_WOOLS = ("navy wool", "grey wool", "oxblood wool", "moss wool", "undyed wool")
_RUBBER = (("boots", "black rubber"), ("boots", "green rubber"))
_LEATHER = (("shoes", "brown leather"), ("shoes", "black leather"))
_KNITTED = (("beanie", "navy wool"), ("beanie", "oxblood wool"), ("beanie", "charcoal wool"), ("beanie", "grey wool"))

OUTFITS: dict[str, Outfit] = {
    "workwear": Outfit(
        "jacket", ("rust canvas", "navy wool", "sand canvas", "grey canvas", "indigo denim"),
        ("indigo denim", "charcoal wool", "brown wool", "grey canvas"), _LEATHER,
        (*_KNITTED, ("", ""), ("cap", "charcoal wool"), ("cap", "brown wool")),
        under=("undyed wool", "grey wool", "charcoal wool"),
    ),
    "oilskins": Outfit(
        "coat", ("oilskin yellow", "oilskin orange", "oilskin green"),
        ("oilskin yellow", "oilskin green", "charcoal wool"), _RUBBER, _KNITTED,
        under=("navy wool", "undyed wool"),
    ),
    "jersey": Outfit(
        "jersey", _WOOLS, ("indigo denim", "faded denim", "charcoal wool", "brown wool"), _RUBBER,
        (*_KNITTED, ("", ""), ("cap", "charcoal wool")),
    ),
    "coat": Outfit(
        "coat", ("charcoal wool", "navy wool", "brown wool", "grey wool"), ("charcoal wool", "grey wool"), _LEATHER,
        (("cap", "charcoal wool"), ("cap", "grey wool"), ("", "")),
        under=("undyed wool", "oxblood wool"),
    ),
    "apron": Outfit(
        "jersey", _WOOLS, ("indigo denim", "charcoal wool"), _RUBBER, (*_KNITTED, ("", "")),
        apron=("oilskin orange", "oilskin yellow", "sand canvas", "oilskin green"),
    ),
    "plain": Outfit("jersey", ("grey wool",), ("charcoal wool",), _LEATHER, (("", ""),)),
}  # fmt: skip


def outfit(name: str) -> Outfit:
    """The outfit of that name; after " in " the cloth of what is worn on top: ``jersey in madder wool``.

    Raises
    ------
    InputFault
        The outfit or the cloth is not known; the message lists the nearest.
    """
    worn, _, of = name.partition(" in ")
    if worn not in OUTFITS:
        raise InputFault(unknown("an outfit", worn, tuple(OUTFITS)))
    if not of:
        return OUTFITS[worn]
    cloth.finish(of)
    return replace(OUTFITS[worn], top_cloth=(of,))


def is_outfit(name: str) -> bool:
    """Whether `outfit` knows the name."""
    try:
        outfit(name)
    except InputFault:
        return False
    return True
