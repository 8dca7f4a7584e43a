"""How long the haze takes to come and to go, in words: what is printed beside the light of a shot."""

from __future__ import annotations

import math

from sidelong.errors import Impossible
from sidelong.light.haze import concentration_of, decay_time, time_to_reach, visibility
from sidelong.light.plume import centreline
from sidelong.shoot.values import HazeMachine, Shoot

USUAL_CHANGES = 1.0 / 3600.0
"""Air changes of a room that states none: an old building with its doors shut; common practice, no source. [1/s]"""


def haze_words(shoot: Shoot) -> tuple[str, ...]:
    """Sentences on a place's haze: how thick, how long each machine runs for it, how long it stays; on its plume.

    Empty in clear air. In the open the time to reach it is not told: the wind takes it.
    """
    air = shoot.place.air
    found = []
    if air.extinction > 0:
        found.append(_thickness(shoot))
        volume = sum(math.prod(room.size) for room in shoot.place.rooms)
        if volume > 0:
            machines = [m for m in shoot.kit.haze.values() if m.output]
            found += [_running(machine, volume, shoot) for machine in machines]
            found.append(_staying(shoot))
    if air.plume is not None:
        plume = air.plume
        dense = centreline(plume, min(2.0, math.dist(plume.at, plume.to)))
        seconds = math.dist(plume.at, plume.to) / plume.drift
        found.append(
            f"plume: {dense:.2g} per metre on its axis 2 m from the machine, at the opening {seconds:.0f} s after it "
            f"is switched on, gone as long after it is off, while the air drifts at {plume.drift:g} m/s"
        )
    return tuple(found)


def _changes(shoot: Shoot) -> float:
    return USUAL_CHANGES if shoot.place.air.changes is None else shoot.place.air.changes


def _thickness(shoot: Shoot) -> str:
    extinction = shoot.place.air.extinction
    milligrams = concentration_of(extinction) * 1e3
    return (
        f"haze of {extinction:g} per metre, about {milligrams:.1f} mg/m³ of glycol within a factor of two: "
        f"a dark thing is lost at {visibility(extinction):.0f} m"
    )


def _running(machine: HazeMachine, volume: float, shoot: Shoot) -> str:
    """How long a machine runs from clear air, or why it cannot; droplets of glycol are taken for every fluid."""
    concentration, output = concentration_of(shoot.place.air.extinction), (machine.output or 0.0) / 60.0
    changes = _changes(shoot)
    try:
        seconds = time_to_reach(concentration, volume, output, changes)
    except Impossible as error:
        return f"{machine.id}: {error}"
    held = changes * volume * concentration * 60.0
    keep = f"; {held:.2g} g/min then keep it" if held > 0 else ""
    fills = f"{machine.id} at {machine.output:g} g/min fills {volume:.0f} m³ in {_duration(seconds)}"
    return f"{fills}; let it mix for some minutes{keep}"


def _staying(shoot: Shoot) -> str:
    changes = _changes(shoot)
    stated = "" if shoot.place.air.changes is not None else " (taken: state place.air.changes)"
    if changes <= 0:
        return "with no change of air it stays until the droplets settle, an hour or more"
    often = "once" if abs(changes * 3600 - 1) < 1e-6 else f"{changes * 3600:g} times"
    return (
        f"machine off, half of it is left after {_duration(decay_time(0.5, changes))}, a tenth after "
        f"{_duration(decay_time(0.1, changes))}, the air changed {often} an hour{stated}"
    )


def _duration(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
