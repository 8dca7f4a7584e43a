"""Bones turned into a pose, and vertices carried along by their weights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from figure_making.body import Rest

SIDES = (("L", 1.0), ("R", -1.0))


@dataclass
class Posed:
    """World rotation (B, 3, 3) of every bone relative to rest, and where its head has gone (B, 3) [m]."""

    rest: Rest
    turn: np.ndarray
    heads: np.ndarray

    def carry(self, points: np.ndarray, weights: np.ndarray) -> np.ndarray:
        """Points (N, 3) of the rest, with bone weights (N, B), in the pose: linear blend. [m]"""
        out = np.zeros_like(points)
        for bone in np.flatnonzero(weights.max(axis=0) > 1e-4):
            moved = (points - self.rest.heads[bone]) @ self.turn[bone].T + self.heads[bone]
            out += weights[:, bone, None] * moved
        return out

    def blend(self, weights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The blended affine map (N, 3, 3), (N, 3) that carries rest points with those weights."""
        shift = self.heads - np.einsum("bij,bj->bi", self.turn, self.rest.heads)
        return np.einsum("nb,bij->nij", weights, self.turn), weights @ shift

    @property
    def vertices(self) -> np.ndarray:
        """All vertices of the body in the pose. [m]"""
        return self.carry(self.rest.vertices, self.rest.weights)


class Poser:
    """Turns bones one after another, from the root outwards; directions are in the figure's frame."""

    def __init__(self, rest: Rest) -> None:
        self.rest = rest
        self.turn = np.tile(np.eye(3), (len(rest.bones), 1, 1))
        self.heads = rest.heads.copy()
        self.children: list[list[int]] = [[] for _ in rest.bones]
        for i, p in enumerate(rest.parents):
            if p >= 0 and p != i:
                self.children[p].append(i)

    def rotate(self, name: str, rotation: np.ndarray) -> None:
        """Turn a bone and all that hangs on it about its head."""
        bone = self.rest.bone(name)
        pivot = self.heads[bone].copy()
        todo = [bone]
        while todo:
            i = todo.pop()
            self.turn[i] = rotation @ self.turn[i]
            self.heads[i] = rotation @ (self.heads[i] - pivot) + pivot
            todo += self.children[i]

    def direction(self, name: str, tip: str) -> np.ndarray:
        """Unit vector from the head of one bone to the head of another."""
        d = self.heads[self.rest.bone(tip)] - self.heads[self.rest.bone(name)]
        return d / np.linalg.norm(d)

    def aim(self, name: str, tip: str, target: tuple[float, float, float] | np.ndarray) -> None:
        """Turn a bone by the least angle so that `tip` lies in the direction `target` from its head."""
        self.rotate(name, least_turn(self.direction(name, tip), np.asarray(target, float)))

    def reach(self, side: str, target: np.ndarray, elbow: tuple[float, float, float]) -> None:
        """Bring a wrist to `target` [m], the elbow bent towards the direction `elbow`."""
        shoulder = self.heads[self.rest.bone(f"upperarm01.{side}")]
        a = np.linalg.norm(self.heads[self.rest.bone(f"lowerarm01.{side}")] - shoulder)
        b = np.linalg.norm(
            self.heads[self.rest.bone(f"wrist.{side}")] - self.heads[self.rest.bone(f"lowerarm01.{side}")]
        )
        line = target - shoulder
        span = min(np.linalg.norm(line), 0.995 * (a + b))
        line = line / np.linalg.norm(line)
        along = (a * a + span * span - b * b) / (2 * span)
        out = np.asarray(elbow) - line * np.dot(elbow, line)
        out = out / np.linalg.norm(out)
        bend = shoulder + line * along + out * np.sqrt(max(a * a - along * along, 0.0))
        self.aim(f"upperarm01.{side}", f"lowerarm01.{side}", bend - shoulder)
        self.aim(f"lowerarm01.{side}", f"wrist.{side}", shoulder + line * span - bend)

    def lay_hand(self, side: str, along: np.ndarray, palm: np.ndarray, curl: float) -> None:
        """Turn the hand so that the fingers point `along` and the palm faces `palm`; curl the fingers [rad]."""
        along = along / np.linalg.norm(along)
        palm = palm - along * np.dot(palm, along)
        palm = palm / np.linalg.norm(palm)
        now_along = self.direction(f"wrist.{side}", f"finger3-1.{side}")
        across = self.direction(f"finger5-1.{side}", f"finger2-1.{side}")
        now_palm = np.cross(now_along, across) * (1.0 if side == "L" else -1.0)
        now = np.stack([now_along, _unit(now_palm), _unit(np.cross(now_along, now_palm))], axis=1)
        now[:, 1] = np.cross(now[:, 2], now[:, 0])
        wanted = np.stack([along, palm, np.cross(along, palm)], axis=1)
        full = wanted @ now.T
        # the forearm shares the twist with the wrist
        half = _fraction(full, 0.45)
        line = self.direction(f"lowerarm02.{side}", f"wrist.{side}")
        self.rotate(f"lowerarm02.{side}", _twist_part(half, line))
        now_along = self.direction(f"wrist.{side}", f"finger3-1.{side}")
        across = self.direction(f"finger5-1.{side}", f"finger2-1.{side}")
        now_palm = np.cross(now_along, across) * (1.0 if side == "L" else -1.0)
        now = np.stack([now_along, _unit(now_palm), _unit(np.cross(now_along, now_palm))], axis=1)
        now[:, 1] = np.cross(now[:, 2], now[:, 0])
        self.rotate(f"wrist.{side}", wanted @ now.T)
        axis = np.cross(along, palm)
        for finger in "2345":
            for joint in "123":
                amount = curl * (0.8 + 0.1 * int(finger)) * (0.7 if joint == "1" else 1.0)
                self.rotate(f"finger{finger}-{joint}.{side}", about(axis, amount))

    def done(self) -> Posed:
        """The pose reached."""
        return Posed(self.rest, self.turn, self.heads)


