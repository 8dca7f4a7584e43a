"""Readings on the day: how far each light, and the place's reflected light, is from what was predicted.

A light gives 2^x of its prediction, and what the place gives back is 2^r of it, so a reading of several lights says
log2 of the sum of 2^x (direct + 2^r reflected). x and r are the most likely ones: weighted least squares in stops
by Gauss and Newton, the kit's promise as a prior. The lights' prior is Student's t, so that a head two stops out is
believed to be two stops out, and the room is not blamed.

Source
------
tarantola2005 (least squares with a prior, posterior covariance), lange1989 (Student's t by reweighting)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

STROBE_SIGMA = 0.7
"""One sigma of a head's output against its data sheet. Our own figure: tube, generator, age, mount. [stops]"""
DAYLIGHT_SIGMA = 0.5
"""One sigma of sun and of sky against the table. Our own figure. [stops]"""
PLACE_SIGMA = 0.3
"""One sigma of the reflected light against that of the stated finishes. Our own figure. [stops]"""
METER_SIGMA = 0.1
"""One sigma of a reading: meters show tenths, hands are not quite at the point. Our own figure. [stops]"""
OUTLIER = 3.0
"""A reading this many standard deviations from what the others foretell is left out."""
TAIL = 3.0
"""Degrees of freedom of the lights' prior. Our own figure."""

_ROUNDS = 200


@dataclass(frozen=True)
class Prior:
    """What is believed before any reading: one `sigma` a light (L,), and the `place`'s reflected light; `mean` (L,)
    and `place_mean`, about what: 0 for the kit's promise, else what other shots have taught. [stops]"""

    sigma: tuple[float, ...]
    place: float = PLACE_SIGMA
    mean: tuple[float, ...] = ()
    place_mean: float = 0.0

    @property
    def widths(self) -> Array:
        """One sigma of every light and of the place (L + 1,). [stops]"""
        return np.array([*self.sigma, self.place], float)

    @property
    def middle(self) -> Array:
        """The mean of every light and of the place (L + 1,). [stops]"""
        return np.array([*(self.mean or (0.0,) * len(self.sigma)), self.place_mean], float)


@dataclass(frozen=True)
class Said:
    """M readings. `direct` and `reflected` (M, L): what was predicted at each reading's receptor, from each light
    that the meter took in, 0 for the others; `value` (M,) what the meter said, in its row's linear unit; `sigma`
    (M,) of each. [lx or lx s; stops]"""

    direct: Array
    reflected: Array
    value: Array
    sigma: Array

    def __len__(self) -> int:
        return len(self.value)


@dataclass(frozen=True)
class Learned:
    """What the readings say. `stops` (L,) and `place`, each light's and the reflected light's factor; `sigma` (L,)
    and `place_sigma` one sigma of each after the readings; `covariance` (L + 1, L + 1), the place last;
    `used` (L,) how many readings took part in each light; `outlier` (M,) those left out; `surprise` (M,) how many
    standard deviations each reading is from what the other kept ones foretell; `miss` (M,) by how many stops;
    `pair` (M,) true where only one other reading contradicts it. [stops]"""

    stops: Array
    sigma: Array
    place: float
    place_sigma: float
    covariance: Array
    used: NDArray[np.int64]
    outlier: Flags
    surprise: Array
    miss: Array
    pair: Flags


