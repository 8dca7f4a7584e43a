"""Head, hands, eyes, brows, hair, beard and headgear, as closed or skin-like surfaces of the posed body."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import cKDTree

from figure_making import fields
from figure_making.body import BODY, LEFT_EYE, RIGHT_EYE
from figure_making.pose import Posed

Mesh = tuple[np.ndarray, np.ndarray]
_FACE_BONES = (
    "neck", "head", "jaw", "special", "oris", "tongue", "levator", "eye.", "orbicularis", "temporalis", "oculi",
    "risorius",
)  # fmt: skip
STEP = 0.0045


class Head:
    """The head of one posed body. Lengths scale with the eyes' distance, 62 mm being one."""

    def __init__(self, posed: Posed) -> None:
        self.posed, self.rest = posed, posed.rest
        self.vertices = posed.vertices
        self.left, self.right = _ball(self.vertices[LEFT_EYE]), _ball(self.vertices[RIGHT_EYE])
        ahead = np.array([1.0, 0.0, 0.0])
        self.pupils = [c + r * ahead for c, r in (self.left, self.right)]
        self.middle = (self.pupils[0] + self.pupils[1]) / 2
        self.scale = float(np.linalg.norm(self.left[0] - self.right[0])) / 0.062
        share = self.rest.share(*_FACE_BONES)
        self.is_head = (share > 0.5) & (np.arange(len(share)) < BODY.stop)
        quads = self.rest.quads[self.is_head[self.rest.quads].all(axis=1)]
        skin = fields.sample_quads(self.vertices, self.vertices, self.rest.weights, quads, 3)
        out = skin.points[:, 2] > self.middle[2] - 0.14 * self.scale
        # the mouth's inside and the eye sockets lie within the head: leave them out by their normals
        self.samples = skin.only(out)
        self._field: fields.Field | None = None

    @property
    def field(self) -> fields.Field:
        """Distance from the head's skin."""
        if self._field is None:
            self._field = fields.distance(self.samples, STEP, 0.085)
        return self._field

    def local(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Forward, left, up of the grid's nodes from the middle of the eyes, in units of the scale. [m]"""
        n = (self.field.nodes() - self.middle) / self.scale
        return n[..., 0], n[..., 1], n[..., 2]

    def skin(self, neck_down: float) -> tuple[Mesh, Mesh]:
        """Skin of the head, and the lips: triangles of the body itself."""
        bottom = float(self.rest.heads[self.rest.bone("neck01")][2]) - neck_down
        keep = self.is_head & (self.rest.vertices[:, 2] > bottom)
        quads = self.rest.quads[keep[self.rest.quads].all(axis=1)]
        v, f, red = fields.split_at(self.vertices, fields.triangles(quads), self.rest.lips, 0.30)
        return fields.clean(v, f[~red]), fields.clean(v, f[red])

    def lashes(self) -> Mesh:
        """The upper lids' lashes, shortened to a dark line."""
        v, f = fields.clean(self.vertices, fields.triangles(self.rest.lashes))
        keep = v[f].mean(axis=1)[:, 2] > self.middle[2] - 0.001 * self.scale
        v, f = fields.clean(v, f[keep])
        skin = self.vertices[BODY][self.is_head[BODY]]
        root = skin[cKDTree(skin).query(v)[1]]
        return root + 0.45 * (v - root) + np.array([0.0006, 0.0, 0.0]), f

    def eyeballs(self) -> tuple[Mesh, Mesh, Mesh]:
        """White, iris, pupil: bands of each eye's sphere, about the direction of gaze."""
        parts: list[list[Mesh]] = [[], [], []]
        for centre, radius in (self.left, self.right):
            iris, pupil = np.arcsin(0.0062 * self.scale / radius), np.arcsin(0.0021 * self.scale / radius)
            for into, low, high in zip(parts, (iris, pupil, 0.0), (2.0, iris, pupil), strict=True):
                into.append(_band(centre, radius, low, high))
        return _join(parts[0]), _join(parts[1]), _join(parts[2])

    def brows(self, width: float, lift: float) -> Mesh:
        """Two strips laid on the brow ridge. `width` at the widest, `lift` above the skin [m]."""
        front = self.samples.only(self.samples.normals[:, 0] > 0.25)
        depth = LinearNDInterpolator(front.points[:, 1:], front.points[:, 0])
        k, strips = self.scale, []
        for sign in (1.0, -1.0):
            t = np.linspace(0, 1, 18)
            y = self.middle[1] + sign * k * (0.0125 + 0.039 * t)
            z = self.middle[2] + k * (0.0165 + 0.0075 * np.sin(np.pi * (0.10 + 0.65 * t)) - 0.005 * t**2)
            ragged = 1 + 0.10 * np.sin(37 * t + sign) + 0.08 * np.sin(71 * t)
            half = (
                0.5
                * k
                * width
                * ragged
                * np.sqrt(np.clip(np.sin(np.pi * (0.10 + 0.88 * t)), 0.02, 1))
                * (1 - 0.45 * t)
            )
            around = np.linspace(0, 2 * np.pi, 8, endpoint=False)
            zz = z[:, None] + half[:, None] * np.cos(around)
            yy = np.repeat(y[:, None], 8, axis=1)
            xx = depth(yy, zz) + k * lift * np.maximum(np.sin(around), -0.6)
            strips.append(_tube(np.stack([xx, yy, zz], axis=-1), inside_out=sign < 0))
        return _join(strips)

    def points(self) -> dict[str, np.ndarray]:
        """Chin, forehead, nose, eyes. [m]"""
        head = self.vertices[: BODY.stop][self.is_head[: BODY.stop]]
        from_eyes = (head - self.middle) / self.scale
        near = np.abs(from_eyes[:, 1]) < 0.012
        out = {"left eye": self.pupils[0], "right eye": self.pupils[1]}
        for name, low, high in (("nose", -0.06, -0.02), ("chin", -0.125, -0.100), ("forehead", 0.045, 0.060)):
            some = head[near & (from_eyes[:, 2] > low) & (from_eyes[:, 2] < high)]
            out[name] = some[np.argmax(some[:, 0])] * np.array([1, 0, 1]) + self.middle * np.array([0, 1, 0])
        return out

    def body_points(self) -> dict[str, np.ndarray]:
        """Hands, feet, root of the neck, hips. [m]"""
        out = {}
        for side, word in (("L", "left"), ("R", "right")):
            out[f"{word} hand"] = self.posed.heads[self.rest.bone(f"finger3-1.{side}")]
            foot = self.posed.heads[self.rest.bone(f"toe2-1.{side}")]
            out[f"{word} foot"] = foot
        out["neck"] = self.posed.heads[self.rest.bone("neck01")]
        out["left hip"] = self.posed.heads[self.rest.bone("upperleg01.L")]
        out["right hip"] = self.posed.heads[self.rest.bone("upperleg01.R")]
        return out

    def hair(self, style: str, seed: int, faces: int, under: bool = False) -> Mesh:
        """Hair as a closed surface: "short", "receding" or "bun"; `under` headgear, only what shows below it."""
        x, y, z = self.local()
        line_x = [-0.20, -0.165, -0.130, -0.112, -0.092, -0.078, -0.062, -0.045, -0.020, 0.03]
        line_z = [-0.085, -0.080, -0.050, -0.015, -0.010, -0.012, 0.012, 0.046, 0.060, 0.064]
        thick, top = 0.006, 0.014
        value = fields.smooth(self.field.value, 0.007, STEP)
        if style == "receding":
            line_z = [-0.085, -0.080, -0.050, -0.015, 0.000, -0.004, 0.030, 0.072, 0.090, 0.098]
            thick, top = 0.005, 0.006
        edge = np.interp(x, line_x, line_z) - 0.010 * np.cos(y / 0.03) * (x > -0.05) * (np.abs(y) < 0.047)
        ease = thick + (top - thick) * np.clip((z - 0.01) / 0.08, 0, 1)
        if style == "bun":
            ease = 0.008 + 0.008 * np.clip((z - 0.02) / 0.06, 0, 1)
        strands = fields.folds(
            np.stack([x, y, z], -1).reshape(-1, 3), np.tile([0.0, 1.0, 0.25], (x.size, 1)), seed, 0.011
        ).reshape(x.shape)
        value = value - self.scale * (ease + 0.0024 * strands)
        cut = self.scale * (edge - z + 0.004 * strands)
        tip_x, tip_z = self._ear()
        ear = np.sqrt(((x - tip_x) / 0.75) ** 2 + (z - tip_z) ** 2 + (np.maximum(0.05 - np.abs(y), 0)) ** 2)
        cut = np.maximum(cut, self.scale * (0.036 - ear))
        if under:
            rim = np.interp(x, [-0.20, -0.14, -0.09, -0.03, 0.02], [0.010, 0.028, 0.046, 0.060, 0.064])
            cut = np.maximum(cut, self.scale * (z - rim))
        value = fields.smooth_max(value, fields.smooth(cut, 0.003, STEP), 0.006)
        if style == "bun":
            knot = np.sqrt(((x + 0.196) / 0.8) ** 2 + y**2 + ((z + 0.052) / 0.95) ** 2) - 0.033 - 0.002 * strands
            value = fields.smooth_min(value, self.scale * knot, 0.014)
        return self._mesh(value, faces)

    def beard(self, seed: int, faces: int) -> Mesh:
        """A short full beard and moustache, clear of the lips."""
        x, y, z = self.local()
        value = fields.smooth(self.field.value, 0.005, STEP)
        strands = fields.folds(
            np.stack([x, y, z], -1).reshape(-1, 3), np.tile([0.0, 1.0, 0.0], (x.size, 1)), seed, 0.009
        ).reshape(x.shape)
        ease = 0.004 + 0.010 * np.clip((-0.070 - z) / 0.04, 0, 1) * np.clip((x + 0.07) / 0.04, 0, 1) + 0.001 * strands
        upper = np.interp(
            np.abs(y), [0, 0.012, 0.026, 0.035, 0.055, 0.075], [-0.052, -0.054, -0.060, -0.068, -0.045, 0.0]
        )
        cut = np.maximum(z - upper, -0.150 - z)
        cut = np.maximum(cut, -0.082 - x)
        mouth = np.sqrt((y / 1.9) ** 2 + ((z + 0.0735) / 0.85) ** 2) - 0.0125
        cut = np.maximum(cut, np.where(x > -0.03, -mouth, -0.1))
        value = fields.smooth_max(value - self.scale * ease, fields.smooth(self.scale * cut, 0.003, STEP), 0.004)
        return self._mesh(value, faces)

    def beanie(self, seed: int, faces: int) -> Mesh:
        """A knitted cap with a turned-up band."""
        x, y, z = self.local()
        value = fields.smooth(self.field.value, 0.014, STEP)
        edge = np.interp(x, [-0.20, -0.14, -0.09, -0.03, 0.02], [-0.018, -0.004, 0.016, 0.044, 0.050])
        band = 1 / (1 + np.exp((z - edge - 0.040) / 0.0025))
        rib = np.sin(np.arctan2(y, x + 0.09) * 70)
        ease = 0.0125 + 0.0042 * band + 0.0006 * rib * band + 0.012 * np.clip((z - 0.07) / 0.06, 0, 1) ** 1.5
        crumple = fields.folds(
            np.stack([x, y, z], -1).reshape(-1, 3), np.tile([0.3, 0.3, 1.0], (x.size, 1)), seed, 0.04
        ).reshape(x.shape)
        value = value - self.scale * (ease + 0.002 * crumple * (1 - band))
        return self._mesh(fields.smooth_max(value, self.scale * (edge - z), 0.008), faces)

    def cap(self, faces: int) -> Mesh:
        """A cloth cap with a peak."""
        x, y, z = self.local()
        value = fields.smooth(self.field.value, 0.012, STEP)
        edge = np.interp(x, [-0.20, -0.14, -0.09, -0.03, 0.02], [0.000, 0.018, 0.036, 0.052, 0.056])
        ease = 0.017 + 0.016 * np.clip((z - 0.05) / 0.035, 0, 1) * np.clip((x + 0.20) / 0.2, 0.3, 1)
        crown = fields.smooth_max(value - self.scale * ease, self.scale * (edge - z), 0.006)
        sheet = np.abs(z - (0.060 - 0.22 * (x - 0.0) - 4.5 * y**2)) - 0.0035
        plan = np.sqrt(((x + 0.012) / 1.0) ** 2 + (y / 1.02) ** 2) - 0.083
        peak = self.scale * np.maximum.reduce([sheet, plan, -0.035 - x])
        return self._mesh(fields.smooth_min(crown, fields.smooth(peak, 0.002, STEP), 0.004), faces)

    def _ear(self) -> tuple[float, float]:
        """Forward and up of the ear's middle from the eyes, in units of the scale. [m]"""
        n = (self.vertices[: BODY.stop][self.is_head[: BODY.stop]] - self.middle) / self.scale
        side = n[(n[:, 2] > -0.07) & (n[:, 2] < 0.05)]
        tip = side[np.argsort(side[:, 1])[-40:]]
        return float(tip[:, 0].mean()) + 0.008, float(tip[:, 2].mean()) - 0.008

    def _mesh(self, value: np.ndarray, faces: int) -> Mesh:
        v, f = fields.surface(self.field, value)
        return fields.simplify(fields.relax(v, f, 2), f, faces)


def _ball(points: np.ndarray) -> tuple[np.ndarray, float]:
    """Sphere of least squares through points: centre, radius. [m]"""
    a = np.c_[2 * points, np.ones(len(points))]
    s = np.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)[0]
    return s[:3], float(np.sqrt(s[3] + s[:3] @ s[:3]))


