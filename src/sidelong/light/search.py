"""When a function of time crosses a level: a grid finds the crossings, halving narrows them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]


def crossings(
    function: Callable[[Values], Values], grid: Values, values: Values, level: float, tolerance: float = 0.01
) -> tuple[Values, NDArray[np.bool_]]:
    """Instants at which a continuous function of time crosses a level, and whether upwards.

    Parameters
    ----------
    function : from instants (N,) [s] to values (N,)
    grid, values : (G,) float arrays
        Instants, ascending [s], and the function there; a crossing and its return between two of them are missed.
    level : float
        In the function's unit [its own].
    tolerance : float
        [s]

    Returns
    -------
    instants : (K,) float array, ascending [s]
    rising : (K,) bool array
    """
    above = values >= level
    where = np.flatnonzero(above[1:] != above[:-1])
    low, high, rising = grid[where], grid[where + 1], above[where + 1]
    width = float(np.max(high - low)) if where.size else 0.0
    while width > tolerance:
        middle = (low + high) / 2
        passed = (function(middle) >= level) == rising
        low, high = np.where(passed, low, middle), np.where(passed, middle, high)
        width /= 2
    return (low + high) / 2, rising
