"""A steady plume of haze from a machine, drifting to an opening: a row of puffs, each a bell curve in space.

The machine gives G grams a second into air that drifts at u; a puff that has drifted for t has spread to
sigma^2 = sigma0^2 + 2 K t, K the eddy diffusivity of the room. A steady row of puffs is the Gaussian plume
C = G / (2 pi u sigma^2) exp(-r^2 / 2 sigma^2); as puffs, what light loses along any ray has a closed form. Floor,
ceiling and walls give back what would pass them: puffs mirrored in them. It ends where the air leaves by the
opening; what hangs in the rest of the room is the uniform haze.

Source
------
turner1970 (Gaussian plume, images; from memory), cheng2011 (diffusivity in rooms: 0.001 to 0.015 m2/s, growing with
the air changes; from memory); spread at the nozzle and drift: common practice, no source
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.light.haze import EXTINCTION_PER_MASS
from sidelong.place.values import Plume

Values = NDArray[np.float64]

SPACING = 1.4
"""Of puffs, over their spread: an endless row is then even to 1 in 10 000, 2 exp(-2 pi^2 / SPACING^2)."""
MOST_PUFFS = 64
FAINT = 2.5
"""A mirrored puff so many spreads away from the room is left out."""


@dataclass(frozen=True)
class Puffs:
    """Bell curves of extinction: `centre` (N, 3) place frame [m], `sigma` (N,) [m], `peak` (N,) [1/m]."""

    centre: Values
    sigma: Values
    peak: Values

    def extinction(self, points: ArrayLike) -> Values:
        """Extinction at points (..., 3), place frame. [1/m]"""
        away = np.asarray(points, float)[..., None, :] - self.centre
        return np.asarray(np.sum(self.peak * np.exp(-0.5 * np.sum(away**2, -1) / self.sigma**2), axis=-1))

    def whole(self) -> float:
        """Extinction integrated over all space. [m2]"""
        return float(np.sum(self.peak * (2 * math.pi) ** 1.5 * self.sigma**3))

    def depth(self, origin: ArrayLike, direction: ArrayLike, near: float, far: float) -> float:
        """Optical depth along a ray from distance `near` to `far`; `origin`, unit `direction` (3,). [-]

        Of one puff: peak sigma sqrt(pi / 2) exp(-d^2 / 2 sigma^2) times the difference of two error functions.
        """
        o, w = np.asarray(origin, float), np.asarray(direction, float)
        along = (self.centre - o) @ w
        beside = np.sum((self.centre - o) ** 2, axis=1) - along**2
        scale = self.sigma * math.sqrt(2.0)
        whole = self.peak * self.sigma * math.sqrt(math.pi / 2) * np.exp(-0.5 * beside / self.sigma**2)
        ends = [np.array([math.erf(x) for x in (end - along) / scale]) for end in (near, far)]
        return float(np.sum(whole * (ends[1] - ends[0])))


def puffs_of(plume: Plume, low: ArrayLike, high: ArrayLike) -> Puffs:
    """The puffs of a plume in a box `low` to `high` (3,) whose faces give back what would pass them. [m]"""
    start, end = np.asarray(plume.at, float), np.asarray(plume.to, float)
    length = float(np.linalg.norm(end - start))
    ages, lasts = _row(plume, length)
    sigma = np.sqrt(plume.spread**2 + 2.0 * plume.diffusivity * ages)
    centre = start + np.outer(ages * plume.drift / max(length, 1e-9), end - start)
    strength = EXTINCTION_PER_MASS * plume.output * lasts
    peak = strength / ((2 * math.pi) ** 1.5 * sigma**3)
    return _with_mirrored(Puffs(centre, sigma, peak), np.asarray(low, float), np.asarray(high, float))


def centreline(plume: Plume, distance: float) -> float:
    """Extinction on the plume's axis in the open, `distance` from the machine: G / (2 pi u sigma^2). [1/m]"""
    sigma2 = plume.spread**2 + 2.0 * plume.diffusivity * distance / plume.drift
    return EXTINCTION_PER_MASS * plume.output / (2 * math.pi * plume.drift * sigma2)


def half_strength(plume: Plume, distance: float) -> float:
    """How far off its axis a plume in the open is half as dense, so far from the machine: sigma sqrt(2 ln 2). [m]"""
    sigma2 = plume.spread**2 + 2.0 * plume.diffusivity * distance / plume.drift
    return math.sqrt(2.0 * math.log(2.0) * sigma2)


def _row(plume: Plume, length: float) -> tuple[Values, Values]:
    """Ages of the puffs, and for how long each gathers. [s]

    Puffs stand SPACING spreads apart; each has the middle age of its share of the way.
    """
    edges, spacing = [0.0], SPACING
    whole = length / plume.drift
    while True:
        while edges[-1] < whole and len(edges) <= MOST_PUFFS // 3:
            sigma = math.sqrt(plume.spread**2 + 2.0 * plume.diffusivity * edges[-1])
            edges.append(edges[-1] + spacing * sigma / plume.drift)
        if edges[-1] >= whole:
            break
        edges, spacing = [0.0], spacing * 1.3
    marks = np.array(edges) * whole / edges[-1]
    return (marks[1:] + marks[:-1]) / 2, np.diff(marks)


def _with_mirrored(puffs: Puffs, low: Values, high: Values) -> Puffs:
    """Puffs and their first images in the six faces of the box, as far as they reach into it; the strongest
    MOST_PUFFS of them."""
    centres, sigmas, peaks = [puffs.centre], [puffs.sigma], [puffs.peak]
    for axis in range(3):
        for face in (low[axis], high[axis]):
            image = puffs.centre.copy()
            image[:, axis] = 2 * face - image[:, axis]
            near = np.abs(image[:, axis] - face) < FAINT * puffs.sigma
            centres.append(image[near])
            sigmas.append(puffs.sigma[near])
            peaks.append(puffs.peak[near])
    centre, sigma, peak = np.concatenate(centres), np.concatenate(sigmas), np.concatenate(peaks)
    kept = np.sort(np.argsort(-peak * sigma**3, kind="stable")[:MOST_PUFFS])
    return Puffs(centre[kept], sigma[kept], peak[kept])
