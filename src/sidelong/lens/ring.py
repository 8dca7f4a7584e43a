"""The focusing ring: the extension that focuses on a point, and the distance engraved for it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import NoPlaneOfFocus, OutOfReach
from sidelong.lens.axis import axis_of
from sidelong.lens.geometry import hinge
from sidelong.lens.values import Lens, Movement

_PAST_INFINITY = 1e-12


def extension_for(lens: Lens, movement: Movement, point: NDArray[np.float64]) -> float:
    """How far the ring must carry the glass forward so that the plane of focus passes through a point.

    Parameters
    ----------
    lens, movement : Lens, Movement
    point : (3,) float array, body frame
        [m]

    Returns
    -------
    float
        Extension e >= 0 along the lens's own axis. [m]

    Raises
    ------
    OutOfReach
        The point lies behind the lens or nearer than it can focus at all, or the ring would have to go past
        infinity. Closest-focus limits of the ring are `check_ring`'s.
    NoPlaneOfFocus
        The film plane holds the hinge's whole path: a lens moved by 90 degrees.

    Source
    ------
    derived: docs/computed/focus.md. With x = pivot + e, A = a.(P - hinge), B = (P - hinge)_z the condition
    d = f P_z / (a.P - f) is a_z x^2 - (a_z A - f + pivot) x + f B - (f - pivot)(A - f) = 0; the smaller root is
    the lens's ordinary range, the larger one images at more than life size.
    """
    axis = axis_of(movement)
    f, pivot, z = lens.focal_length, lens.pivot, float(axis[2])
    if z < 1e-9:
        raise NoPlaneOfFocus("the lens is moved by 90 degrees or more, so that it no longer faces the film")
    reach = np.asarray(point, float) - hinge(lens, movement)
    along_axis, forward = float(axis @ reach), float(reach[2])
    if not (along_axis > f and forward > 0.0):
        raise OutOfReach(
            f"the point lies {forward:.3f} m in front of the camera, inside the lens's focal length or behind it",
            {"forward_m": forward, "focal_length_m": f},
            "move the camera back or focus on someone in front of it",
        )
    b = z * along_axis - f + pivot
    c = f * forward - (f - pivot) * (along_axis - f)
    under_root = b * b - 4.0 * z * c
    if under_root < 0.0 or b <= 0.0:
        raise OutOfReach(
            f"the point at {forward:.3f} m is nearer than this lens can image at all",
            {"forward_m": forward},
            "move the camera back",
        )
    extension = 2.0 * c / (b + math.sqrt(under_root)) - pivot
    if extension < -_PAST_INFINITY:
        raise OutOfReach(
            f"the ring would have to turn {-extension * 1000:.3f} mm past infinity to focus there with this movement",
            {"extension_mm": extension * 1000},
            "use a smaller movement, or the opposite one",
        )
    return max(0.0, extension)


def ring_distance(lens: Lens, extension: float) -> float | None:
    """What the ring's scale shows: 2 f + e + f^2 / e from the film, lens straight; None stands for infinity. [m]"""
    f = lens.focal_length
    return None if extension <= 0.0 else 2.0 * f + extension + f * f / extension


def extension_at(lens: Lens, distance: float | None) -> float:
    """Extension of a ring set to an engraved distance from the film; 0 at None (infinity). [m]

    Raises
    ------
    OutOfReach
        Nearer than four focal lengths, which no ring on a straight lens shows.
    """
    if distance is None or math.isinf(distance):
        return 0.0
    f = lens.focal_length
    b = distance - 2.0 * f
    under_root = b * b - 4.0 * f * f
    if b <= 0.0 or under_root < 0.0:
        raise OutOfReach(
            f"a ring mark of {distance:.3f} m is nearer than four focal lengths", {"distance_m": distance}
        )
    return 2.0 * f * f / (b + math.sqrt(under_root))


def largest_extension(lens: Lens) -> float:
    """Where the ring stops at its near end: the extension at `closest`, else one focal length. [m]"""
    near = lens.closest
    # nearer than four focal lengths no straight lens focuses: such a mark only says that the ring reaches life size
    return lens.focal_length if near is None or near <= 4 * lens.focal_length else extension_at(lens, near)


def check_ring(lens: Lens, extension: float) -> None:
    """Nothing if the ring reaches an extension [m].

    Raises
    ------
    OutOfReach
        The ring would have to turn nearer than its closest mark.
    """
    if extension > largest_extension(lens) * (1.0 + 1e-9):
        mark = ring_distance(lens, extension)
        raise OutOfReach(
            f"the ring would have to show {mark:.2f} m, nearer than its closest mark of {lens.closest:.2f} m",
            {"ring_m": mark or math.inf, "closest_m": lens.closest or 0.0},
            "move the camera back",
        )