def _band(centre: np.ndarray, radius: float, low: float, high: float) -> Mesh:
    """The zone of a sphere between two angles from +x [rad]."""
    around = np.linspace(0, 2 * np.pi, 28, endpoint=False)
    rings = np.linspace(low, high, 12 if high > 1 else 4)
    grid = np.stack(
        [
            np.cos(rings)[:, None] * np.ones_like(around),
            np.sin(rings)[:, None] * np.cos(around),
            np.sin(rings)[:, None] * np.sin(around),
        ],
        axis=-1,
    )
    v = centre + radius * grid.reshape(-1, 3)
    n, faces = len(around), []
    for r in range(len(rings) - 1):
        i = r * n + np.arange(n)
        j = r * n + (np.arange(n) + 1) % n
        faces += [np.stack([i, i + n, j + n], 1), np.stack([i, j + n, j], 1)]
    f = np.concatenate(faces)
    a, b, c = (v[f[:, i]] for i in range(3))
    out = (np.cross(b - a, c - a) * ((a + b + c) / 3 - centre)).sum(axis=1)
    f[out < 0] = f[out < 0][:, ::-1]
    return fields.clean(v, f)


def _tube(rings: np.ndarray, inside_out: bool) -> Mesh:
    """A closed tube through rings (R, M, 3), its ends filled."""
    r, m = rings.shape[:2]
    v = np.concatenate([rings.reshape(-1, 3), rings[[0, -1]].mean(axis=1)])
    faces = []
    k, kk = np.arange(m), (np.arange(m) + 1) % m
    for i in range(r - 1):
        faces += [
            np.stack([i * m + k, i * m + kk, (i + 1) * m + kk], 1),
            np.stack([i * m + k, (i + 1) * m + kk, (i + 1) * m + k], 1),
        ]
    faces += [
        np.stack([np.full(m, r * m), kk, k], 1),
        np.stack([np.full(m, r * m + 1), (r - 1) * m + k, (r - 1) * m + kk], 1),
    ]
    f = np.concatenate(faces)
    return v, f[:, ::-1] if inside_out else f


def _join(meshes: list[Mesh]) -> Mesh:
    """Several meshes as one."""
    v, f, count = [], [], 0
    for mv, mf in meshes:
        v.append(mv)
        f.append(mf + count)
        count += len(mv)
    return np.concatenate(v), np.concatenate(f)