def about(axis: np.ndarray, angle: float) -> np.ndarray:
    """Rotation (3, 3) about an axis by an angle [rad]."""
    x, y, z = np.asarray(axis, float) / np.linalg.norm(axis)
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * (k @ k)


def least_turn(start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Rotation of least angle from one direction to another."""
    a, b = _unit(start), _unit(end)
    axis = np.cross(a, b)
    sine = np.linalg.norm(axis)
    return np.eye(3) if sine < 1e-12 else about(axis, float(np.arctan2(sine, a @ b)))


def _unit(v: np.ndarray) -> np.ndarray:
    return np.asarray(v / np.linalg.norm(v))


def _fraction(rotation: np.ndarray, part: float) -> np.ndarray:
    angle = np.arccos(np.clip((np.trace(rotation) - 1) / 2, -1, 1))
    axis = np.array(
        [rotation[2, 1] - rotation[1, 2], rotation[0, 2] - rotation[2, 0], rotation[1, 0] - rotation[0, 1]]
    )
    return np.eye(3) if np.linalg.norm(axis) < 1e-9 else about(axis, angle * part)


def _twist_part(rotation: np.ndarray, line: np.ndarray) -> np.ndarray:
    """The part of a rotation that turns about `line`."""
    angle = np.arccos(np.clip((np.trace(rotation) - 1) / 2, -1, 1))
    axis = np.array(
        [rotation[2, 1] - rotation[1, 2], rotation[0, 2] - rotation[2, 0], rotation[1, 0] - rotation[0, 1]]
    )
    if np.linalg.norm(axis) < 1e-9:
        return np.eye(3)
    return about(line, float(angle * np.dot(_unit(axis), line)))


def level_feet(p: Poser, outward: float) -> None:
    """Feet flat on the floor again, toes turned outward [rad]."""
    for side, sign in SIDES:
        foot = p.rest.bone(f"foot.{side}")
        d = p.rest.heads[p.rest.bone(f"toe2-1.{side}")] - p.rest.heads[foot]
        yaw = np.arctan2(d[1], d[0])
        p.rotate(f"foot.{side}", about(np.array([0, 0, 1.0]), sign * outward - yaw) @ p.turn[foot].T)


def drop_shoulders(p: Poser, by: float) -> None:
    """Let the shoulders hang, by an angle [rad]."""
    for side, sign in SIDES:
        p.rotate(f"clavicle.{side}", about(np.array([1.0, 0, 0]), -sign * by))


def over_thigh(p: Poser, place: np.ndarray, towards: np.ndarray, clear: float) -> np.ndarray:
    """A place moved along the unit vector `towards` until it is `clear` of the skin of the legs there. [m]"""
    rest = p.rest
    legs = rest.share("upperleg", "pelvis", "spine05") > 0.5
    legs[13380:] = False
    v = p.done().carry(rest.vertices[legs], rest.weights[legs])
    from_place = v - place
    across = from_place - np.outer(from_place @ towards, towards)
    top = float((from_place @ towards)[np.linalg.norm(across, axis=1) < 0.05].max())
    return np.asarray(place + towards * (top + clear))


def standing(rest: Rest) -> Posed:
    """Relaxed, arms by the sides, feet a hand's breadth apart."""
    p = Poser(rest)
    drop_shoulders(p, 0.10)
    for side, sign in SIDES:
        p.aim(f"upperleg01.{side}", f"lowerleg01.{side}", (0.02, sign * 0.055, -1.0))
        p.aim(f"lowerleg01.{side}", f"foot.{side}", (-0.05, sign * 0.03, -1.0))
        p.aim(f"upperarm01.{side}", f"lowerarm01.{side}", (-0.06, sign * 0.30, -1.0))
        p.aim(f"lowerarm01.{side}", f"wrist.{side}", (0.26, sign * 0.10, -1.0))
        p.lay_hand(side, np.array([0.16, sign * -0.02, -1.0]), np.array([-0.25, -sign, 0.0]), 0.22)
    level_feet(p, 0.16)
    return p.done()


def sitting(rest: Rest, thigh_slope: float = 0.0) -> Posed:
    """On a seat, hands on the lap; `thigh_slope` is how far the thighs rise towards the knees. [-]"""
    p = Poser(rest)
    drop_shoulders(p, 0.08)
    p.rotate("spine05", about(np.array([0, 1.0, 0]), 0.06))
    p.rotate("spine02", about(np.array([0, 1.0, 0]), 0.07))
    p.rotate("neck01", about(np.array([0, 1.0, 0]), -0.13))
    for side, sign in SIDES:
        p.aim(f"upperleg01.{side}", f"lowerleg01.{side}", (1.0, sign * 0.16, thigh_slope))
        p.aim(f"lowerleg01.{side}", f"foot.{side}", (0.06, sign * 0.02, -1.0))
    level_feet(p, 0.18)
    for side, sign in SIDES:
        hip, knee = p.heads[rest.bone(f"upperleg01.{side}")], p.heads[rest.bone(f"lowerleg01.{side}")]
        on_thigh = hip + 0.46 * (knee - hip) + np.array([0.0, -sign * 0.015, 0.0])
        p.reach(side, over_thigh(p, on_thigh, np.array([0, 0, 1.0]), 0.054), (-0.55, sign * 0.75, -0.5))
        down = np.array([thigh_slope, 0.0, -1.0])
        p.lay_hand(side, np.array([1.0, -sign * 0.38, -0.06 + thigh_slope]), down, 0.10)
    return p.done()


def kneeling(rest: Rest) -> Posed:
    """Upright on both knees, insteps on the floor, hands on the thighs."""
    p = Poser(rest)
    drop_shoulders(p, 0.08)
    for side, sign in SIDES:
        p.aim(f"upperleg01.{side}", f"lowerleg01.{side}", (0.10, sign * 0.09, -1.0))
        p.aim(f"lowerleg01.{side}", f"foot.{side}", (-1.0, -sign * 0.05, -0.02))
        p.aim(f"foot.{side}", f"toe2-1.{side}", (-1.0, -sign * 0.05, -0.30))
    for side, sign in SIDES:
        hip, knee = p.heads[rest.bone(f"upperleg01.{side}")], p.heads[rest.bone(f"lowerleg01.{side}")]
        on_thigh = hip + 0.34 * (knee - hip) + np.array([0.0, sign * 0.03, 0.0])
        p.reach(side, over_thigh(p, on_thigh, np.array([1.0, 0, 0]), 0.078), (-0.6, sign * 0.8, 0.0))
        p.lay_hand(side, np.array([0.16, -sign * 0.35, -1.0]), np.array([-1.0, -sign * 0.15, -0.1]), 0.10)
    return p.done()
