"""How bright an even scene comes out over the film of a moved lens, from the exact integral over the pupil.

A scene of radiance L gives the film E = integral over the entrance pupil of L W dA with
W = (D.a)(1/p)(p E_z + d)/|G|^3, G = -q - E (v/f - 1), D = G/|G|, v = -q.a: the flux that the pupil takes in from
the patch of the scene imaged on a patch of film, over that film's area. On the axis of a straight lens this is
pi L / (4 N^2 (1 + m/p)^2) at every stop. Source: docs/decisions/0004-film-irradiance.md.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.coverage import film_points
from sidelong.lens.geometry import LensGeometry

_RINGS = 6
_SPOKES = 24


def irradiance_per_radiance(lens: LensGeometry, image: ArrayLike) -> NDArray[np.float64]:
    """Film irradiance over scene radiance (...) at upright image positions (..., 2) from the film's centre. [sr]

    Quadrature: Gauss-Legendre in the square of the radius, equal spokes round the pupil; exact to 1e-9 for
    f/1 and slower (tests compare it with a doubled rule). Zero where the film lies in front of the lens's plane.
    """
    q = film_points(lens, image)[..., None, :]
    pupil, weight = _pupil_rule(lens)
    f, p = lens.focal_length, lens.pupil_ratio
    v = -(q @ lens.axis)
    g = -q - pupil * (v / f - 1.0)[..., None]
    length = np.linalg.norm(g, axis=-1)
    flux = (g @ lens.axis) * (p * pupil[..., 2] + lens.film_distance) / (p * length**4)
    return np.asarray(np.where(v[..., 0] > 0, np.sum(np.where(v > 0, flux, 0.0) * weight, axis=-1), 0.0))


def _pupil_rule(lens: LensGeometry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points (K, 3) of the entrance pupil seen from O, and their areas (K,). [m, m2]"""
    x, y, share = _unit_rule()
    aside = x[:, None] * lens.across + y[:, None] * lens.along
    return lens.pupil_offset * lens.axis + lens.pupil_radius * aside, share * np.pi * lens.pupil_radius**2


@lru_cache(maxsize=1)
def _unit_rule() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """The rule on a disc of radius 1: places x, y (K,) and shares of the area (K,). [-]"""
    node, share = np.polynomial.legendre.leggauss(_RINGS)
    radius = np.sqrt((node + 1.0) / 2.0)
    turn = 2.0 * np.pi * (np.arange(_SPOKES) + 0.5) / _SPOKES
    x, y = (radius[:, None] * np.cos(turn)).ravel(), (radius[:, None] * np.sin(turn)).ravel()
    return x, y, np.repeat(share / 2.0 / _SPOKES, _SPOKES)


def bellows_stops(lens: LensGeometry) -> float:
    """Light lost to the ring's extension on the lens's axis: 2 log2(1 + m/p), m = e / f, >= 0. [stops]"""
    return float(2.0 * np.log2(1.0 + lens.extension / lens.focal_length / lens.pupil_ratio))


def falloff_stops(lens: LensGeometry, image: ArrayLike) -> NDArray[np.float64]:
    """Light over the film against the axis of the same lens unmoved, at the same ring and stop, (...). [stops, <= 0]

    At upright image positions (..., 2) from the film's centre [m].
    """
    magnified = 1.0 + lens.extension / lens.focal_length / lens.pupil_ratio
    area = np.pi * lens.pupil_radius**2
    straight = area / (lens.focal_length * magnified) ** 2
    with np.errstate(divide="ignore"):
        return np.asarray(np.log2(irradiance_per_radiance(lens, image) / straight))
