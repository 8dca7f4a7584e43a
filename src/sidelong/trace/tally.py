"""Means and errors of readings whose points are averaged over unequal numbers of paths."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Tally:
    """Sums by point (P,) over batches that are drawn apart, of values of any shape."""

    def __init__(self, points: int) -> None:
        self.paths = np.zeros(points, np.int64)
        self._sums: Array | None = None

    def add(self, points: NDArray[np.int64], means: Array, each: int) -> None:
        """Take in means (Q, B, ...) of `each` more paths in every batch of the points numbered (Q,)."""
        if self._sums is None:
            self._sums = np.zeros((len(self.paths), *means.shape[1:]))
        self._sums[points] += means * each
        self.paths[points] += each

    def batches(self) -> Array:
        """Means of the batches so far, (P, B, ...); batch by batch all of a point's paths weigh alike."""
        if self._sums is None:
            raise ValueError("nothing has been taken in yet")
        return np.asarray(self._sums / self.paths.reshape(-1, *[1] * (self._sums.ndim - 1)))


def mean_and_error(batches: Array) -> tuple[Array, Array]:
    """Mean over axis 1 and its standard error, by the spread of the batches."""
    return batches.mean(1), batches.std(1, ddof=1) / np.sqrt(batches.shape[1])
