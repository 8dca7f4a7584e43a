"""What is asked of a balance of lights, what the kit can do, and what the solver answers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.light.power import marked_powers, power_in_words
from sidelong.light.values import Strobe
from sidelong.units import f_mark, iso_mark, shutter_mark

Array = NDArray[np.float64]

ALL, FLASH, AMBIENT = "all", "flash", "ambient"
"""Names of sums of lights, beside the lights' own."""


@dataclass(frozen=True)
class LitPoints:
    """What a card at each point gets: `flash` (P, H) from each head at full power [lx s], `steady` (P, A) from each
    steady light [lx]; with the names of points, heads and steady lights. `burning` (H,): heads that are no flash but
    a lamp whose power can be set, its `flash` in [lx]; none when left out."""

    points: tuple[str, ...]
    heads: tuple[str, ...]
    steady_names: tuple[str, ...]
    flash: Array
    steady: Array
    burning: tuple[bool, ...] = ()

    @property
    def lamps(self) -> NDArray[np.bool_]:
        """Which heads burn steadily (H,)."""
        return np.array(self.burning or (False,) * len(self.heads), bool)

    def heads_of(self, wish: LightWish) -> NDArray[np.bool_]:
        """Which heads (H,) a wish is about."""
        own = np.array([wish.of in (ALL, name) for name in self.heads], bool)
        return own | (~self.lamps if wish.of == FLASH else self.lamps & (wish.of == AMBIENT))

    def steady_of(self, wish: LightWish) -> NDArray[np.bool_]:
        """Which steady lights (A,) a wish is about."""
        return np.array([wish.of in (ALL, AMBIENT, name) for name in self.steady_names], bool)


@dataclass(frozen=True)
class LightWish:
    """A card at `point` (its index) shall come out at `stops` from middle grey, by the light named in `of`: a head,
    a steady light, "flash", "ambient" or "all". `at_most`: not above that; `at_least`: not below. A miss counts
    `weight` times: at 0.5 it may be twice as large."""

    point: int
    stops: float
    of: str = ALL
    weight: float = 1.0
    at_most: bool = False
    at_least: bool = False


@dataclass(frozen=True)
class Outermost:
    """How far the camera itself goes, beyond what the balance may choose: the lowest and highest ISO, the widest and
    smallest stop, the longest shutter [s]. Ways out end there."""

    iso: tuple[float, float] = (0.0, math.inf)
    f_number: tuple[float, float] = (0.0, math.inf)
    longest: float = math.inf


@dataclass(frozen=True)
class Means:
    """What can be set. `powers`: each head's marked fractions of full, 0 where it may be off; `energy` of each at
    full [J]; `shutters` [s]; `isos` that the picture bears; `f_numbers` that the focus allows; `nd` in hand [stops];
    all true values. `bellows` as in exposure.bellows_factor. Shutters shorter than `sync` [s] take the heads' pulsed
    mode and its loss."""

    powers: tuple[tuple[float, ...], ...]
    energy: tuple[float, ...]
    shutters: tuple[float, ...]
    isos: tuple[float, ...]
    f_numbers: tuple[float, ...]
    nd: tuple[float, ...] = (0.0,)
    bellows: float = 1.0
    sync: float = 0.0
    outermost: Outermost = Outermost()


@dataclass(frozen=True)
class WayOut:
    """A change that makes every wish met: what it is in words, its `stops`, the settings it then takes; its `kind`
    (nd, iso, scrim, stop, closer, shutter, later, wish), the `head` it is about, the `price` of a stop of it. Of two
    changes together this is the second, `first` the other, and `means` what may be set after it."""

    words: str
    stops: float
    settings: Settings
    kind: str = ""
    head: int | None = None
    price: float = 1.0
    first: WayOut | None = None
    means: Means | None = None


@dataclass(frozen=True)
class Settings:
    """Marked settings, true values: `shutter` [s], `nd` [stops], `powers` (H,) fractions, `energy` of all [J]."""

    shutter: float
    iso: float
    f_number: float
    nd: float
    powers: tuple[float, ...]
    energy: float


