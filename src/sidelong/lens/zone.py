"""The zone that is sharp enough: where the blur is within a limit. Sampled along rays, never assumed planar."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.blur import blur
from sidelong.lens.curvature import defocus, defocus_slope
from sidelong.lens.geometry import LensGeometry

Array = NDArray[np.float64]

_HALVINGS = 48
_NEWTON = 12
_START = 50.0
"""Where Newton starts along a ray. [focal lengths]"""


def sharp_zone(
    lens: LensGeometry, origin: ArrayLike, directions: ArrayLike, limit: float, far: float = 1e4
) -> tuple[Array, Array, Array]:
    """Along rays from the pupil: where the blur enters the limit, where it is nil, where it leaves it again.

    Parameters
    ----------
    origin : (3,) float array, body frame
        Where the rays start: the pupil's centre (coverage.rays_out). [m]
    directions : (N, 3) float array, body frame
        Unit directions. [-]
    limit : float
        Full major axis on the film. [m]
    far : float
        How far a ray is followed. [m]

    Returns
    -------
    near, focus, behind : (N,) float arrays
        Distances along the rays [m]; `focus` nan where the ray never meets the plane of focus in front of the lens,
        `behind` inf where the blur stays within the limit up to `far`; `near` and `behind` nan where nothing of
        the ray is sharp enough.

    Source
    ------
    bisection on the exact blur: between the lens and the plane of focus, and beyond it, the blur along a ray
    falls and rises without turning (property-tested).
    """
    start, ways = np.asarray(origin, float), np.asarray(directions, float)
    focus = _meets_plane(lens, start, ways)
    known = np.isfinite(focus)
    at = np.where(known, focus, far)

    def too_soft(distance: Array) -> NDArray[np.bool_]:
        patch = blur(lens, start + ways * distance[:, None])
        return np.asarray(~(patch.major <= limit))

    near = _bisect(too_soft, np.full_like(at, 1e-6), at)
    open_end = ~too_soft(np.full_like(at, far))
    behind = np.where(open_end, np.inf, _bisect(too_soft, np.full_like(at, far), at))
    some = known | open_end
    return np.where(some, near, np.nan), focus, np.where(some, behind, np.nan)


def _meets_plane(lens: LensGeometry, start: Array, ways: Array) -> Array:
    d, f = lens.film_distance, lens.focal_length
    steep = d * lens.axis - f * np.array([0.0, 0.0, 1.0])
    if lens.field_curvature != 0.0:
        return _meets_surface(lens, start, ways)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = (d * f - (start - lens.principal) @ steep) / (ways @ steep)
    return np.asarray(np.where((reach > 0) & np.isfinite(reach), reach, np.nan))


def _meets_surface(lens: LensGeometry, start: Array, ways: Array) -> Array:
    """The same for a curved field, by Newton: along a ray through the pupil's centre the factor is almost linear."""
    reach = np.full(len(ways), _START * lens.focal_length)
    step = np.full_like(reach, np.inf)
    with np.errstate(all="ignore"):
        for _ in range(_NEWTON):
            at = start + ways * reach[:, None]
            step = defocus(lens, at) / np.sum(defocus_slope(lens, at) * ways, axis=1)
            reach = reach - step
        met = (reach > lens.focal_length) & (np.abs(step) <= 1e-9 * reach)
    return np.asarray(np.where(met, reach, np.nan))


def _bisect(too_soft: Callable[[Array], NDArray[np.bool_]], soft_end: Array, sharp_end: Array) -> Array:
    soft, sharp = soft_end.copy(), sharp_end.copy()
    for _ in range(_HALVINGS):
        middle = np.sqrt(soft * sharp)
        is_soft = too_soft(middle)
        soft, sharp = np.where(is_soft, middle, soft), np.where(is_soft, sharp, middle)
    return sharp
