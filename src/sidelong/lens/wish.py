"""What is asked of a movement, and what a solver answers."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.values import Lens, Setting

Array = NDArray[np.float64]


def _nothing() -> Array:
    return np.zeros((0, 3))


@dataclass(frozen=True)
class Framing:
    """Where points (F, 3), body frame [m], shall be imaged: `images` (F, 2), upright from the film's centre [m], to
    within `room` across and up each [m]."""

    points: Array
    images: Array
    room: float


@dataclass(frozen=True)
class Wish:
    """Points wanted sharp (S, 3) and soft (K, 3), body frame [m], and the blur allowed to the sharp ones.

    `blur_limit`: full major axis on the film [m]. `f_number`: true, None to choose one. `rise`, `shift` [m] hold,
    unless there is a `framing`: then the lens's shift may correct them. `marks`: the true f-numbers that the lens
    marks, ascending. `least` (K,): the least major axis of each soft point [m], 0 for as soft as can be; None: all
    as soft as can be. `bodies` (K,): soft points of one number keep to one side of the plane of focus; None: each
    for itself. `lit` (L, 3): points, body frame [m], whose images the image circle must hold.
    """

    lens: Lens
    sharp: Array
    soft: Array
    blur_limit: float
    marks: tuple[float, ...]
    f_number: float | None = None
    rise: float = 0.0
    shift: float = 0.0
    least: Array | None = None
    bodies: NDArray[np.int64] | None = None
    framing: Framing | None = None
    lit: Array = field(default_factory=_nothing)

    @property
    def least_blurs(self) -> Array:
        """`least`, 0 for each where it is None: (K,). [m]"""
        return np.zeros(len(self.soft)) if self.least is None else np.asarray(self.least, float)

    @property
    def sides_of(self) -> NDArray[np.int64]:
        """`bodies`, each point for itself where it is None: (K,). [-]"""
        return np.arange(len(self.soft)) if self.bodies is None else np.asarray(self.bodies)

    @property
    def rise_shift(self) -> tuple[float, float]:
        """[m]"""
        return self.rise, self.shift

    @property
    def corrects(self) -> bool:
        """Whether shift and rise may correct the framing."""
        return self.framing is not None and self.lens.shift > 0.0


@dataclass(frozen=True)
class Answer:
    """The setting found; `widest_f` the least true f-number at which all sharp points are within the limit, over
    every setting the lens has; `widest_f_proved` a value that no setting undercuts (None: not proved);
    `soft_least` the least major axis among the points wanted as soft as can be at the chosen stop (with none of them,
    among all soft ones) [m], None without any; `residuals` (S,) the sharp points' blur over the limit, and
    `soft_residuals` (K,) the soft points' blur over their least, inf for those without one [-]; `sentence` says it in
    words."""

    setting: Setting
    widest_f: float
    widest_f_proved: float | None
    soft_least: float | None
    soft_least_proved: float | None
    residuals: Array
    sentence: str
    soft_residuals: Array = field(default_factory=lambda: np.zeros(0))
