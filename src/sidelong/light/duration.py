"""How long a flash burns, and how much of it a shutter catches.

A capacitor's discharge through a tube falls off exponentially. t0.1 is the time above a tenth of the peak, t0.5 above
half: t0.1 / t0.5 = log2 10 = 3.3219.

Source
------
iso2827 (definitions); the exponential is common practice for heads that are not cut off electronically
"""

from __future__ import annotations

import math


def t01_at(full: float, lowest: float | None, range_stops: float, power: float) -> float:
    """t0.1 at a power [-] of a head whose t0.1 at full and at its lowest power are known [s]; even in stops between
    (measured curves are nearly straight on such paper). `lowest` None: the same at every power. [s]
    """
    if lowest is None or range_stops <= 0:
        return full
    share = min(max(-math.log2(power) / range_stops, 0.0), 1.0) if power > 0 else 1.0
    return float(full * (lowest / full) ** share)


def half_duration(t01: float) -> float:
    """t0.5 of a flash of duration t0.1, both in seconds, its light falling exponentially. [s]"""
    return t01 / math.log2(10.0)


def share_caught(shutter: float, t01: float) -> float:
    """Part of a flash's light that reaches the film while a shutter of this true time is open from its start. [-]

    1 - 10^(-t / t0.1): a shutter as long as t0.1 loses a tenth (0.15 stop).
    """
    return -math.expm1(-math.log(10.0) * shutter / t01)


def stops_cut(shutter: float, t01: float) -> float:
    """Stops of flash that a shutter cuts off its tail, 0 or more. [stops]"""
    return -math.log2(share_caught(shutter, t01))


def frozen_speed(blur: float, t01: float) -> float:
    """How fast something may move across the view without smearing more than `blur` [m] in t0.1 [s]. [m/s]"""
    return blur / t01
