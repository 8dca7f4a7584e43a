"""The focusing ring: the extension that focuses on a point, and the distance engraved for it.

Extensions are true ones everywhere; a ring whose marks run ahead by `ring_error` shows the extension true + error.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import NoPlaneOfFocus, OutOfReach
from sidelong.lens.axis import axis_of
from sidelong.lens.geometry import hinge
from sidelong.lens.values import Lens, Movement, Setting

_PAST_INFINITY = 1e-12
_MOST_ROUNDS = 30


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
        True extension e >= -ring_error along the lens's own axis. [m]

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
    the lens's ordinary range, the larger one images at more than life size. With field curvature, Newton from there
    on that less c (C_z + d) (curvature.py).
    """
    axis = axis_of(movement)
    f, pivot, z = lens.focal_length, lens.pivot, float(axis[2])
    if z < 1e-9:
        raise NoPlaneOfFocus("the lens is moved by 90 degrees or more, so that it no longer faces the film")
    reach = np.asarray(point, float) - hinge(lens, movement)
    along_axis, forward = float(axis @ reach), float(reach[2])
    if not (along_axis > f and forward > 0.0):
        raise OutOfReach(
            f"the point lies {along_axis:.3f} m ahead along the lens's axis, within its focal length or behind it",
            {"forward_m": forward, "along_axis_m": along_axis, "focal_length_m": f},
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
    arm = 2.0 * c / (b + math.sqrt(under_root))
    if lens.field_curvature != 0.0:
        arm = _curved(lens, axis, reach, arm)
    extension = arm - pivot
    past = ring_range(lens)[0] - extension
    if past > _PAST_INFINITY:
        raise OutOfReach(
            f"the ring would have to turn {past * 1000:.3f} mm past infinity to focus there with this movement",
            {"extension_mm": extension * 1000},
            "use a smaller movement, or the opposite one",
        )
    return max(ring_range(lens)[0], extension)


def _curved(lens: Lens, axis: NDArray[np.float64], reach: NDArray[np.float64], arm: float) -> float:
    """The arm pivot + e that puts a point, `reach` (3,) from the hinge [m], on the curved surface of best focus.

    `arm` is the one for a flat field. What lies square to the axis does not change as the glass slides along it.
    """
    f, h, z = lens.focal_length, lens.entrance_pupil, float(axis[2])
    along, forward = float(axis @ reach), float(reach[2])
    square = lens.field_curvature * float(np.sum((reach - along * axis) ** 2))
    aside = forward - along * z
    b = z * along - f + lens.pivot
    c = f * forward - (f - lens.pivot) * (along - f)
    for _ in range(_MOST_ROUNDS):
        u = along - arm
        if u - f <= 0.0 or u - h <= 0.0:
            break
        reaching = f - lens.pivot + arm * z - h * aside / (u - h)
        value = z * arm * arm - b * arm + c - square / u * reaching
        slope = 2.0 * z * arm - b - square / u**2 * reaching - square / u * (z - h * aside / (u - h) ** 2)
        step = value / slope
        arm -= step
        if abs(step) <= 1e-14 * f:
            return arm
    raise OutOfReach(
        f"the point at {forward:.3f} m is too near, or too far aside, for a lens of this field curvature",
        {"forward_m": forward},
        "move the camera back",
    )


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
    """Where the ring stops at its near end: the engraved extension at `closest`, else one focal length. [m]"""
    near = lens.closest
    # nearer than four focal lengths no straight lens focuses: such a mark only says that the ring reaches life size
    return lens.focal_length if near is None or near <= 4 * lens.focal_length else extension_at(lens, near)


def ring_range(lens: Lens) -> tuple[float, float]:
    """True extensions between the ring's infinity mark and its near end. [m]"""
    return 0.0 - lens.ring_error, largest_extension(lens) - lens.ring_error


def engraved_ring(setting: Setting) -> float | None:
    """What a set lens's ring shows, its error included; None stands for infinity. [m]

    Worked: f = 100 mm, ring_error = 0.1 mm. A true extension of 5 mm is the mark of 5.1 mm, 2.1659 m instead of
    2.2050 m.
    """
    return ring_distance(setting.lens, setting.extension + setting.lens.ring_error)


def check_ring(lens: Lens, extension: float) -> None:
    """Nothing if the ring reaches a true extension [m].

    Raises
    ------
    OutOfReach
        The ring would have to turn nearer than its closest mark.
    """
    if extension + lens.ring_error > largest_extension(lens) * (1.0 + 1e-9):
        mark = ring_distance(lens, extension + lens.ring_error)
        raise OutOfReach(
            f"the ring would have to show {mark:.2f} m, nearer than its closest mark of {lens.closest:.2f} m",
            {"ring_m": mark or math.inf, "closest_m": lens.closest or 0.0},
            "move the camera back",
        )
