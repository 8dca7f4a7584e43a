"""The power settings that a head has, and the one nearest to what is wanted."""

from __future__ import annotations

import math

from sidelong.errors import OutOfPower
from sidelong.light.values import Strobe


def marked_powers(strobe: Strobe) -> tuple[float, ...]:
    """Power fractions that the head can be set to, from full down, in its steps; both ends of its range. [-]

    A step of 0 is a dial without stops: only the ends are returned.
    """
    if strobe.step_stops <= 0:
        return (1.0, 2.0**-strobe.range_stops)
    count = math.floor(strobe.range_stops / strobe.step_stops + 1e-6)
    stops = [k * strobe.step_stops for k in range(count + 1)]
    if strobe.range_stops - stops[-1] > 1e-6:
        stops.append(strobe.range_stops)
    return tuple(2.0**-s for s in stops)


def nearest_power(strobe: Strobe, wanted: float) -> float:
    """The marked power nearest, in stops, to a wanted fraction of full energy. [-]

    Half a step beyond either end is still met by the end.

    Raises
    ------
    OutOfPower
        More than full or less than the lowest by over half a step. `figures` holds `wanted_stops` (from full),
        `miss_stops` (positive: short of light; negative: too much) and `power` (the end that is nearest).
    """
    stops = -math.log2(wanted) if wanted > 0 else math.inf
    slack = max(strobe.step_stops / 2, 0.01) + 1e-9
    if stops < -slack:
        raise _beyond(strobe, stops, 1.0, -stops)
    if stops > strobe.range_stops + slack:
        raise _beyond(strobe, stops, 2.0**-strobe.range_stops, strobe.range_stops - stops)
    if strobe.step_stops <= 0:
        return float(min(max(wanted, 2.0**-strobe.range_stops), 1.0))
    return min(marked_powers(strobe), key=lambda p: abs(math.log2(p) + stops))


def power_in_words(power: float) -> str:
    """A power as heads show it: ``full``, ``1/4``, ``1/4 + 1/3`` (a third of a stop more), ``1/4 + 0.7``."""
    stops = -math.log2(power)
    if stops < 0.02:
        return "full"
    whole = math.ceil(stops - 0.02)
    over = whole - stops
    base = f"1/{2**whole}"
    if over < 0.02:
        return base
    for text, size in (("1/3", 1 / 3), ("2/3", 2 / 3)):
        if abs(over - size) < 0.02:
            return f"{base} + {text}"
    return f"{base} + {over:.1f}"


def _beyond(strobe: Strobe, stops: float, power: float, miss: float) -> OutOfPower:
    figures = {"wanted_stops": -stops, "miss_stops": miss, "power": power, "energy_j": strobe.energy * power}
    if miss > 0:
        return OutOfPower(
            f'strobe "{strobe.id}" has {strobe.energy:g} J at full power, {miss:.1f} stops less than is asked',
            figures,
            f"at full power it falls {miss:.1f} stops short; bring it to {2 ** (-miss / 2):.2f} of the "
            f"distance (a large front nearer still), open the lens by {miss:.1f} stops, or fire it "
            f"{math.ceil(2**miss)} times",
        )
    return OutOfPower(
        f'strobe "{strobe.id}" goes down to {power_in_words(power)}, {-miss:.1f} stops more than is asked',
        figures,
        f"at its lowest it gives {-miss:.1f} stops too much; move it to {min(2 ** (-miss / 2), 99.0):.2f} times the "
        f"distance, or hang {-miss:.1f} stops of scrim or neutral gel before it",
    )
