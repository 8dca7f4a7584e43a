"""What the readings of one shot teach the others: a head is the same head wherever it stands, a place the same place.

Each shot that has readings of its own is lit and learned from by itself, once; the others take what it says of the
heads that they use, and of the light that the place gives back, as what is believed before their own readings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from sidelong.plan.focus import plan_focus
from sidelong.plan.learned import PLACE, Belief
from sidelong.plan.light import plan_light
from sidelong.plan.stage import head_names
from sidelong.plan.values import LearnedLight
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import MOST_SAMPLES

DRIFT = 0.05
"""One sigma of a head's output from one shot to the next: its mount, its warmth. Our own figure. [stops]"""


@dataclass
class Teacher:
    """Learns from the shots of a shoot, each when it is first needed."""

    shoot: Shoot
    most_paths: int = MOST_SAMPLES
    _learned: dict[str, tuple[LearnedLight, ...]] = field(default_factory=dict)

    def taught(self, shot: Shot) -> dict[str, Belief]:
        """What the other shots' readings say of this one's heads and of the place; nothing where they have none."""
        heads = set(head_names(shot))
        found: dict[str, list[tuple[str, LearnedLight]]] = {}
        for other in self.shoot.shots:
            read = any(r.shot == other.id for r in self.shoot.readings)
            if other.id == shot.id or not read or not heads & set(head_names(other)):
                continue
            for light in self._lesson(other):
                if light.readings and light.light in (PLACE, *heads):
                    found.setdefault(light.light, []).append((other.id, light))
        return {name: _together(lessons) for name, lessons in found.items()}

    def _lesson(self, shot: Shot) -> tuple[LearnedLight, ...]:
        if shot.id not in self._learned:
            own = tuple(reading for reading in self.shoot.readings if reading.shot == shot.id)
            alone = replace(self.shoot, readings=own)
            planned, _ = plan_light(alone, shot, plan_focus(alone, shot), self.most_paths)
            self._learned[shot.id] = planned.learned
        return self._learned[shot.id]


def _together(lessons: list[tuple[str, LearnedLight]]) -> Belief:
    """Several shots' findings of one light, weighed by their certainty."""
    weights = [1.0 / (light.sigma**2 + DRIFT**2) for _, light in lessons]
    total = math.fsum(weights)
    mean = math.fsum(w * light.stops for w, (_, light) in zip(weights, lessons, strict=True)) / total
    return Belief(mean, total**-0.5, tuple(shot for shot, _ in lessons))
