"""A planned shot: everything the card, the table, the picture and the book are drawn from. SI, true values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.colour.light_colour import LightColour
from sidelong.frames_of_reference import BodyFrame
from sidelong.lens.values import Setting
from sidelong.light.balance_wish import Balance, LightWish, LitPoints, Means
from sidelong.light.values import Daylight, Gel
from sidelong.plan.chance import ShotChance
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.values import Stage, View

Points = NDArray[np.float64]


@dataclass(frozen=True)
class PointFocus:
    """How one person or mark comes out. `at` place frame [m]; blurs are full axes, on the film [m]; `blur_angle`
    of the major axis from the picture's x towards y [rad]; `image` upright, from the film's centre [m]; None
    where a point lies behind the camera."""

    name: str
    kind: Literal["person", "mark"]
    at: tuple[float, float, float]
    wanted: Literal["sharp", "soft", "free"]
    blur_major: float | None
    blur_minor: float | None
    blur_angle: float | None
    blur_at_subject: float | None
    image: tuple[float, float] | None
    in_picture: bool
    in_circle: bool
    keep: float | None
    falloff_stops: float | None
    """Light lost here against the middle of an unmoved lens at the same bellows. [stops, <= 0]"""


@dataclass(frozen=True)
class PartFocus:
    """A point of somebody's face or figure, `where` on them, that a shot wants sharp or soft: major axis on the film,
    nan behind the camera. [m]"""

    name: str
    where: str
    wanted: Literal["sharp", "soft"]
    blur_major: float


@dataclass(frozen=True)
class WishReached:
    """What a shot asks of one name and what comes of it: the blur `limit` of a sharp one, the least of a soft one
    (None: as soft as can be), and the worst blur of the `part` that counts, on the film. [m]"""

    name: str
    wanted: Literal["sharp", "soft"]
    part: str
    limit: float | None
    reached: float

    @property
    def short(self) -> float:
        """By how much it is missed; 0 when it is met, as it counts to a millionth. [m]"""
        if self.limit is None:
            return 0.0
        over = self.reached - self.limit if self.wanted == "sharp" else self.limit - self.reached
        return over if over > 1e-6 * self.limit else 0.0


@dataclass(frozen=True)
class FocusPlan:
    """The lens as it must be set and what that makes of everyone.

    `axis` and `principal_point` body frame; `film_distance` from principal point to film along the film's normal;
    `ring` what to set on the scale of an unmoved lens, its error included, None for infinity; `plane_normal` . X =
    `plane_offset`, place frame, through the point focused on; `hinge` = distance f / sin(movement), `hinge_line` a
    point and a unit direction, place frame; both None when unmoved.
    `solved` says whether the movement (or the stop) was found here.
    """

    frame: BodyFrame
    setting: Setting
    axis: Points
    principal_point: Points
    film_distance: float
    ring: float | None
    plane_normal: Points
    plane_offset: float
    hinge: float | None
    hinge_line: tuple[Points, Points] | None
    focus_on: str
    points: tuple[PointFocus, ...]
    blur_limit: float
    bellows_stops: float
    airy: float
    pixel: float
    widest_f: float | None
    widest_f_proved: float | None
    soft_least: float | None
    soft_least_proved: float | None
    chance: ShotChance
    solved: bool
    order: tuple[str, ...]
    """What to do on the set, step by step, in words."""
    reached: tuple[WishReached, ...] = ()
    parts: tuple[PartFocus, ...] = ()

    @property
    def frames_to_take(self) -> int | None:
        """Frames for 95 chances in a hundred that all the sharp ones are sharp in one; None where no number will do
        or nobody is to be sharp."""
        return self.chance.frames_95


@dataclass(frozen=True)
class LightAtPoint:
    """One light at one point: `flat` and `dome` [lx or lx s], `stops` from middle grey, and their errors."""

    light: str
    flash: bool
    flat: float
    flat_error: float
    dome: float
    dome_error: float
    stops: float
    stops_error: float


@dataclass(frozen=True)
class PointLight:
    """All lights at one person or mark. `-inf` stops where nothing arrives."""

    name: str
    lights: tuple[LightAtPoint, ...]
    total_stops: float
    ambient_stops: float
    flash_stops: float


@dataclass(frozen=True)
class HeadSetting:
    """What a strobe is set to: `power` fraction, stops under full, energy [J], and what was asked and missed. Of a
    lamp that burns `steady`, the energy is what it draws, dimmed in proportion to its light [W]."""

    name: str
    power: float
    power_stops: float
    energy: float
    wanted: str
    miss_stops: float
    note: str = ""
    steady: bool = False


@dataclass(frozen=True)
class LearnedLight:
    """What the day's readings say of a light, or of the "place" (its reflected light): `stops` over what the kit
    promises, one `sigma` [stops], how many `readings` took part, and in words those that were left out; `taught_in`:
    the other shots whose readings say something of it."""

    light: str
    stops: float
    sigma: float
    readings: int
    outliers: tuple[str, ...] = ()
    taught_in: tuple[str, ...] = ()


@dataclass(frozen=True)
class WishOutcome:
    """A wish for the light and what comes of it: in words, at whom, by which light, `wanted` stops ("at", "at_most"
    or "at_least" them), what it `got`, by how much it is missed (+ over), within what that is met. [stops]"""

    words: str
    who: str
    light: str
    wanted: float
    bound: str
    got: float
    miss: float
    within: float
    error: float = 0.0
    """One sigma of what it got, from the meter's light paths. [stops]"""

    @property
    def met(self) -> bool:
        """Whether it is missed by no more than it may."""
        return abs(self.miss) <= self.within + 1e-6


