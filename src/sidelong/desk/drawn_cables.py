"""The cables of a shot as the page draws them."""

from __future__ import annotations

from sidelong.desk.messages_drawn import Cables, DrawnCable, DrawnCrossing, DrawnSource
from sidelong.plan.cables import LOOP, Cable, cables
from sidelong.shoot.values import Shoot, Shot


def drawn_cables(shoot: Shoot, shot: Shot) -> Cables:
    """The sources that have a place, and their cables in a shot."""
    sources = [DrawnSource(id=p.id, kind=p.kind, at=p.at) for p in shoot.kit.power.values() if p.at is not None]
    return Cables(shot=shot.id, sources=sources, cables=[_cable(cable) for cable in cables(shoot, shot)])


def _cable(cable: Cable) -> DrawnCable:
    return DrawnCable(
        source=cable.source,
        head=cable.head,
        way=list(cable.way),
        length_m=cable.length,
        along_m=cable.along,
        down_m=cable.down,
        up_m=cable.up,
        loop_m=LOOP,
        has_m=cable.has,
        too_short=cable.too_short,
        straight=cable.straight,
        crossings=[DrawnCrossing(opening=c.opening, at=c.at) for c in cable.crossings],
    )
