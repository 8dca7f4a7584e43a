"""The stop that a set lens needs for given points to be within a blur."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Setting

FASTEST = 0.7
"""Ellipses are not computed for apertures wider than this; a smaller f-number is scaled from here. [-]"""
_NOTHING = 0.05
"""A stop under this, a tenth of what any lens can open to, only tells of rounding: the points are sharp at any
aperture. [-]"""


def stop_needed(setting: Setting, points: NDArray[np.float64], limit: float) -> float:
    """Least true f-number at which points (N, 3), body frame [m], all have major axes within `limit` [m].

    Blur is nearly as one over N; four rounds of that rule on the exact ellipse settle it to 1e-12.
    """
    f_number = max(setting.f_number, FASTEST)
    for _ in range(4):
        trial = max(f_number, FASTEST)
        worst = float(np.max(blur(geometry_of(replace(setting, f_number=trial)), points).major))
        f_number = trial * worst / limit
    return f_number if f_number > _NOTHING else 0.0