def learn(said: Said, prior: Prior) -> Learned:
    """The lights and the place as the readings have them.

    A reading is left out when the other kept readings, and not the prior alone, foretell something over three
    standard deviations away; the worst goes first, and one that fits again in the end is taken back.

    Raises
    ------
    InputFault
        Arrays that do not fit together; a reading of no light at all, or of lights that do not reach there.
    """
    _check(said, prior)
    kept = np.ones(len(said), bool)
    fit = _fit(said, prior, kept)
    while True:
        miss, surprise, told = _left_out(said, prior, kept, fit)
        wrong = np.where(kept & told, np.abs(surprise), 0.0)
        if not len(said) or wrong.max() <= OUTLIER:
            break
        kept[int(wrong.argmax())] = False
        fit = _fit(said, prior, kept)
    back = ~kept & (np.abs(surprise) <= OUTLIER)
    if back.any():
        kept |= back
        fit = _fit(said, prior, kept)
        miss, surprise, _ = _left_out(said, prior, kept, fit)
    sees = (said.direct + said.reflected) > 0
    pair = np.array([_seen_by(sees, kept, m) == 1 for m in range(len(said))], bool)
    x, covariance = fit
    sigma = np.sqrt(np.diag(covariance))
    used = sees[kept].sum(axis=0).astype(np.int64)
    return Learned(x[:-1], sigma[:-1], float(x[-1]), float(sigma[-1]), covariance, used, ~kept, surprise, miss, pair)


def corrected(learned: Learned, direct: Array, reflected: Array) -> Array:
    """Predicted light (..., L), its straight and its reflected part, by what was learned. [lx or lx s]"""
    return np.asarray(2.0**learned.stops * (direct + 2.0**learned.place * reflected))


def corrected_error(learned: Learned, direct: Array, reflected: Array) -> Array:
    """One sigma of `corrected`, from the readings' and the kit's uncertainty: (..., L) as a light. [stops]"""
    whole = direct + 2.0**learned.place * reflected
    share = np.divide(2.0**learned.place * reflected, whole, out=np.zeros_like(whole), where=whole > 0)
    own, place = learned.sigma**2, learned.place_sigma**2
    return np.asarray(np.sqrt(np.maximum(own + 2 * share * learned.covariance[:-1, -1] + share**2 * place, 0.0)))


def mean_factor(learned: Learned, direct: Array, reflected: Array) -> Array:
    """The one factor of each light (L,) that does best at all points (P, L) at once, for a picture whose reflected
    light cannot be scaled apart: 2^x times the mean ratio in stops, points by the light they get. [-]"""
    before, after = direct + reflected, direct + 2.0**learned.place * reflected
    ratio = np.log2(np.divide(after, before, out=np.ones_like(before), where=before > 0))
    total = before.sum(axis=0)
    mean = np.divide((ratio * before).sum(axis=0), total, out=np.zeros_like(total), where=total > 0)
    return np.asarray(2.0 ** (learned.stops + mean))


def outlier_in_words(learned: Learned, index: int, name: str) -> str:
    """Why a reading, called `name` here, was left out, and what to do."""
    miss, deviations = float(learned.miss[index]), abs(float(learned.surprise[index]))
    text = f"{name}: left out, {abs(miss):.1f} stops {'over' if miss > 0 else 'under'}"
    if learned.pair[index]:
        return f"{text} the one other reading; the one nearer to the kit's figures is believed: read both again"
    return f"{text} what the other readings say, {deviations:.0f} standard deviations: read it again"


def foretold(said: Said, x: Sequence[float] | Array) -> Array:
    """What the meter would say (M,), as log2 of each row's unit, with the factors `x` (L + 1,), the place last."""
    x = np.asarray(x, float)
    return np.asarray(np.log2((2.0 ** x[:-1] * (said.direct + 2.0 ** x[-1] * said.reflected)).sum(axis=1)))


def _slopes(said: Said, x: Array) -> Array:
    """Derivatives (M, L + 1) of `foretold`: each light's share, and the share of what is reflected."""
    reflected = 2.0 ** x[:-1] * 2.0 ** x[-1] * said.reflected
    light = 2.0 ** x[:-1] * said.direct + reflected
    total = light.sum(axis=1, keepdims=True)
    return np.hstack([light / total, reflected.sum(axis=1, keepdims=True) / total])


def _cost(said: Said, prior: Prior, x: Array) -> float:
    """Twice the negative logarithm of the posterior, but for a constant."""
    z = (np.log2(said.value) - foretold(said, x)) / said.sigma
    off = (x - prior.middle) / prior.widths
    lights = (TAIL + 1) * np.log1p(off[:-1] ** 2 / TAIL)
    return float(z @ z + lights.sum() + off[-1] ** 2)


