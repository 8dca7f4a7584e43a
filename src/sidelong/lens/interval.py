"""Interval arithmetic on arrays, as much of it as the proofs of the lens need.

Ends are not rounded outward: a relative 1e-15 per step is far inside the safety that the proofs take off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Interval:
    """All values between `low` and `high`, arrays of one shape."""

    low: Array
    high: Array
    __array_ufunc__ = None  # numpy then leaves array - interval to __rsub__ and its like

    def __add__(self, other: Interval | ArrayLike) -> Interval:
        o = _of(other)
        return Interval(self.low + o.low, self.high + o.high)

    __radd__ = __add__

    def __neg__(self) -> Interval:
        return Interval(-self.high, -self.low)

    def __sub__(self, other: Interval | ArrayLike) -> Interval:
        return self + -_of(other)

    def __rsub__(self, other: Interval | ArrayLike) -> Interval:
        return _of(other) + -self

    def __mul__(self, other: Interval | ArrayLike) -> Interval:
        o = _of(other)
        one, two, three, four = self.low * o.low, self.low * o.high, self.high * o.low, self.high * o.high
        low = np.minimum(np.minimum(one, two), np.minimum(three, four))
        return Interval(low, np.maximum(np.maximum(one, two), np.maximum(three, four)))

    __rmul__ = __mul__

    def __truediv__(self, other: Interval | ArrayLike) -> Interval:
        """Over an interval that does not hold 0."""
        o = _of(other)
        return self * Interval(1.0 / o.high, 1.0 / o.low)

    def __rtruediv__(self, other: ArrayLike) -> Interval:
        return _of(other) * Interval(1.0 / self.high, 1.0 / self.low)

    def of_last(self, count: int) -> Interval:
        """The last columns alone."""
        return Interval(self.low[:, -count:], self.high[:, -count:])

    def square(self) -> Interval:
        """Of x^2, tight where the interval holds 0."""
        ends = np.square(self.low), np.square(self.high)
        holds = (self.low <= 0) & (self.high >= 0)
        return Interval(np.where(holds, 0.0, np.minimum(*ends)), np.maximum(*ends))

    def root(self) -> Interval:
        """Of the square root; what lies under 0 is taken as 0."""
        return Interval(np.sqrt(np.maximum(self.low, 0.0)), np.sqrt(np.maximum(self.high, 0.0)))

    def magnitude(self) -> Array:
        """Largest absolute value."""
        return np.asarray(np.maximum(np.abs(self.low), np.abs(self.high)))


def interval(low: ArrayLike, high: ArrayLike) -> Interval:
    """The interval between two arrays."""
    return Interval(np.asarray(low, float), np.asarray(high, float))


def _of(value: Interval | ArrayLike) -> Interval:
    if isinstance(value, Interval):
        return value
    array = np.asarray(value, float)
    return Interval(array, array)