@dataclass(frozen=True)
class Balance:
    """The settings found. `misses` (W,): by how many stops each wish is over (+) or under (-), 0 for an `at_most`
    kept; `worst` the largest of them, weighted; `bound`: no marked setting has a smaller one; `gap` between the two.
    `met`: all within half a step, weighted. If not, `obstacles` name the wishes (`stuck`) and the `limits` that stand
    against each other and `ways_out` what would do, the cheapest first. `sentence` says it in words. [stops]"""

    settings: Settings
    misses: Array
    worst: float
    bound: float
    gap: float
    met: bool
    sentence: str
    obstacles: tuple[str, ...] = ()
    ways_out: tuple[WayOut, ...] = ()
    stuck: tuple[LightWish, ...] = ()
    limits: tuple[str, ...] = ()


def settable_powers(strobe: Strobe, may_be_off: bool = False) -> tuple[float, ...]:
    """The fractions of full that a head can be set to: its marks; tenths of a stop for a dial without steps, finer
    than any meter. [-]"""
    off = (0.0,) if may_be_off else ()
    if strobe.step_stops > 0:
        return (*marked_powers(strobe), *off)
    tenths = range(math.floor(strobe.range_stops * 10 + 1e-6) + 1)
    return (*dict.fromkeys([*(2.0 ** (-k / 10) for k in tenths), 2.0**-strobe.range_stops]), *off)


def check_balance(lit: LitPoints, wishes: tuple[LightWish, ...], means: Means) -> None:
    """That all of it fits together.

    Raises
    ------
    InputFault
        Arrays and names of unequal length, a wish for a point or light that is not there, nothing to set, a value
        that is not above 0.
    """
    points, heads = len(lit.points), len(lit.heads)
    if len(lit.lamps) != heads:
        raise InputFault(f"of each of the {heads} heads it was expected to be told whether it burns steadily")
    if lit.flash.shape != (points, heads) or lit.steady.shape != (points, len(lit.steady_names)):
        raise InputFault(
            f"{points} points need flash of {heads} heads and {len(lit.steady_names)} steady lights; found arrays "
            f"of {lit.flash.shape} and {lit.steady.shape}"
        )
    if not (np.all(lit.flash >= 0) and np.all(lit.steady >= 0)):
        raise InputFault("light is 0 or more, but a negative one was found")
    if len(means.powers) != heads or len(means.energy) != heads or not all(means.powers):
        raise InputFault(f"powers and the energy of each of the {heads} heads were expected")
    if any(p < 0 for marks in means.powers for p in marks):
        raise InputFault("a power is a fraction of full, 0 or more")
    for name, marks in (("shutter", means.shutters), ("ISO", means.isos), ("stop", means.f_numbers)):
        if not marks or min(marks) <= 0:
            raise InputFault(f"one {name} above 0 or more were expected to choose from")
    if not means.nd:
        raise InputFault("at least nd = (0,), no neutral density, was expected")
    for wish in wishes:
        known = (ALL, FLASH, AMBIENT, *lit.heads, *lit.steady_names)
        if wish.of not in known or not 0 <= wish.point < points or not 0 < wish.weight <= 100:
            raise InputFault(
                f'a wish for "{wish.of}" at point {wish.point}, weight {wish.weight:g}: expected one of '
                f"{', '.join(known)}, a point from 0 to {points - 1}, a weight above 0, up to 100"
            )
        if wish.at_most and wish.at_least:
            raise InputFault("a wish is for at most or for at least so many stops, not both")


def wish_in_words(lit: LitPoints, wish: LightWish) -> str:
    """A wish as it would be said: ``key +0.5 at Ana``, ``ambient not above -2.0 at the window``."""
    what = {ALL: "all light", FLASH: "flash", AMBIENT: "ambient"}.get(wish.of, wish.of)
    bound = "not above " if wish.at_most else "not below " if wish.at_least else ""
    return f"{what} {bound}{wish.stops:+.1f} at {lit.points[wish.point]}"


def settings_in_words(lit: LitPoints, settings: Settings) -> str:
    """Settings as they are dialled: ``f/5.6, 1/200 s, ISO 100, key 1/4 + 1/3``."""
    camera = f"f/{f_mark(settings.f_number)}, {shutter_mark(settings.shutter)} s, ISO {iso_mark(settings.iso)}"
    dense = f", ND {settings.nd:g} stops" if settings.nd else ""
    heads = [
        f"{name} {power_in_words(power) if power > 0 else 'off'}"
        for name, power in zip(lit.heads, settings.powers, strict=True)
    ]
    return ", ".join([camera + dense, *heads])
