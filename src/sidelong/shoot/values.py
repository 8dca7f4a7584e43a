"""A whole shoot, composed: what `load` gives and what the plan works from. SI, true values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Literal

from sidelong.lens.values import Film, Lens, Movement
from sidelong.light.values import Bounce, Gel, Modifier, Strobe
from sidelong.people.values import Person
from sidelong.place.values import Mark, Place, Vector

Support = Literal["tripod", "monopod", "hand"]


@dataclass(frozen=True)
class Owned:
    """What any piece of kit may carry: whether it is owned, its rent a day, its weight. [-, currency, kg]"""

    owned: bool = True
    rent_per_day: float = 0.0
    weight: float = 0.0


@dataclass(frozen=True)
class Body:
    """A camera body. Shutter and sync are true times [s]; iso the true speeds it has, lowest and highest."""

    id: str
    film: Film
    iso: tuple[float, float] = (100.0, 6400.0)
    sync: float = 2 ** (-23 / 3)
    shutter: tuple[float, float] = (2.0 ** (-36 / 3), 32.0)


@dataclass(frozen=True)
class Power:
    """A mains outlet, battery or generator. [W, Wh] `at` its place, None where it has none [m]; `cable` the length
    of the cable to each head, None where that is not stated [m]."""

    id: str
    kind: Literal["mains", "battery", "generator"] = "mains"
    watts: float | None = None
    watt_hours: float | None = None
    at: Vector | None = None
    cable: float | None = None


@dataclass(frozen=True)
class HazeMachine:
    """A haze machine: its fluid (glycol, glycerin, oil, water) and output. [g/min]"""

    id: str
    fluid: str = "glycol"
    output: float | None = None


@dataclass(frozen=True)
class NdFilter:
    """Neutral density for the lens: the `stops` that it holds back."""

    id: str
    stops: float


@dataclass(frozen=True)
class Kit:
    """All the kit, each by its id, and `owned` for every id."""

    bodies: dict[str, Body]
    lenses: dict[str, Lens]
    strobes: dict[str, Strobe]
    modifiers: dict[str, Modifier]
    gels: dict[str, Gel]
    power: dict[str, Power]
    haze: dict[str, HazeMachine]
    owned: dict[str, Owned]
    filters: dict[str, NdFilter] = field(default_factory=dict)
    lamps: dict[str, Strobe] = field(default_factory=dict)
    """Steady ones, as heads whose energy is their watts."""

    @property
    def heads(self) -> dict[str, Strobe]:
        """Strobes and lamps together."""
        return {**self.strobes, **self.lamps}


@dataclass(frozen=True)
class Target:
    """What a light should give alone: `who` gets `stops` from middle grey."""

    who: str
    stops: float


@dataclass(frozen=True)
class ShotLight:
    """A strobe as one shot uses it. `power` is a fraction of full energy, None when `target` asks for it."""

    strobe: Strobe
    at: Vector
    aim: Vector
    modifier: Modifier | None = None
    gels: tuple[Gel, ...] = ()
    power: float | None = None
    target: Target | None = None
    bounce: Bounce | None = None
    reach: tuple[float, float] | None = None
    """Nearest and farthest that it may stand from its aim, on the line to where it stands. [m]"""


@dataclass(frozen=True)
class StandingSheet:
    """What stands in the light: its pieces from the far side to the near one, its middle, the point that the near
    side faces, its size. Place frame [m]."""

    pieces: tuple[Modifier | Gel, ...]
    at: Vector
    to: Vector
    size: tuple[float, float]


@dataclass(frozen=True)
class CameraStand:
    """Where the camera stands and looks, and what carries it. Place frame [m]."""

    at: Vector
    aim: Vector
    level: bool = False
    support: Support = "tripod"
    framing: float | None = None
    """How far a found movement may carry an image, as a fraction of the picture's width; None: any. [-]"""


@dataclass(frozen=True)
class WishOfLight:
    """A card at `who` (a person, a mark, or a window as it is seen itself) shall come out at `stops` by the light
    named, within so many; `bound`: "at" them, "at_most" or "at_least"."""

    who: str
    light: str
    stops: float
    bound: str = "at"
    within: float = 1 / 6


@dataclass(frozen=True)
class WishOfColour:
    """A head's light shall have this colour temperature [K], within so many mireds: its gels are chosen."""

    light: str
    kelvin: float
    within_mired: float = 15.0


@dataclass(frozen=True)
class Freedom:
    """What the balance may choose, as ranges of true values; None is fixed. `filters`: any of the kit's ND."""

    shutter: tuple[float, float] | None = None
    iso: tuple[float, float] | None = None
    f_number: tuple[float, float] | None = None
    filters: bool = False


@dataclass(frozen=True)
class Shot:
    """One picture. `movement` None asks for a solution; `focus_on` is a point's name; angles [rad], times [s]."""

    id: str
    brief: str
    when: datetime
    body: Body
    lens: Lens
    camera: CameraStand
    sharp: tuple[str, ...]
    soft: tuple[str, ...]
    movement: Movement | None
    focus_on: str | None
    rise_shift: tuple[float, float]
    """Rise and shift [m], given even when the movement is to be solved."""
    f_number: float | None
    """True; None asks for a solution."""
    blur_limit: float
    """Full major axis on the film. [m]"""
    shutter: float | None
    """True time; None asks for the one that meets `ambient`. [s]"""
    iso: float
    balance: float
    """Colour temperature that goes neutral. [K]"""
    ambient: float | None
    lights: tuple[ShotLight, ...]
    focus_stated: bool = False
    """Whether the file itself names `focus_on`; else it is the first that offers itself."""
    wishes: tuple[WishOfLight, ...] = ()
    colour_wishes: tuple[WishOfColour, ...] = ()
    free: Freedom | None = None
    """What the balance may choose; None for a shot without wishes."""
    filters: tuple[NdFilter, ...] = ()
    """ND on the lens."""
    sheets: tuple[StandingSheet, ...] = ()
    frames: int | None = None
    """How many frames will be taken; None where it is not stated."""
    parts: Mapping[str, str] = field(default_factory=dict)
    """Which part of someone sharp or soft counts, "face" or "figure", by name; the eyes of all others."""
    least: Mapping[str, float] = field(default_factory=dict)
    """The least blur [m] of soft ones that state one, by name; the others as soft as can be."""


@dataclass(frozen=True)
class Reading:
    """What a meter said: where, which light (None: all), in stops from middle grey or lux (seconds). `power` that a
    strobe was set to, None for what is planned without readings."""

    shot: str | None
    who: str
    light: str | None
    value: float
    unit: str
    power: float | None = None


@dataclass(frozen=True)
class Shoot:
    """The whole shoot."""

    folder: Path
    title: str
    client: str
    brief: str
    imperial: bool
    place: Place
    marks: tuple[Mark, ...]
    people: tuple[Person, ...]
    kit: Kit
    shots: tuple[Shot, ...]
    readings: tuple[Reading, ...]
