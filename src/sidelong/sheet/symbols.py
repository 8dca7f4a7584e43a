"""How people, the camera and lights are drawn, from above and from the side. Sizes are true, in metres."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.frames_of_reference import WORLD_UP
from sidelong.light.values import Modifier
from sidelong.people.values import Person
from sidelong.plan.gear import LEG_REACH
from sidelong.plan.values import FocusPlan
from sidelong.sheet.cut import Cut, outline
from sidelong.sheet.drawing import Arrow, Circle, Line, Pen, Point, Polygon, Shape
from sidelong.shoot.values import ShotLight

Points = NDArray[np.float64]

STAND_DIAMETER = 2 * LEG_REACH
"""Spread of a light stand's legs; common practice, no source. [m]"""

# shares of the stature: drawing only, no measurement rests on them
_EYES_TO_SHOULDERS, _EYES_TO_HIPS, _KNEES, _HALF_SHOULDERS = 0.115, 0.42, 0.28, 0.128


def person_from_above(person: Person, pen: Pen) -> tuple[Shape, ...]:
    """Lap when sitting, shoulders, head with a nose that points where the face looks; eyes over `person.at`. [m]"""
    size = person.height / 1.72
    forward = np.array([math.cos(person.facing), math.sin(person.facing)])
    side = np.array([-forward[1], forward[0]])
    eyes = np.array(person.at[:2])

    def at(ahead: float, aside: float) -> Point:
        p = eyes + size * (ahead * forward + aside * side)
        return float(p[0]), float(p[1])

    round_angles = np.linspace(0, 2 * math.pi, 32, endpoint=False)
    shoulders = tuple(at(-0.13 + 0.11 * math.cos(t), 0.225 * math.sin(t)) for t in round_angles)
    shapes: list[Shape] = []
    if person.pose == "sitting":
        for aside in (-0.11, 0.11):
            thigh = [(-0.13, -0.07), (0.3, -0.06), (0.345, -0.03), (0.345, 0.03), (0.3, 0.06), (-0.13, 0.07)]
            shapes.append(Polygon(tuple(at(ahead, aside + out) for ahead, out in thigh), "figure"))
    shapes.append(Polygon(shoulders, "person"))
    shapes.append(Polygon((at(-0.02, -0.05), at(0.05, 0.0), at(-0.02, 0.05)), pen))
    shapes.append(Circle(at(-0.09, 0.0), 0.1 * size, pen))
    return tuple(shapes)


def person_from_side(cut: Cut, person: Person, eyes: ArrayLike, pen: Pen) -> tuple[Shape, ...]:
    """Body and head seen square to an upright cut; `eyes` (3,) place frame [m]."""
    stature = person.height
    forward = np.array([math.cos(person.facing), math.sin(person.facing), 0.0])
    ahead = cut.direction(forward)[0]
    u, z = cut.project(eyes)
    half = stature * (_HALF_SHOULDERS * math.sqrt(max(0.0, 1 - ahead**2)) + 0.075 * abs(ahead))
    u_body, feet = u - 0.1 * ahead, float(person.at[2])
    shoulders, hips = z - _EYES_TO_SHOULDERS * stature, z - _EYES_TO_HIPS * stature
    knees, legs = feet + _KNEES * stature, 0.7 * half
    shapes: list[Shape] = []
    if person.pose == "standing":
        shapes.append(_limb(u_body, hips + 0.05, u_body, feet, legs, 0.62 * legs))
    elif person.pose == "sitting":
        knee_u, knee_z = u_body + 0.42 * ahead, min(hips, knees + 0.05)
        shapes.append(
            _limb(
                knee_u,
                knee_z,
                knee_u + 0.03 * ahead,
                feet,
                0.07 + 0.5 * legs * (1 - abs(ahead)),
                0.05 + 0.4 * legs * (1 - abs(ahead)),
            )
        )
        shapes.append(_limb(u_body, hips + 0.02, knee_u, knee_z, 0.1, 0.08))
    else:
        shapes.append(_limb(u_body, feet + 0.06, u_body - 0.42 * ahead, feet + 0.05, 0.06, 0.05))
        shapes.append(_limb(u_body, hips + 0.05, u_body, feet + 0.02, legs, 0.7 * legs))
    drop = 0.035 * stature
    torso = [
        (u_body - legs, hips), (u_body + legs, hips), (u_body + half, shoulders - 2 * drop),
        (u_body + 0.86 * half, shoulders - 0.6 * drop),
        (u_body + 0.45 * half, shoulders + 0.2 * drop), (u_body - 0.45 * half, shoulders + 0.2 * drop),
        (u_body - 0.86 * half, shoulders - 0.6 * drop), (u_body - half, shoulders - 2 * drop),
    ]  # fmt: skip
    shapes.append(Polygon(tuple(torso), "figure"))
    shapes.append(_limb(u - 0.09 * ahead, z - 0.02, u_body, shoulders + 0.01, 0.055, 0.065))
    if abs(ahead) > 0.25:
        nose = math.copysign(1.0, ahead)
        shapes.append(Polygon(((u, z + 0.03), (u + 0.055 * nose, z - 0.025), (u, z - 0.045)), pen))
    shapes.append(Circle((u - 0.08 * ahead, z + 0.005), 0.06 * stature, pen))
    return tuple(shapes)


