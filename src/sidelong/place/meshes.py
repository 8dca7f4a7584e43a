"""Meshes from files: OBJ, GLB, PLY, STL, checked for size and sense."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from sidelong.errors import FileFault
from sidelong.geometry.mesh import Mesh, Thing
from sidelong.place.values import MeshFile

LARGEST_FILE = 64_000_000
"""[bytes]"""
MOST_FACES = 400_000
KINDS_OF_FILE = (".glb", ".obj", ".ply", ".stl")


def read_mesh(file: MeshFile) -> Thing:
    """A mesh of the place, turned about z, scaled and put where it stands; place frame. [m]

    `file.path` is taken as already checked to lie where it may. A GLB's y axis points up by its standard and is
    turned to z; the other kinds are taken as they are.

    Raises
    ------
    FileFault
        Missing, of another kind, larger than LARGEST_FILE, with more than MOST_FACES triangles, not readable, empty,
        or with numbers that are not finite.

    Source
    ------
    gltf2 (the direction of up); Wavefront OBJ, PLY and STL as trimesh reads them
    """
    path = Path(file.path)
    kind = path.suffix.lower()
    where = f'the mesh "{file.name}" ({path.name})'
    if kind not in KINDS_OF_FILE:
        raise FileFault(f"{where} has the ending {kind or 'of no kind'}; expected one of {', '.join(KINDS_OF_FILE)}")
    try:
        size = path.stat().st_size
    except OSError as fault:
        raise FileFault(f"{where} cannot be opened ({fault.strerror}); put it into the shoot's folder") from fault
    if size > LARGEST_FILE:
        raise FileFault(f"{where} has {size / 1e6:.0f} MB; at most {LARGEST_FILE / 1e6:.0f} MB are read: thin it out")
    vertices, faces = _loaded(path, kind, where)
    if len(faces) > MOST_FACES:
        raise FileFault(f"{where} has {len(faces)} triangles; at most {MOST_FACES} are read: thin it out")
    if not len(faces) or not np.isfinite(vertices).all():
        raise FileFault(f"{where} holds {'numbers that are not finite' if len(faces) else 'no triangles'}")
    if kind == ".glb":
        vertices = vertices @ np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]])
    c, s = math.cos(file.turn), math.sin(file.turn)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    mesh = Mesh(vertices, faces).moved(turn, np.asarray(file.at, float), file.scale)
    return Thing(file.name, mesh, file.finish, file.name)


def _loaded(path: Path, kind: str, where: str) -> tuple[np.ndarray, np.ndarray]:
    import trimesh  # late: slow import

    try:
        # the readers raise whatever their parsing trips over, so that all of it is the file's fault
        loaded = trimesh.load(str(path), file_type=kind[1:], force="mesh", process=False, skip_materials=True)
    except Exception as fault:
        raise FileFault(f"{where} cannot be read as {kind[1:].upper()}: {fault}") from fault
    vertices = np.asarray(getattr(loaded, "vertices", np.zeros((0, 3))), float).reshape(-1, 3)
    faces = np.asarray(getattr(loaded, "faces", np.zeros((0, 3))), np.int64).reshape(-1, 3)
    if len(faces) and (faces.min() < 0 or faces.max() >= len(vertices)):
        raise FileFault(f"{where} names corners that it does not have")
    return vertices, faces
