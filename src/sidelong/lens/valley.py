"""The lowest point of a valley in one unknown, without a library that takes a second to load."""

from __future__ import annotations

import math
from collections.abc import Callable


def lowest(height: Callable[[float], float], low: float, high: float, within: float) -> float:
    """Where a function with one valley between `low` and `high` is lowest, to `within`: by golden sections."""
    share = (math.sqrt(5.0) - 1.0) / 2.0
    one, two = high - share * (high - low), low + share * (high - low)
    at_one, at_two = height(one), height(two)
    while high - low > within:
        if at_one <= at_two:
            high, two, at_two = two, one, at_one
            one = high - share * (high - low)
            at_one = height(one)
        else:
            low, one, at_one = one, two, at_two
            two = low + share * (high - low)
            at_two = height(two)
    return 0.5 * (low + high)
