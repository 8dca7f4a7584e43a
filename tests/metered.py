"""Whether metered values are those of closed forms, with a false-alarm rate that is stated for the whole suite.

An error is estimated from 16 batches, so (value - exact) / error is Student's t with 15 degrees of freedom if nothing
is wrong. Each comparison may fail by chance once in COMPARISONS / SUITE_ALARM; there are no more than COMPARISONS in
all tests together, so that the suite fails by chance less than once in a million seeds (Bonferroni). Seeds are the
first that came to mind, and are never chosen by their result.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy import stats

from sidelong.trace.plain import PlainReading, PlainScene, Receptor, meter_plain

SUITE_ALARM = 1e-6
COMPARISONS = 250
FREEDOM = 15
LIMIT = float(stats.t.isf(SUITE_ALARM / COMPARISONS / 2, FREEDOM))
"""Standard errors that a value may be off: 12.2."""
SINGLE = 3e-4
"""What single precision, a receptor lifted by a twentieth of a millimetre and a polygon of 256 corners may do."""
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def read(scene: PlainScene, *receptors: Receptor, relative_error: float = 0.002, seed: int = 0) -> list[PlainReading]:
    """Readings that are known to `relative_error`, or the test has no business to go on."""
    found = meter_plain(scene, receptors, relative_error=relative_error, seed=seed)
    assert all(reading.settled for reading in found), found
    return found


def assert_reads(
    scene: PlainScene,
    receptors: Sequence[Receptor],
    exact: Sequence[float],
    relative_error: float = 0.002,
    single: float = SINGLE,
) -> None:
    """Every receptor reads the exact value, within LIMIT standard errors and `single` of it."""
    for reading, expected in zip(read(scene, *receptors, relative_error=relative_error), exact, strict=True):
        off = abs(reading.value - float(expected))
        allowed = LIMIT * reading.error + single * abs(float(expected))
        assert off <= allowed, (
            f"read {reading.value:.6g} +- {reading.error:.2g} after {reading.paths} paths, not {float(expected):.6g}:"
            f" off by {off / max(reading.error, 1e-30):.1f} standard errors, {off / abs(float(expected)):.2%}"
        )


def mean(readings: Sequence[PlainReading], weights: Sequence[float]) -> PlainReading:
    """A weighted mean of readings at different points, drawn apart, with its error."""
    total = math.fsum(weights)
    value = math.fsum(w * r.value for w, r in zip(weights, readings, strict=True)) / total
    error = math.sqrt(math.fsum((w * r.error) ** 2 for w, r in zip(weights, readings, strict=True))) / total
    return PlainReading(value, error, value)


def flat(x: float, y: float, z: float, normal: tuple[float, float, float] = UP) -> Receptor:
    """A flat receptor."""
    return Receptor((float(x), float(y), float(z)), normal)