def _limb(u0: float, z0: float, u1: float, z1: float, half0: float, half1: float) -> Polygon:
    """A tapering band from one point to another. [m]"""
    length = math.hypot(u1 - u0, z1 - z0) or 1.0
    nu, nz = -(z1 - z0) / length, (u1 - u0) / length
    return Polygon(
        ((u0 + nu * half0, z0 + nz * half0), (u1 + nu * half1, z1 + nz * half1),
         (u1 - nu * half1, z1 - nz * half1), (u0 - nu * half0, z0 - nz * half0)), "figure",
    )  # fmt: skip


def cross(at: Point) -> tuple[Shape, ...]:
    """The sign of a mark. [m]"""
    u, v, arm = *at, 0.07
    return (
        Line(((u - arm, v - arm), (u + arm, v + arm)), "mark"),
        Line(((u - arm, v + arm), (u + arm, v - arm)), "mark"),
    )


def camera_on(cut: Cut, focus: FocusPlan) -> tuple[Shape, ...]:
    """Body and lens of the camera on any cut, twice life size so that the lens's swing or tilt is seen. [m]"""
    frame, film_z = focus.frame, float(focus.principal_point[2]) - focus.film_distance
    body = _slab(frame.axes, frame.at + frame.forward * film_z, 0.14, 0.10, (-0.07, 0.05))
    axis = frame.direction_to_place(focus.axis)
    across = np.cross(axis, WORLD_UP)
    across = across / np.linalg.norm(across)
    lens = _slab(np.stack([across, np.cross(across, axis), axis]), frame.at, 0.08, 0.08, (-0.03, 0.15))
    return outline(cut, body, "camera"), outline(cut, lens, "camera")


def _slab(axes: Points, centre: Points, width: float, height: float, reach: tuple[float, float]) -> Points:
    """Eight corners of a box, twice its given width and height, from reach[0] to reach[1] along its third axis."""
    signs = [(i * width, j * height, k) for i in (-1, 1) for j in (-1, 1) for k in reach]
    return np.asarray(centre + np.array(signs) @ axes)


def light_on(cut: Cut, light: ShotLight) -> tuple[Shape, ...]:
    """Stand, head or front, and where it is aimed. On the plan the stand is its footprint. [m]"""
    at, aim = np.array(light.at), np.array(light.aim)
    away = aim - at
    reach = float(np.linalg.norm(away))
    axis = away / reach if reach > 1e-9 else np.array([1.0, 0.0, 0.0])
    here = cut.project(at)
    shapes: list[Shape] = []
    if cut.film_axis == 0:
        shapes.append(Circle(here, STAND_DIAMETER / 2, "stand"))
    else:
        foot, spread, mast = (here[0], 0.0), STAND_DIAMETER / 2, min(here[1], 0.45)
        shapes += [Line((here, foot), "stand"), Line(((here[0] - spread, 0.0), (here[0], mast)), "stand")]
        shapes.append(Line(((here[0] + spread, 0.0), (here[0], mast)), "stand"))
    shapes.append(outline(cut, _front(at, axis, light.modifier), "light"))
    head = _slab(_axes_about(axis), at, 0.07, 0.07, (-0.3, -0.02))
    shapes.append(outline(cut, head, "light"))
    along = cut.direction(axis)
    if reach > 0.3 and math.hypot(*along) > 0.2:
        tip = cut.project(at + axis * min(reach * 0.72, 1.5))
        shapes.append(Arrow(cut.project(at + axis * 0.12), tip, "beam"))
    return tuple(shapes)


def _axes_about(axis: Points) -> Points:
    """Rows: across (level), up, axis; for an axis straight up or down, across is x."""
    across = np.cross(axis, WORLD_UP)
    size = float(np.linalg.norm(across))
    across = across / size if size > 1e-6 else np.array([1.0, 0.0, 0.0])
    return np.stack([across, np.cross(across, axis), axis])


def _front(at: Points, axis: Points, modifier: Modifier | None) -> Points:
    """Corners (N, 3) of the luminous front at its true size, 4 cm deep; a small tube when bare. [m]"""
    width, height = modifier.size if modifier is not None else (0.10, 0.10)
    axes = _axes_about(axis)
    if modifier is None or modifier.shape == "rectangle":
        return _slab(axes, at, width / 2, height / 2, (0.0, 0.05))
    sides = 8 if modifier.shape == "octagon" else 24
    turns = np.linspace(0, 2 * math.pi, sides, endpoint=False) + math.pi / sides
    rim = np.cos(turns)[:, None] * axes[0] * width / 2 + np.sin(turns)[:, None] * axes[1] * height / 2
    return np.concatenate([at + rim, at + rim + 0.05 * axis])
