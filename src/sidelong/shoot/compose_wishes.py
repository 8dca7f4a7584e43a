"""What a shot of the file asks of its light, and what may be chosen to meet it, as values."""

from __future__ import annotations

from collections.abc import Sequence

from sidelong.light.values import Strobe
from sidelong.shoot.model_shot import FreeTable, ShotTable, WishTable
from sidelong.shoot.values import Body, Freedom, WishOfColour, WishOfLight

USUAL_LONGEST = 2 ** (-15 / 3)
"""1/30: what the balance may choose at most, unless the shot says otherwise. Common practice. [s]"""


def is_balanced(table: ShotTable) -> bool:
    """Whether a shot's powers and exposure are found together, and not one after the other."""
    return bool(table.wishes) or table.free is not None


def wishes_of(table: ShotTable, otherwise: str | None) -> tuple[WishOfLight, ...]:
    """The wishes for light of a shot, in the file's order; those for nobody are for `otherwise`."""
    return tuple(_wish(wish, wish.who or otherwise or "") for wish in table.wishes if wish.kelvin is None)


def _wish(table: WishTable, who: str) -> WishOfLight:
    for bound, stops in (("at_most", table.at_most), ("at_least", table.at_least)):
        if stops is not None:
            return WishOfLight(who, table.light, stops, bound, table.within)
    return WishOfLight(who, table.light, table.stops or 0.0, "at", table.within)


def colour_wishes_of(table: ShotTable) -> tuple[WishOfColour, ...]:
    """The wishes for colour of a shot."""
    return tuple(
        WishOfColour(wish.light, wish.kelvin, wish.within_mired) for wish in table.wishes if wish.kelvin is not None
    )


def freedom_of(table: ShotTable, body: Body, strobes: Sequence[Strobe], filters: bool) -> Freedom | None:
    """What the balance of a shot may choose; None for a shot without wishes. `filters`: whether there are any."""
    if not is_balanced(table):
        return None
    free = table.free or FreeTable()
    return Freedom(
        shutter=None if table.shutter is not None else _shutters(free, body, strobes),
        iso=None if table.iso is not None else _span(free.iso, body.iso),
        f_number=None if table.aperture is not None else _span(free.aperture, (0.0, float("inf"))),
        filters=free.filters and filters and not table.filters,
    )


def _span(stated: bool | tuple[float, float], all_of_it: tuple[float, float]) -> tuple[float, float] | None:
    if isinstance(stated, bool):
        return all_of_it if stated else None
    low, high = max(stated[0], all_of_it[0]), min(stated[1], all_of_it[1])
    return (low, high) if low <= high * (1 + 1e-6) else (stated[0], stated[0])


def _shutters(free: FreeTable, body: Body, strobes: Sequence[Strobe]) -> tuple[float, float] | None:
    """From sync, or where every flash has a pulsed mode from the body's fastest. [s]"""
    flashes = [strobe for strobe in strobes if not strobe.steady]
    pulsed = all(strobe.high_speed for strobe in flashes)
    fastest = body.shutter[0] if pulsed else max(body.sync, body.shutter[0])
    if isinstance(free.shutter, bool):
        return (fastest, max(fastest, USUAL_LONGEST)) if free.shutter else None
    return max(free.shutter[0], fastest), min(max(free.shutter[1], fastest), body.shutter[1])
