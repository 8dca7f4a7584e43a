"""What to pack: which shots use each piece of kit, what is rented, what it weighs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sidelong.light.values import Gel
from sidelong.shoot.values import Kit, Owned, Shoot, Shot


@dataclass(frozen=True)
class Piece:
    """One piece of kit: `shots` counts from 1 in the file's order; rent a day in the shoot's currency; weight
    [kg]."""

    kind: str
    id: str
    shots: tuple[int, ...]
    owned: Owned


@dataclass(frozen=True)
class Packing:
    """All pieces, those used first; the sum of rents a day, of weights [kg], and of the strobes' full energies
    [J]."""

    pieces: tuple[Piece, ...]
    rent_per_day: float
    weight: float
    energy: float


def packing(shoot: Shoot) -> Packing:
    """The packing list of a shoot: everything some shot or opening uses, power and haze, then what no shot uses.

    Kit that no shot uses is listed, for it may be a spare, but it counts neither in rent, weight nor energy.
    """
    used = {(kind, id_): tuple(shots) for (kind, id_), shots in _uses(shoot).items()}
    pieces = [
        Piece(kind, id_, used.get((kind, id_), ()), shoot.kit.owned.get(id_, Owned()))
        for kind, ids in _listed(shoot.kit)
        for id_ in ids
    ]
    needed = [p for p in pieces if is_needed(p)]
    strobes = {p.id for p in needed if p.kind == "strobe"}
    return Packing(
        tuple(needed + [p for p in pieces if not is_needed(p)]),
        math.fsum(p.owned.rent_per_day for p in needed if not p.owned.owned),
        math.fsum(p.owned.weight for p in needed),
        math.fsum(s.energy for s in shoot.kit.strobes.values() if s.id in strobes),
    )


def is_needed(piece: Piece) -> bool:
    """Whether a piece goes along: some shot uses it, or it serves the whole day."""
    return bool(piece.shots) or piece.kind in ("power", "haze")


def _listed(kit: Kit) -> Sequence[tuple[str, Iterable[str]]]:
    return (
        ("body", kit.bodies),
        ("lens", kit.lenses),
        ("strobe", kit.strobes),
        ("lamp", kit.lamps),
        ("modifier", kit.modifiers),
        ("gel", kit.gels),
        ("filter", kit.filters),
        ("power", kit.power),
        ("haze", kit.haze),
    )


def _uses(shoot: Shoot) -> dict[tuple[str, str], list[int]]:
    """(kind, id) -> the shots that use it. A cover in an opening serves every shot."""
    uses: dict[tuple[str, str], list[int]] = {}
    for number, shot in enumerate(shoot.shots, 1):
        for key in [*_of_shot(shot), *_covers(shoot)]:
            shots = uses.setdefault(key, [])
            if number not in shots:
                shots.append(number)
    return uses


def _of_shot(shot: Shot) -> list[tuple[str, str]]:
    keys = [("body", shot.body.id), ("lens", shot.lens.id), *(("filter", f.id) for f in shot.filters)]
    for light in shot.lights:
        keys.append(("lamp" if light.strobe.steady else "strobe", light.strobe.id))
        keys += [("gel", gel.id) for gel in light.gels]
        if light.modifier is not None:
            keys.append(("modifier", light.modifier.id))
        if light.bounce is not None and light.bounce.panel is not None:
            keys.append(("modifier", light.bounce.panel.id))
    for sheet in shot.sheets:
        keys += [("gel" if isinstance(piece, Gel) else "modifier", piece.id) for piece in sheet.pieces]
    return keys


def _covers(shoot: Shoot) -> list[tuple[str, str]]:
    covers = {cover for r in shoot.place.rooms for o in r.openings for cover in o.cover}
    return [("modifier" if c in shoot.kit.modifiers else "gel", c) for c in sorted(covers)]