@dataclass(frozen=True)
class ColourOutcome:
    """A wish for a head's colour: the temperature wanted and got [K], how far off that is [mired, distance from the
    locus included], within what it counts as met, and the gels that make it."""

    light: str
    wanted: float
    got: float
    off: float
    within: float
    gels: tuple[Gel, ...]

    @property
    def met(self) -> bool:
        """Whether it is missed by no more than it may."""
        return self.off <= self.within + 1e-6


@dataclass(frozen=True)
class BalancePlan:
    """How a shot's wishes were met together: the solver's `answer`, what it was `asked` about which light with which
    `means`, each wish's outcome, the `shot` with all that was found put in, and in words what else was changed."""

    answer: Balance
    lit: LitPoints
    asked: tuple[LightWish, ...]
    means: Means
    wishes: tuple[WishOutcome, ...]
    shot: Shot
    colours: tuple[ColourOutcome, ...] = ()
    changes: tuple[str, ...] = ()

    @property
    def met(self) -> bool:
        """Whether every wish is met."""
        return all(wish.met for wish in self.wishes) and all(colour.met for colour in self.colours)


@dataclass(frozen=True)
class LightPlan:
    """Exposure and light of a shot. `shutter` true [s]. `learned`: every light and the place, empty without
    readings; all figures are by what was learned. `nd` on the lens [stops]; `balance` for a shot with wishes."""

    shutter: float
    iso: float
    daylight: Daylight | None
    heads: tuple[HeadSetting, ...]
    points: tuple[PointLight, ...]
    notes: tuple[str, ...]
    learned: tuple[LearnedLight, ...] = ()
    nd: float = 0.0
    balance: BalancePlan | None = None

    @property
    def speed(self) -> float:
        """The true ISO speed behind the ND: what the film counts by in all that is computed without it."""
        return self.iso / float(2.0**self.nd)


@dataclass(frozen=True)
class ShotPlan:
    """A shot put together. `stage` and `view` are what the picture is traced from."""

    shoot: Shoot
    shot: Shot
    focus: FocusPlan
    light: LightPlan
    colours: tuple[LightColour, ...]
    stage: Stage
    view: View
