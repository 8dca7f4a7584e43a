"""Binary glTF of named parts: the one format in which place and people reach the page.

Coordinates turn from the place's z-up to glTF's y-up: (x, y, z) -> (x, z, -y), a rotation. Positions are stored as
16-bit steps of one scale a node (KHR_mesh_quantization), normals as bytes; both come back exact to well under what
a picture shows: 2 m of a person in steps of 0.03 mm.

Source
------
gltf2 (container, accessors, node transforms), khr_mesh_quantization
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_MAGIC, _VERSION, _JSON, _BINARY = 0x46546C67, 2, 0x4E4F534A, 0x004E4942
_BYTE, _SHORT, _USHORT, _UINT = 5120, 5122, 5123, 5125
_VERTICES, _INDICES = 34962, 34963
_MOST_STEPS = 32767


@dataclass(frozen=True)
class Paint:
    """A material: `colour` (3,) linear sRGB and `covers`, the share of light that does not pass straight through.
    `holds`: what of it does not come through scattered either, None where that is all of it; `through`: what it
    gives on of light from behind, over what it gives back."""

    name: str
    colour: tuple[float, float, float]
    covers: float = 1.0
    holds: float | None = None
    through: float = 0.0


@dataclass(frozen=True)
class Skin:
    """Triangles of one paint: `vertices`, `normals` (V, 3) place frame [m, -], `faces` (F, 3); `first` the number of
    its first vertex among all of the file."""

    vertices: Array
    normals: Array
    faces: NDArray[np.int64]
    paint: Paint
    first: int


@dataclass(frozen=True)
class Part:
    """A thing of the shoot by its name, with what the page must know of it in `extras`."""

    name: str
    skins: tuple[Skin, ...]
    extras: Mapping[str, Any]


def y_up(points: Array) -> Array:
    """Place frame (..., 3) to glTF's frame: (x, z, -y). [m]"""
    return np.stack([points[..., 0], points[..., 2], -points[..., 1]], axis=-1)


def glb(parts: Sequence[Part], title: str) -> bytes:
    """The parts as one .glb, a node for each, in their order."""
    paints = {skin.paint.name: skin.paint for part in parts for skin in part.skins}
    numbers = {name: k for k, name in enumerate(paints)}
    store = _Store()
    nodes: list[dict[str, Any]] = []
    meshes: list[dict[str, Any]] = []
    for part in parts:
        node, mesh = _node(part, len(meshes), numbers, store)
        nodes.append(node)
        meshes.append(mesh)
    tree = {
        "asset": {"version": "2.0", "generator": "sidelong"},
        "extensionsUsed": ["KHR_mesh_quantization"],
        "extensionsRequired": ["KHR_mesh_quantization"],
        "scene": 0,
        "scenes": [{"name": title, "nodes": list(range(len(nodes)))}],
        "nodes": nodes,
        "meshes": meshes,
        "materials": [_material(paint) for paint in paints.values()],
        "accessors": store.accessors,
        "bufferViews": store.views,
        "buffers": [{"byteLength": store.length}],
    }
    return _container(json.dumps(tree, separators=(",", ":")).encode(), b"".join(store.pieces))


class _Store:
    """The binary part as it grows."""

    def __init__(self) -> None:
        self.pieces: list[bytes] = []
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self.length = 0

    def put(self, data: NDArray[Any], stride: int | None, **accessor: Any) -> int:
        """Rows of numbers; the number of their accessor."""
        raw = data.tobytes()
        view = {"buffer": 0, "byteOffset": self.length, "byteLength": len(raw)}
        view |= {"target": _INDICES} if stride is None else {"byteStride": stride, "target": _VERTICES}
        self.views.append(view)
        raw += b"\0" * (-len(raw) % 4)
        self.pieces.append(raw)
        self.length += len(raw)
        self.accessors.append({"bufferView": len(self.views) - 1, "count": len(data), **accessor})
        return len(self.accessors) - 1


def _node(part: Part, mesh: int, numbers: Mapping[str, int], store: _Store) -> tuple[dict[str, Any], dict[str, Any]]:
    every = y_up(np.concatenate([skin.vertices for skin in part.skins]))
    low, high = every.min(axis=0), every.max(axis=0)
    middle, scale = (low + high) / 2, max(float((high - low).max()) / 2, 1e-6)
    skins = [_primitive(skin, middle, scale, numbers, store) for skin in part.skins]
    node = {
        "name": part.name,
        "mesh": mesh,
        "translation": [float(v) for v in middle],
        "scale": [scale] * 3,
        "extras": dict(part.extras),
    }
    return node, {"name": part.name, "primitives": skins}


def _primitive(skin: Skin, middle: Array, scale: float, numbers: Mapping[str, int], store: _Store) -> dict[str, Any]:
    count = len(skin.vertices)
    steps = np.zeros((count, 4), np.int16)
    steps[:, :3] = np.round((y_up(skin.vertices) - middle) / scale * _MOST_STEPS)
    facing = np.zeros((count, 4), np.int8)
    facing[:, :3] = np.round(y_up(skin.normals) * 127)
    wide = count > 65535
    index = skin.faces.astype(np.uint32 if wide else np.uint16).ravel()
    low, high = steps[:, :3].min(axis=0) / _MOST_STEPS, steps[:, :3].max(axis=0) / _MOST_STEPS
    place = store.put(
        steps, 8, componentType=_SHORT, normalized=True, type="VEC3",
        min=[float(v) for v in low], max=[float(v) for v in high],
    )  # fmt: skip
    return {
        "attributes": {
            "POSITION": place,
            "NORMAL": store.put(facing, 4, componentType=_BYTE, normalized=True, type="VEC3"),
        },
        "indices": store.put(index, None, componentType=_UINT if wide else _USHORT, type="SCALAR"),
        "material": numbers[skin.paint.name],
        "extras": {"first": skin.first},
    }


def _material(paint: Paint) -> dict[str, Any]:
    material: dict[str, Any] = {
        "name": paint.name,
        "doubleSided": True,
        "pbrMetallicRoughness": {
            "baseColorFactor": [*paint.colour, paint.covers],
            "metallicFactor": 0.0,
            "roughnessFactor": 1.0,
        },
    }
    if paint.holds is not None:
        material["extras"] = {"holds": paint.holds, "through": paint.through}
    return material if paint.covers >= 1.0 else {**material, "alphaMode": "BLEND"}


def _container(tree: bytes, data: bytes) -> bytes:
    tree += b" " * (-len(tree) % 4)
    head = struct.pack("<III", _MAGIC, _VERSION, 12 + 8 + len(tree) + 8 + len(data))
    return b"".join([head, struct.pack("<II", len(tree), _JSON), tree, struct.pack("<II", len(data), _BINARY), data])
