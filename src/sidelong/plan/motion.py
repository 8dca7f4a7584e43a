"""Who moves while the shutter is open: what the flash leaves of it, and the ghost that the ambient light draws.

Each is a length: speed across the view times how long that light acts, t0.1 of the flash or the whole shutter. The
ghost shows by as much as the ambient exposure of the one who moves comes up to the flash's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sidelong.light.duration import stops_cut, t01_at
from sidelong.light.exposure import flash_loss_above_sync
from sidelong.plan.stage import head_names
from sidelong.plan.values import FocusPlan, LightPlan, PointLight
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import shutter_mark

COUNTS = 3.0
"""A flash this far under all the flash at a point does not set how sharp it is frozen. [stops]"""
SHOWS = 4.0
"""A ghost farther under the flash is not seen. [stops] Our own figure."""


@dataclass(frozen=True)
class Burning:
    """A head's flash at its power: `t01` [s], the stops of it that the shutter cuts off, the time until it is ready
    again [s]."""

    name: str
    t01: float
    cut_stops: float
    recycle: float


@dataclass(frozen=True)
class Motion:
    """Someone who moves, at `speed` across the view [m/s]. `frozen`: how far they get in the flash, on themselves and
    `frozen_on_film` [m], None without flash; `ghost`, `ghost_on_film` the same in the shutter [m]; `ghost_stops` the
    ambient against the flash on them, inf without flash; `limit` of blur that counts as sharp, on the film [m]."""

    name: str
    speed: float
    frozen: float | None
    frozen_on_film: float | None
    ghost: float
    ghost_on_film: float
    ghost_stops: float
    limit: float

    @property
    def shows(self) -> bool:
        """Whether the ambient light draws a ghost that is seen."""
        return self.ghost_stops > -SHOWS and self.ghost_on_film > self.limit


def burning_of(shot: Shot, light: LightPlan) -> tuple[Burning, ...]:
    """How long each flash of a shot burns at the power it is set to; energy and so recycling go with the power."""
    found = []
    for name, placed, head in zip(head_names(shot), shot.lights, light.heads, strict=True):
        strobe = placed.strobe
        if not strobe.steady:
            t01 = t01_at(strobe.t01, strobe.t01_lowest, strobe.range_stops, head.power)
            found.append(Burning(name, t01, stops_cut(light.shutter, t01), strobe.recycle * head.power))
    return tuple(found)


def motions_of(shoot: Shoot, shot: Shot, focus: FocusPlan, light: LightPlan) -> tuple[Motion, ...]:
    """Everyone of a shot who moves and is in front of the camera."""
    pulsed = flash_loss_above_sync(light.shutter, shot.body.sync) > 0
    burning = {flash.name: light.shutter if pulsed else flash.t01 for flash in burning_of(shot, light)}
    lit = {point.name: point for point in light.points}
    found = []
    for person in shoot.people:
        at = next((p.at for p in focus.points if p.name == person.name and p.blur_major is not None), None)
        if person.moves <= 0 or at is None or person.name not in lit:
            continue
        scale = focus.film_distance / float(focus.frame.to_body(at)[2] - focus.principal_point[2])
        point = lit[person.name]
        t01 = _longest(point, burning)
        frozen = None if t01 is None else person.moves * t01
        ghost = person.moves * light.shutter
        found.append(
            Motion(
                person.name,
                person.moves,
                frozen,
                None if frozen is None else frozen * scale,
                ghost,
                ghost * scale,
                math.inf if t01 is None else point.ambient_stops - point.flash_stops,
                focus.blur_limit,
            )
        )
    return tuple(found)


def _longest(point: PointLight, burning: dict[str, float]) -> float | None:
    """The longest t0.1 among the flashes that count at a point [s]; None where none does."""
    times = [
        burning[at.light] for at in point.lights if at.light in burning and at.stops > point.flash_stops - COUNTS
    ]
    return max(times, default=None)


def motion_in_words(motion: Motion, shutter: float) -> str:
    """What comes of someone who moves: ``Ana at 1.4 m/s: the flash leaves 1.8 mm, 12 µm on the film; ...``."""
    said = f"{motion.name} at {motion.speed:g} m/s: "
    if motion.frozen is not None and motion.frozen_on_film is not None:
        sharp = "sharp" if motion.frozen_on_film <= motion.limit else "smeared"
        said += f"the flash leaves {_lengths(motion.frozen, motion.frozen_on_film)}, {sharp}; "
    ghost = _lengths(motion.ghost, motion.ghost_on_film)
    if motion.ghost_stops == -math.inf:
        return f"{said}no ambient light draws a ghost"
    if motion.frozen is None:
        sharp = "sharp" if motion.ghost_on_film <= motion.limit else "smeared"
        return f"{said}{shutter_mark(shutter)} s leaves {ghost}, {sharp}"
    said += f"the ambient, {stops_in_words(motion.ghost_stops)} against the flash, draws {ghost}"
    if not motion.shows:
        return f"{said}: not seen"
    return f"{said}: seen as a ghost; second curtain puts it behind the movement, first curtain before it"


def _lengths(length: float, on_film: float) -> str:
    return f"{length * 1e3:.1f} mm, {on_film * 1e6:.0f} µm on the film"


def sync_in_words(shot: Shot, light: LightPlan) -> tuple[str, ...]:
    """How shutter and flash go together, a sentence each; nothing for a shot without flash."""
    burning = burning_of(shot, light)
    if not burning:
        return ()
    shutter, sync = shutter_mark(light.shutter), shutter_mark(shot.body.sync)
    times = ", ".join(f"{b.name} {_part_of_a_second(b.t01)}" for b in burning)
    said = [f"t0.1 at these powers: {times}"]
    if flash_loss_above_sync(light.shutter, shot.body.sync) > 0:
        if any(not placed.strobe.high_speed for placed in shot.lights if not placed.strobe.steady):
            lit = light.shutter / shot.body.sync
            said.append(f"at {shutter}, above sync ({sync}), one flash lights a band of {lit:.0%} of the film alone")
        else:
            said.append(f"at {shutter}, above sync ({sync}), the high-speed mode; it freezes by the shutter")
        return tuple(said)
    relation = "the sync speed" if shutter == sync else f"slower than sync ({sync})"
    said.append(f"shutter {shutter}, {relation}: the whole film is open when the flash fires")
    said += [
        f"the shutter cuts {b.cut_stops:.1f} stops off the tail of {b.name}" for b in burning if b.cut_stops >= 0.05
    ]
    return tuple(said)


def _part_of_a_second(seconds: float) -> str:
    return f"1/{round(1 / seconds)} s"
