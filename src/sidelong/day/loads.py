"""What the lights draw from each outlet, battery and generator: at once while they charge, and over all frames."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sidelong.plan.cables import feeds
from sidelong.plan.values import ShotPlan
from sidelong.shoot.values import Kit, Shoot

USUAL_FRAMES = 36
"""Of a shot that does not say how many will be taken. Our own figure."""
CHARGING = 0.7
"""Share of what is drawn that ends in the capacitors. Common practice, no source."""
LAMP_HOURS = 0.5
"""How long a lamp burns for a shot. Our own figure."""


@dataclass(frozen=True)
class Load:
    """What `heads` ask of a source: `watts_needed` while all of them charge or burn, in the shot that asks most, and
    `watt_hours_needed` for all frames; what it has, None where that is not stated. [W, Wh]"""

    id: str
    kind: str
    heads: tuple[str, ...]
    watts_needed: float
    watts: float | None
    watt_hours_needed: float
    watt_hours: float | None
    frames: int

    @property
    def overloaded(self) -> bool:
        """Whether it has to give more at once than it can."""
        return self.watts is not None and self.watts_needed > self.watts

    @property
    def empty(self) -> bool:
        """Whether it runs out before the last frame."""
        return self.watt_hours is not None and self.watt_hours_needed > self.watt_hours


def loads(shoot: Shoot, plans: Sequence[ShotPlan]) -> tuple[Load, ...]:
    """The load of every source that feeds a light of these shots; a lone source feeds what does not say by what."""
    found = []
    for source in shoot.kit.power.values():
        watts, hours, frames = 0.0, 0.0, 0
        heads: list[str] = []
        for plan in plans:
            drawn, spent, names = _of_shot(plan, source.id, shoot.kit)
            count = plan.shot.frames or USUAL_FRAMES
            watts, hours = max(watts, drawn), hours + spent * count
            frames += count if names else 0
            heads += [name for name in names if name not in heads]
        if heads:
            found.append(
                Load(source.id, source.kind, tuple(heads), watts, source.watts, hours, source.watt_hours, frames)
            )
    return tuple(found)


def _of_shot(plan: ShotPlan, source: str, kit: Kit) -> tuple[float, float, list[str]]:
    """Watts at once, watt-hours a frame and the names of what a source feeds in a shot. A flash takes its energy in
    its recycling time, whatever its power; a lamp burns through the shot."""
    watts, hours = 0.0, 0.0
    names = []
    for k, placed in enumerate(plan.shot.lights):
        strobe = placed.strobe
        # a plan without metered light has set no head: full power is then the most that it can be
        energy = plan.light.heads[k].energy if plan.light.heads else strobe.energy * (placed.power or 1.0)
        if feeds(kit, strobe) != source:
            continue
        names.append(strobe.id)
        if strobe.steady:
            watts += energy
            hours += energy * LAMP_HOURS / (plan.shot.frames or USUAL_FRAMES)
        else:
            watts += strobe.energy / strobe.recycle / CHARGING
            hours += energy / 3600 / CHARGING
    return watts, hours, names


def load_in_words(load: Load) -> str:
    """A load as it is said: ``battery box: 12 Wh of 700 Wh for 36 frames; 410 W while big head charges``."""
    has = "" if load.watt_hours is None else f" of {load.watt_hours:.0f} Wh"
    at_once = "" if load.watts is None else f" of {load.watts:.0f} W"
    verdict = ", more than it gives" if load.overloaded else ""
    runs_out = ", runs out before the last" if load.empty else ""
    return (
        f"{load.id}: {math.ceil(load.watt_hours_needed)} Wh{has} for {load.frames} frames{runs_out}; "
        f"{load.watts_needed:.0f} W{at_once} while {', '.join(load.heads)} charge or burn{verdict}"
    )
