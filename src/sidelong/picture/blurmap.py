"""How blurred each pixel is: the surface's depth carried back through the lens to a point, and its blur ellipse.

A film point q (from O) is sharp for P = f q / (f + a.q); the ray through the pupil's centre E = h a that ends in q
left along E (f + a.q) - f q, which stays regular where P lies at infinity.

Source: derived, docs/computed/picture.md
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.blur import blur
from sidelong.lens.geometry import LensGeometry, geometry_of
from sidelong.trace.values import View

FAR = 1e5
"""Where a sky stands, along the film's normal. [m]"""
_AT_ONCE = 65536

Array = NDArray[np.float64]


def blur_map(view: View, depth: NDArray[np.float32]) -> NDArray[np.float32]:
    """Full major axis (H, W) of the blur on the film of the surface that each pixel sees. [m]

    `depth` (H, W) along the film's normal from the camera's `at` [m]; inf is the sky. nan where depth is nan or
    the surface cannot be imaged.
    """
    lens = geometry_of(view.setting)
    images = pixel_positions(view).reshape(-1, 2)
    depths = np.where(np.isinf(depth), FAR, depth).reshape(-1).astype(float)
    result = np.empty(len(depths), np.float32)
    for start in range(0, len(depths), _AT_ONCE):
        block = slice(start, start + _AT_ONCE)
        result[block] = blur(lens, points_seen(lens, images[block], depths[block])).major
    return result.reshape(depth.shape)


def points_seen(lens: LensGeometry, image: ArrayLike, depth: ArrayLike) -> Array:
    """Points (N, 3) of the body frame at `depth` (N,) [m] on the rays through the pupil's centre that end in the
    `image` positions (N, 2), upright from the film's centre [m]. nan where no such ray goes forward."""
    position = np.asarray(image, float)
    film = np.column_stack([-position, np.full(len(position), -lens.focal_length)])
    q = film - lens.principal
    pupil = lens.pupil_offset * lens.axis
    ray = pupil * (lens.focal_length + q @ lens.axis)[:, None] - lens.focal_length * q
    start = lens.principal + pupil
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (np.asarray(depth, float) - start[2]) / ray[:, 2]
    along = np.where((along > 0.0) & (ray[:, 2] > 0.0), along, np.nan)
    return np.asarray(start + along[:, None] * ray)


def pixel_positions(view: View) -> Array:
    """Where the middles of the pixels lie on the film, (H, W, 2): upright (x right, y up) from its centre. [m]"""
    x = ((np.arange(view.width) + 0.5) / view.width - 0.5) * view.film.width
    y = (0.5 - (np.arange(view.height) + 0.5) / view.height) * view.film.height
    return np.stack(np.meshgrid(x, y), axis=-1)


def to_pixels(view: View, image: ArrayLike) -> Array:
    """Pixel coordinates (..., 2), from the upper left corner, x right and y down, of film positions (..., 2) [m]."""
    position = np.asarray(image, float)
    scale = np.array([view.width / view.film.width, -view.height / view.film.height])
    return np.asarray(position * scale + np.array([view.width / 2, view.height / 2]))
