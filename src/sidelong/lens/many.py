"""The exact optics of many settings of one lens at once: signed blur, image positions, what the image circle leaves
dark. The same figures as blur.py and coverage.py give for one setting, without what a solver does not ask.

The pupil's plane is spanned by e1, parallel to the film, and e2 square to it: then only e2 has a part along the
film's normal, and in the axes (rotation, square to it) of the film the rim's ellipse is the sum of two vectors.

Source: derived, docs/computed/focus.md; tests hold it against blur.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.ring import ring_range
from sidelong.lens.values import Lens

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Stands:
    """A lens in G settings, each number an array (G, 1), body frame: unit axis `ax`, `ay`, `az` [-], moved principal
    point `ox`, `oy`, `oz` and film distance `d` [m]."""

    lens: Lens
    ax: Array
    ay: Array
    az: Array
    ox: Array
    oy: Array
    oz: Array
    d: Array


def stands(lens: Lens, rise_shift: tuple[float, float], states: Array) -> Stands:
    """The settings of states (G, 3) = (d a_x, d a_y, d) with rise and shift as given, or (G, 5) with their own shift
    and rise behind. [m]"""
    d = states[:, 2:3]
    ax, ay = states[:, 0:1] / d, states[:, 1:2] / d
    az = np.sqrt(np.maximum(0.0, 1.0 - ax * ax - ay * ay))
    arm = (d - lens.focal_length + lens.pivot) / az
    shift, rise = (states[:, 3:4], states[:, 4:5]) if states.shape[1] > 3 else (rise_shift[1], rise_shift[0])
    ox, oy = arm * ax + shift, arm * ay + rise
    return Stands(lens, ax, ay, az, ox, oy, arm * az - lens.pivot, d)


def within_reach(lens: Lens, states: Array, unmoved: float = 1e-9) -> Array:
    """States (G, q) brought inside the lens's movement, ring and shift; a movement under `unmoved` [rad] is none."""
    d = states[:, 2]
    sideways = np.hypot(states[:, 0], states[:, 1]) / d
    kept = np.where(sideways < unmoved, 0.0, np.minimum(sideways, math.sin(lens.movement)))
    less = np.where(sideways > 0.0, kept / np.where(sideways > 0.0, sideways, 1.0), 1.0)
    az = np.sqrt(1.0 - kept * kept)
    least, most = ring_range(lens)
    extension = np.clip((d - lens.focal_length + lens.pivot) / az - lens.pivot, least, most)
    inside = states.copy()
    inside[:, 2] = lens.focal_length - lens.pivot + (lens.pivot + extension) * az
    inside[:, :2] *= (less * inside[:, 2] / d)[:, None]
    if states.shape[1] > 3:
        aside = np.hypot(states[:, 3], states[:, 4])
        inside[:, 3:] *= np.where(aside > lens.shift, lens.shift / np.where(aside > 0.0, aside, 1.0), 1.0)[:, None]
    return inside


@np.errstate(all="ignore")
def signed_blurs(at: Stands, f_numbers: Array, points: Array) -> Array:
    """Major axes (G, N) on the film of points (N, 3), body frame [m], at stops (G,), negative for points nearer than
    the surface of best focus; nan where a point cannot be imaged, infinite where the cone is cut in no closed
    curve. [m]"""
    lens = at.lens
    f, h = lens.focal_length, lens.entrance_pupil
    x, y, z = points[:, 0] - at.ox, points[:, 1] - at.oy, points[:, 2] - at.oz
    u = at.ax * x + at.ay * y + at.az * z
    k = u - f
    g = f * z - at.d * k
    radius = f / (2.0 * f_numbers)[:, None]
    s = np.hypot(at.ax, at.ay)
    turned = s > 0.0
    size = np.where(turned, s, 1.0)
    cos, sin = np.where(turned, at.ax / size, 1.0), at.ay / size
    if h == 0.0:
        w, lean_x, lean_y, crossing = f * z, x / z, y / z, np.zeros(1)
    else:
        reach = u - h
        radius = radius * u / reach
        back = h / reach
        crossing = back * (u * at.az - z)
        w = f * z + k * crossing
        lean_x = (f * x + k * back * (u * at.ax - x)) / w
        lean_y = (f * y + k * back * (u * at.ay - y)) / w
    if lens.field_curvature != 0.0:
        bulge = lens.field_curvature * (x * x + y * y + z * z - u * u) / u
        g = g - bulge * (crossing + at.d)
        k = k + bulge
    bend = k * radius / w * s
    keep = np.maximum(1.0 - bend * bend, 0.0)
    along = (at.az + s * (lean_x * cos + lean_y * sin)) / keep
    aside = s * (lean_y * cos - lean_x * sin) / keep
    across = 1.0 / np.sqrt(keep)
    major = g * radius / w * (np.hypot(aside, along - across) + np.hypot(along + across, aside))
    return np.where((z > 0.0) & (u > max(0.0, h)) & (w > 0.0), -major, np.nan)


def images(at: Stands, points: Array) -> Array:
    """Where the rays through the pupil's centre from points (N, 3), body frame [m], meet the film: (G, N, 2), upright
    from the film's centre, x right, y up. [m]"""
    f, h = at.lens.focal_length, at.lens.entrance_pupil
    x, y, z = points[:, 0] - at.ox, points[:, 1] - at.oy, points[:, 2] - at.oz
    if h == 0.0:
        chief_x, chief_y = -at.d * x / z, -at.d * y / z
    else:
        u = at.ax * x + at.ay * y + at.az * z
        back, k = h / (u - h), u - f
        crossing = back * (u * at.az - z)
        cross_x, cross_y = back * (u * at.ax - x), back * (u * at.ay - y)
        g, w, far = f * z - at.d * k, f * z + k * crossing, f * (crossing + at.d)
        chief_x, chief_y = (cross_x * g - x * far) / w, (cross_y * g - y * far) / w
    return np.asarray(-np.stack([chief_x + at.ox, chief_y + at.oy], axis=-1))


def darkness(at: Stands, places: Array) -> Array:
    """How far outside the cone of the image circle places (C, 2) or (G, C, 2) of the film lie, upright from its
    centre [m]: the cosine of the circle's angle less the cosine of theirs, (G, C); > 0 is dark. [-]"""
    circle = at.lens.image_circle
    if circle is None:
        return np.full((len(at.d), places.shape[-2]), -1.0)
    x, y = places[..., 0] + at.ox, places[..., 1] + at.oy
    cosine = (x * at.ax + y * at.ay + at.d * at.az) / np.sqrt(x * x + y * y + at.d * at.d)
    return np.asarray(1.0 / math.hypot(1.0, 0.5 * circle / at.lens.focal_length) - cosine)