def _fit(said: Said, prior: Prior, kept: Flags) -> tuple[Array, Array]:
    """Most likely factors (L + 1,) and their covariance (L + 1, L + 1). [stops, stops^2]"""
    part = replace(
        said, direct=said.direct[kept], reflected=said.reflected[kept], value=said.value[kept], sigma=said.sigma[kept]
    )
    middle = prior.middle
    x: Array = middle.copy()
    cost = _cost(part, prior, x)
    for _ in range(_ROUNDS):
        slopes, weight = _slopes(part, x) / part.sigma[:, None], _weights(prior, x)
        residual = (np.log2(part.value) - foretold(part, x)) / part.sigma
        step = np.linalg.solve(slopes.T @ slopes + np.diag(weight), slopes.T @ residual - weight * (x - middle))
        scale, tried = 1.0, math.inf
        while scale > 1e-6:
            tried = _cost(part, prior, x + scale * step)
            if tried <= cost:
                break
            scale /= 2
        if tried > cost:
            break
        x, cost = x + scale * step, tried
        if float(np.abs(step).max(initial=0.0)) < 1e-10:
            break
    slopes = _slopes(part, x) / part.sigma[:, None]
    return x, np.asarray(np.linalg.inv(slopes.T @ slopes + np.diag(_weights(prior, x))), float)


def _weights(prior: Prior, x: Array) -> Array:
    """The prior's weights (L + 1,), Student's for the lights. [1 / stops^2]"""
    sigma = prior.widths
    weight = 1.0 / sigma**2
    weight[:-1] *= (TAIL + 1) / (TAIL + ((x - prior.middle)[:-1] / sigma[:-1]) ** 2)
    return np.asarray(weight)


def _left_out(said: Said, prior: Prior, kept: Flags, fit: tuple[Array, Array]) -> tuple[Array, Array, Flags]:
    """By how many stops (M,), by how many standard deviations (M,) each reading differs from what the other kept
    ones foretell, and whether they, more than the prior, foretell it (M,)."""
    count = len(said)
    miss, surprise, told = np.zeros(count), np.zeros(count), np.zeros(count, bool)
    widths = prior.widths**2
    for m in range(count):
        others = kept.copy()
        others[m] = False
        x, covariance = _fit(said, prior, others) if kept[m] else fit
        slope = _slopes(said, x)[m]
        variance = float(slope @ covariance @ slope)
        miss[m] = math.log2(said.value[m]) - foretold(said, x)[m]
        surprise[m] = miss[m] / math.sqrt(variance + said.sigma[m] ** 2)
        told[m] = variance < 0.25 * float(slope**2 @ widths)
    return miss, surprise, told


def _seen_by(sees: Flags, kept: Flags, m: int) -> int:
    """How many other kept readings share a light with reading m."""
    others = kept.copy()
    others[m] = False
    return int((sees[others] & sees[m]).any(axis=1).sum())


def _check(said: Said, prior: Prior) -> None:
    lights = len(prior.sigma)
    if said.direct.shape != (len(said), lights) or said.reflected.shape != said.direct.shape:
        raise InputFault(
            f"{len(said)} readings of {lights} lights need arrays of that shape; found {said.direct.shape} "
            f"and {said.reflected.shape}"
        )
    if said.sigma.shape != said.value.shape or not np.all(said.sigma > 0) or not min((*prior.sigma, prior.place)) > 0:
        raise InputFault("every reading, every light and the place need a sigma above 0")
    if prior.mean and len(prior.mean) != lights:
        raise InputFault(f"a mean for each of the {lights} lights was expected, or none")
    if not (np.all(said.direct >= 0) and np.all(said.reflected >= 0) and np.all(np.isfinite(said.value))):
        raise InputFault("light is a finite number, 0 or more")
    for m in range(len(said)):
        if not (said.value[m] > 0 and (said.direct[m] + said.reflected[m]).sum() > 0):
            raise InputFault(f"reading {m + 1} says {said.value[m]:g} of lights that are predicted to give nothing")
