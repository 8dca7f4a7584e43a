"""Haze in the air of a room: how far one sees, what a beam loses, how long the machine has to run.

Air is well mixed and changed at a steady rate; the haze absorbs next to nothing. Concentrations are of the fluid's
droplets that hang in the air.

Source
------
koschmieder1924 (visibility at a contrast of 2 %); the room: mass balance, derived here; the droplets' extinction from
Mie's theory for glycol droplets of about a micrometre, within a factor of two
"""

from __future__ import annotations

import math

from sidelong.errors import Impossible

EXTINCTION_PER_MASS = 3.0
"""Extinction per mass of glycol droplets, so that 10 mg/m3 make 0.03 per metre; within a factor of two. [m2/g]"""
_CONTRAST = -math.log(0.02)


def visibility(extinction: float) -> float:
    """Distance at which a dark thing against the bright has lost all but 2 % of its contrast; inf if clear. [m]

    `extinction` [1/m]. Worked: 0.03 per metre gives 130 m.
    """
    return _CONTRAST / extinction if extinction > 0 else math.inf


def stops_lost(extinction: float, distance: float) -> float:
    """Light that goes missing from a straight beam on its way, scattered out of it. [stops]

    `extinction` [1/m], `distance` [m]. What was scattered is not lost to the room: it veils.
    """
    return extinction * distance / math.log(2.0)


def extinction_of(concentration: float) -> float:
    """Extinction of glycol haze of a concentration [g/m3]; within a factor of two. [1/m]"""
    return EXTINCTION_PER_MASS * concentration


def concentration_of(extinction: float) -> float:
    """Concentration of glycol haze of an extinction [1/m]; within a factor of two. [g/m3]"""
    return extinction / EXTINCTION_PER_MASS


def time_to_reach(concentration: float, volume: float, output: float, air_changes: float) -> float:
    """How long a machine runs until a room has a concentration: -ln(1 - lambda V c / G) / lambda. [s]

    Parameters
    ----------
    concentration, volume : float
        Wanted [g/m3], and the room's [m3].
    output : float
        What the machine gives. [g/s]
    air_changes : float
        The room's air changes. [1/s]

    Raises
    ------
    Impossible
        The room loses haze as fast as the machine makes it before that concentration.
    """
    if air_changes <= 0:
        return volume * concentration / output
    highest = output / (air_changes * volume)
    if concentration >= highest:
        raise Impossible(
            f"haze of {concentration * 1000:.1f} mg/m3 was asked; "
            f"this machine holds {highest * 1000:.1f} mg/m3 in this room",
            {"wanted_g_m3": concentration, "highest_g_m3": highest},
            "close the doors, or bring a second machine",
        )
    return -math.log1p(-concentration / highest) / air_changes


def decay_time(part: float, air_changes: float) -> float:
    """How long, the machine off, until only a part of the haze [-] hangs on; `air_changes` [1/s]. [s]"""
    return -math.log(part) / air_changes if air_changes > 0 else math.inf
