"""Trousers, jersey, jacket, coat, collars, apron, boots, built over a posed body as closed surfaces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from figure_making import fields
from figure_making.body import Rest
from figure_making.fields import Field, Skin
from figure_making.pose import Posed

STEP = 0.0058
"""Spacing of the grid. [m]"""

Mesh = tuple[np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Cut:
    """How a top is cut. `loose` from the skin, `hem` above the hip joint, `neck` above the neck's root, `fold` the
    folds' height [m]; `rib` draws hem and cuffs in; `front` gives a placket and pockets; `faces` at most."""

    loose: float
    hem: float
    neck: float
    fold: float
    faces: int
    rib: bool = False
    front: bool = False


class Wardrobe:
    """Garments over one posed body. Hems and cuffs are told in the coordinates of the rest."""

    def __init__(self, posed: Posed, seed: int, seat: float | None = None) -> None:
        self.posed, self.rest, self.seed, self.seat = posed, posed.rest, seed, seat
        rest = self.rest
        z = lambda bone: float(rest.heads[rest.bone(bone)][2])
        self.hip, self.knee, self.ankle = z("upperleg01.L"), z("lowerleg01.L"), z("foot.L")
        self.neck, self.chest = z("neck01"), z("spine01")
        self.neck_x = float(rest.heads[rest.bone("neck01")][0])
        self.floor = float(rest.vertices[:13380, 2].min())
        skin = fields.sample_quads(posed.vertices, rest.vertices, rest.weights, rest.tights, 4)
        arms = ("upperarm", "lowerarm", "wrist", "finger", "metacarpal")
        self.skin, self.arm = skin, self._share(skin, *arms)
        high = skin.rest[:, 2]
        self.upper_skin = skin.only(high > self.hip - 0.36)
        self.lower_skin = skin.only((self.arm < 0.02) & (high < self.hip + 0.22))
        self._fields: dict[str, Field] = {}

    def _share(self, skin: Skin, *prefixes: str) -> np.ndarray:
        chosen = [i for i, b in enumerate(self.rest.bones) if b.startswith(prefixes)]
        return np.asarray(skin.weights[:, chosen].sum(axis=1))

    def past_wrist(self, skin: Skin) -> np.ndarray:
        """How far (N,) each sample lies beyond the wrist along the forearm, at rest; -0.3 where no arm is. [m]"""
        arm = self._share(skin, "upperarm", "lowerarm", "wrist", "finger", "metacarpal")
        out = np.full(len(skin.points), -0.3)
        for side, sign in (("L", 1.0), ("R", -1.0)):
            wrist = self.rest.heads[self.rest.bone(f"wrist.{side}")]
            line = wrist - self.rest.heads[self.rest.bone(f"lowerarm01.{side}")]
            mine = (skin.rest[:, 1] * sign > 0) & (arm > 0.5)
            out[mine] = (skin.rest[mine] - wrist) @ (line / np.linalg.norm(line))
        return np.maximum(out, -0.3)

    @property
    def upper(self) -> Field:
        """Distance from torso, arms and thighs."""
        if "upper" not in self._fields:
            self._fields["upper"] = fields.distance(self.upper_skin, STEP)
        return self._fields["upper"]

    @property
    def lower(self) -> Field:
        """Distance from hips and legs."""
        if "lower" not in self._fields:
            self._fields["lower"] = fields.distance(self.lower_skin, STEP)
        return self._fields["lower"]

    def top(self, cut: Cut) -> Mesh:
        """A garment for torso and arms."""
        field, skin = self.upper, self.upper_skin
        z, arm, past = skin.rest[:, 2], self._share(skin, "upperarm", "lowerarm", "wrist"), self.past_wrist(skin)
        ease = np.full(len(z), cut.loose) * np.where(arm > 0.5, 0.85, 1.0)
        ease *= 1 - 0.55 * np.clip(skin.normals[:, 2], 0, 1)
        ease += 0.5 * cut.loose * np.exp(-(((z - self.hip - 0.14) / 0.10) ** 2)) * (arm < 0.3)
        near_neck = np.clip((z - self.neck + 0.05) / 0.04, 0, 1) * (arm < 0.3)
        ease = ease * (1 - near_neck) + near_neck * (0.008 if cut.rib else 0.020)
        if cut.rib:
            ease *= 1 - 0.30 * np.clip(1 - np.abs(z - self.hip - cut.hem) / 0.06, 0, 1) * (arm < 0.3)
            ease *= 1 - 0.75 * np.clip(1 - np.abs(past + 0.010) / 0.05, 0, 1)
        value = fields.smooth(field.value - fields.smooth(field.spread(ease, 0.01), 0.022, STEP), 0.013, STEP)
        calm = 0.3 + 0.7 * np.clip((np.abs(field.spread(z) - self.hip - cut.hem) - 0.02) / 0.07, 0, 1)
        value = value - cut.fold * calm * self._folded(field, skin, 0.060)
        if cut.front:
            value = value - field.spread(self._front(skin))
        rest_z, rest_x = field.spread(z), field.spread(skin.rest[:, 0])
        if cut.hem < -0.1:
            skirt = np.clip((self.hip + 0.03 - rest_z) / 0.06, 0, 1) * (field.spread(arm) < 0.1)
            value = value * (1 - skirt) + skirt * (fields.smooth(value, 0.024, STEP) - 0.010)
        neckline = rest_z - (self.neck + cut.neck) + 0.40 * (rest_x - self.neck_x)
        neckline = np.where(field.spread(arm) > 0.2, -0.1, neckline)
        edge = np.maximum.reduce([self.hip + cut.hem - rest_z, field.spread(past) + 0.008, neckline])
        value = fields.smooth_max(value, fields.smooth(edge, 0.005, STEP), 0.008)
        return self._finish(field, self._on_seat(field, value, 0.004), cut.faces)

    def _front(self, skin: Skin) -> np.ndarray:
        """How far (N,) the placket and the pockets stand out. [m]"""
        y, z = skin.rest[:, 1], skin.rest[:, 2]
        faces_front = np.clip(skin.normals[:, 0] * 2, 0, 1)
        belt = 1 / (1 + np.exp((np.abs(y - 0.004) - 0.021) / 0.0015))
        low = _box(np.abs(y) - 0.105, z - self.hip - 0.035, 0.050, 0.055)
        flap = _box(np.abs(y) - 0.105, z - self.hip - 0.080, 0.054, 0.016)
        breast = _box(np.abs(y) - 0.085, z - self.chest + 0.045, 0.042, 0.045)
        seam = np.exp(-(((y + 0.019) / 0.003) ** 2))
        return np.asarray(faces_front * (0.0045 * belt - 0.004 * seam + 0.006 * low + 0.005 * flap + 0.005 * breast))

    def buttons(self, jacket: Mesh) -> Mesh:
        """Flat buttons down the front of a jacket."""
        vertices, normals = jacket[0], fields.vertex_normals(*jacket)
        front = normals[:, 0] > 0.3
        hips = self.posed.heads[self.rest.bone("spine05")]
        neck = self.posed.heads[self.rest.bone("neck01")]
        out_v, out_f = [], []
        for k, t in enumerate(np.linspace(0.10, 0.90, 5)):
            aim = hips + t * (neck - hips) + np.array([0.0, 0.004, 0.0])
            near = np.linalg.norm((vertices - aim)[:, 1:], axis=1) + 10.0 * ~front
            i = int(np.argmin(near - 0.2 * (vertices[:, 0] - aim[0])))
            around = np.linspace(0, 2 * np.pi, 10, endpoint=False)
            n = normals[i]
            u = np.cross(n, [0, 0, 1.0])
            u /= np.linalg.norm(u)
            w = np.cross(n, u)
            centre = np.array([vertices[i, 0], aim[1], aim[2]]) + 0.0015 * n
            ring = np.cos(around)[:, None] * u + np.sin(around)[:, None] * w
            v = np.concatenate(
                [centre + 0.0085 * ring, centre + 0.0078 * ring + 0.0028 * n, [centre + 0.0026 * n, centre]]
            )
            a, b = np.arange(10), (np.arange(10) + 1) % 10
            rim = [np.stack([a, b + 10, a + 10], 1), np.stack([a, b, b + 10], 1)]
            ends = [np.stack([a + 10, b + 10, a * 0 + 20], 1), np.stack([b, a, a * 0 + 21], 1)]
            f = np.concatenate([*rim, *ends])
            out_v.append(v)
            out_f.append(f + 22 * k)
        return np.concatenate(out_v), np.concatenate(out_f)

    def collar(self, inner: float, thick: float, span: tuple[float, float], open_front: float, faces: int) -> Mesh:
        """A band around the neck: `inner` from the skin, `thick`, from `span[0]` to `span[1]` above the root of the
        neck, with a gap of half width `open_front` at the throat [m]."""
        field, skin = self.upper, self.upper_skin
        z, x, y = (field.spread(skin.rest[:, i], far) for i, far in ((2, 9.0), (0, 0.0), (1, 9.0)))
        nodes = field.nodes()
        axis = self.posed.heads[self.rest.bone("neck01")]
        away = np.hypot(nodes[..., 0] - axis[0] - 0.012, nodes[..., 1] - axis[1])
        high = z - self.neck + 0.40 * (x - self.neck_x)
        shell = np.abs(fields.smooth(field.value, 0.009, STEP) - inner - thick / 2) - thick / 2
        edge = np.maximum.reduce([high - span[1], span[0] - high, away - 0.098 - inner + 0.010])
        if open_front > 0:
            wedge = open_front + 0.5 * np.maximum(high - span[0], 0)
            edge = np.maximum(edge, np.where(nodes[..., 0] > axis[0] + 0.02, wedge - np.abs(y), -0.1))
        value = fields.smooth_max(shell, fields.smooth(edge, 0.004, STEP), 0.006)
        return self._finish(field, np.where(field.spread(self._share(skin, "upperarm")) > 0.3, 0.1, value), faces)

    def trousers(self, faces: int, tucked: float | None = None) -> Mesh:
        """From the waist to the ankles, or `tucked` into boots that reach so far above the ankle [m]."""
        field, skin = self.lower, self.lower_skin
        z = skin.rest[:, 2]
        low = (0.034, 0.030, 0.025) if tucked is None else (0.008, 0.014, 0.028)
        bends = [self.ankle, self.ankle + 0.16, self.knee, self.hip - 0.13, self.hip - 0.05, self.hip + 0.14]
        ease = np.interp(z, bends, [*low, 0.022, 0.009, 0.002])
        value = fields.smooth(field.value, 0.013, STEP) - fields.smooth(field.spread(ease, 0.01), 0.012, STEP)
        rest_z = field.spread(z)
        bare_of_top = np.clip((self.hip - 0.06 - rest_z) / 0.07, 0, 1)
        value = value - 0.0065 * bare_of_top * self._folded(field, skin, 0.065)
        bottom = self.ankle - 0.020 if tucked is None else self.ankle + tucked - 0.05
        edge = np.maximum(bottom - rest_z, rest_z - self.hip - 0.13)
        value = fields.smooth_max(value, fields.smooth(edge, 0.005, STEP), 0.008)
        return self._finish(field, self._on_seat(field, value, 0.0), faces)

    def boots(self, shaft: float, faces: int) -> Mesh:
        """Both boots; `shaft` is how high they reach above the ankle [m]. Built at rest, then carried along."""
        rest = self.rest
        low = self.skin.rest[:, 2] < self.ankle + shaft + 0.06
        skin = self.skin.only(low)
        at_rest = fields.sample_quads(rest.vertices, rest.vertices, rest.weights, rest.tights, 4).only(low)
        vertices, triangles = [], []
        for sign in (1.0, -1.0):
            foot = at_rest.only(at_rest.rest[:, 1] * sign > 0)
            field = fields.distance(foot, 0.005, 0.05)
            z = field.nodes()[..., 2]
            heights = [self.floor, self.ankle, self.ankle + 0.05, self.ankle + 0.25]
            ease = np.interp(z, heights, [0.009, 0.011, 0.022, 0.030])
            value = fields.smooth(field.value - ease, 0.010, 0.005)
            upper = fields.smooth_max(value, np.maximum(self.floor - 0.004 - z, z - self.ankle - shaft), 0.006)
            tread = value[:, :, int(np.argmin(np.abs(z[0, 0] - (self.floor + 0.022))))] - 0.004
            slab = np.abs(z - (self.floor - 0.006)) - 0.016
            sole = fields.smooth_max(np.repeat(tread[:, :, None], z.shape[2], axis=2), slab, 0.004)
            v, f = fields.surface(field, np.minimum(upper, sole))
            v, f = fields.simplify(fields.relax(v, f, 3), f, faces // 2)
            vertices.append(self._carried(v, skin))
            triangles.append(f + (len(vertices[0]) if sign < 0 else 0))
        return np.concatenate(vertices), np.concatenate(triangles)

    def apron(self, faces: int) -> Mesh:
        """A bib apron from the chest to above the knees, a shell over the front."""
        field, skin = self.upper, self.upper_skin
        z, y = (field.spread(skin.rest[:, i]) for i in (2, 1))
        at_rest = fields.sample_quads(self.rest.vertices, self.rest.vertices, self.rest.weights, self.rest.tights, 4)
        front = at_rest.normals[self.skin.rest[:, 2] > self.hip - 0.36, 0]
        shell = np.abs(fields.smooth(field.value, 0.018, STEP) - 0.029) - 0.0048
        half = np.interp(z, [self.hip - 0.3, self.hip + 0.10, self.hip + 0.20, self.chest], [0.23, 0.20, 0.13, 0.115])
        edge = np.maximum.reduce(
            [np.abs(y) - half, z - self.chest - 0.01, self.hip - 0.25 - z, 0.05 - 0.2 * field.spread(front)]
        )
        edge = np.maximum(edge, np.where(field.spread(self._share(skin, "upperarm", "lowerarm")) > 0.2, 0.06, -0.06))
        value = fields.smooth_max(shell, fields.smooth(edge, 0.007, STEP), 0.006)
        return self._finish(field, self._on_seat(field, value, 0.0), faces)

    def hands(self) -> Mesh:
        """Skin of the hands, and as much of the forearm as the cuffs hide."""
        rest = self.rest
        hand = rest.share("wrist", "finger", "metacarpal", "lowerarm02") > 0.6
        keep = np.zeros(len(hand), bool)
        for side, sign in (("L", 1.0), ("R", -1.0)):
            wrist = rest.heads[rest.bone(f"wrist.{side}")]
            line = wrist - rest.heads[rest.bone(f"lowerarm01.{side}")]
            mine = (rest.vertices[:, 1] * sign > 0) & hand
            keep |= mine & ((rest.vertices - wrist) @ (line / np.linalg.norm(line)) > -0.055)
        keep[13380:] = False
        quads = rest.quads[keep[rest.quads].all(axis=1)]
        return fields.clean(self.posed.vertices, fields.triangles(quads))

    def carried_to(self, points: np.ndarray, other: Posed) -> np.ndarray:
        """Points of this pose in another pose of the same body. [m]"""
        weights = self._weights(self.skin, points, 12)
        turn, shift = self.posed.blend(weights)
        at_rest = np.linalg.solve(turn, (points - shift)[..., None])[..., 0]
        turn, shift = other.blend(weights)
        return np.asarray(np.einsum("nij,nj->ni", turn, at_rest) + shift)

    def _carried(self, v: np.ndarray, skin: Skin) -> np.ndarray:
        """Vertices built at rest in the pose."""
        at_rest = Skin(skin.rest, skin.normals, skin.rest, skin.weights)
        return self.posed.carry(v, _without_toes(self.rest, self._weights(at_rest, v, 30)))

    def _weights(self, skin: Skin, points: np.ndarray, count: int) -> np.ndarray:
        d, i = cKDTree(skin.points).query(points, k=count)
        share = 1.0 / (d**2 + 2e-4)
        share /= share.sum(axis=1, keepdims=True)
        return np.einsum("nk,nkb->nb", share, skin.weights[i])

    def _folded(self, field: Field, skin: Skin, length: float) -> np.ndarray:
        """Folds on the grid in -1..1, across the limbs, strongest where joints bend."""
        rest = self.rest
        children = {p: i for i, p in enumerate(rest.parents)}
        tips = np.array([rest.heads[children.get(b, b)] for b in range(len(rest.bones))])
        line = tips - rest.heads
        line /= np.maximum(np.linalg.norm(line, axis=1, keepdims=True), 1e-9)
        noise = fields.folds(skin.rest, line[np.argmax(skin.weights, axis=1)] * 0.8, self.seed, length)
        strength = np.full(len(noise), 0.55)
        for joint, reach in (("lowerarm01", 0.11), ("lowerleg01", 0.13), ("upperleg01", 0.14)):
            for side in "LR":
                away = np.linalg.norm(skin.rest - rest.heads[rest.bone(f"{joint}.{side}")], axis=1)
                strength = np.maximum(strength, 0.55 + 0.65 * np.exp(-((away / reach) ** 2)))
        strength = np.maximum(strength, np.exp(-(((skin.rest[:, 2] - self.ankle - 0.05) / 0.09) ** 2)))
        strength = np.maximum(strength, 0.9 * np.exp(-(((skin.rest[:, 2] - self.hip - 0.14) / 0.09) ** 2)))
        return fields.smooth(field.spread(noise * strength), 0.004, STEP)

    def _on_seat(self, field: Field, value: np.ndarray, above: float) -> np.ndarray:
        """Nothing under the seat's plane, under the hips and thighs."""
        if self.seat is None:
            return value
        nodes = field.nodes()
        over = nodes[..., 0] < self.posed.heads[self.rest.bone("lowerleg01.L")][0] - 0.09
        return np.where(over, fields.smooth_max(value, self.seat + above - nodes[..., 2], 0.014), value)

    def _finish(self, field: Field, value: np.ndarray, faces: int) -> Mesh:
        v, f = fields.surface(field, value)
        return fields.simplify(fields.relax(v, f, 2), f, faces)


def _box(across: np.ndarray, up: np.ndarray, half_width: float, half_height: float) -> np.ndarray:
    """One inside a rectangle, zero outside, over a millimetre or two."""
    outside = np.maximum(np.abs(across) - half_width, np.abs(up) - half_height)
    return np.asarray(1 / (1 + np.exp(np.clip(outside / 0.0015, -50, 50))))


def _without_toes(rest: Rest, weights: np.ndarray) -> np.ndarray:
    """Weights with those of the toes given to the foot, since a boot's toe is stiff."""
    out = weights.copy()
    for side in "LR":
        toes = [i for i, b in enumerate(rest.bones) if b.startswith("toe") and b.endswith(side)]
        out[:, rest.bone(f"foot.{side}")] += out[:, toes].sum(axis=1)
        out[:, toes] = 0.0
    return out
