"""What is asked of a movement, and what a solver answers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.values import Lens, Setting

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Wish:
    """Points wanted sharp (S, 3) and soft (K, 3), body frame [m], and the blur allowed to the sharp ones.

    `blur_limit`: full major axis on the film [m]. `f_number`: true, None to choose one. `rise`, `shift` [m] hold.
    `marks`: the true f-numbers that the lens marks, ascending.
    """

    lens: Lens
    sharp: Array
    soft: Array
    blur_limit: float
    marks: tuple[float, ...]
    f_number: float | None = None
    rise: float = 0.0
    shift: float = 0.0


@dataclass(frozen=True)
class Answer:
    """The setting found; `widest_f` the least true f-number at which all sharp points are within the limit, over
    every movement the lens has; `widest_f_proved` a value that no movement undercuts (None: not proved);
    `soft_least` the least major axis among the soft points at the chosen stop [m], None without any;
    `residuals` (S,) the sharp points' blur over the limit [-]; `sentence` says it in words."""

    setting: Setting
    widest_f: float
    widest_f_proved: float | None
    soft_least: float | None
    soft_least_proved: float | None
    residuals: Array
    sentence: str
