"""Meshes from files: read, turned, and refused with a clear fault."""

import math

import numpy as np
import pytest

from sidelong.errors import FileFault
from sidelong.geometry.builders import box, volume
from sidelong.place import meshes
from sidelong.place.meshes import read_mesh
from sidelong.place.values import MeshFile


@pytest.fixture
def brick(tmp_path):
    """The same brick, 1 x 2 x 3, in every kind of file; in the GLB its z lies along y, as that format has it."""
    import trimesh

    solid = box([0, 0, 0], [1, 2, 3])
    shape = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    for kind in ("obj", "ply", "stl"):
        shape.export(tmp_path / f"brick.{kind}")
    upright = shape.copy()
    upright.apply_transform(np.array([[1, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1.0]]))
    upright.export(tmp_path / "brick.glb")
    return tmp_path


@pytest.mark.parametrize("kind", ["obj", "ply", "stl", "glb"])
def test_every_kind_gives_the_same_brick(brick, kind):
    thing = read_mesh(MeshFile("brick", str(brick / f"brick.{kind}"), (10, 0, 0), 0.0, 2.0, "brick"))
    assert thing.mesh.vertices.min(0) == pytest.approx([10, 0, 0], abs=1e-5)
    assert thing.mesh.vertices.max(0) == pytest.approx([12, 4, 6], abs=1e-5)
    assert volume(thing.mesh) == pytest.approx(48.0, rel=1e-5)
    assert (thing.finish, thing.owner) == ("brick", "brick")


def test_turn_is_anticlockwise_about_z(brick):
    thing = read_mesh(MeshFile("brick", str(brick / "brick.obj"), turn=math.radians(90)))
    assert thing.mesh.vertices.min(0) == pytest.approx([-2, 0, 0], abs=1e-6)


def test_missing_file(tmp_path):
    with pytest.raises(FileFault, match="cannot be opened"):
        read_mesh(MeshFile("scan", str(tmp_path / "none.obj")))


def test_other_kind_of_file(tmp_path):
    with pytest.raises(FileFault, match="expected one of"):
        read_mesh(MeshFile("scan", str(tmp_path / "room.blend")))


@pytest.mark.parametrize("kind", ["obj", "ply", "stl", "glb"])
@pytest.mark.parametrize(
    "content", [b"", b"\x00" * 300, b"solid nothing at all", b"glTF\x02\x00\x00\x00\xff\xff\xff\xff"]
)
def test_garbage_is_the_files_fault(tmp_path, kind, content):
    path = tmp_path / f"scan.{kind}"
    path.write_bytes(content)
    with pytest.raises(FileFault, match="scan"):
        read_mesh(MeshFile("scan", str(path)))


def test_numbers_that_are_not_finite(tmp_path):
    path = tmp_path / "scan.obj"
    path.write_text("v 0 0 0\nv nan 0 0\nv 0 1 0\nf 1 2 3\n")
    with pytest.raises(FileFault):
        read_mesh(MeshFile("scan", str(path)))


def test_faces_that_name_no_corner(tmp_path):
    path = tmp_path / "scan.obj"
    path.write_text("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n")
    with pytest.raises(FileFault):
        read_mesh(MeshFile("scan", str(path)))


def test_too_big_a_file_or_mesh(brick, monkeypatch):
    monkeypatch.setattr(meshes, "MOST_FACES", 5)
    with pytest.raises(FileFault, match="12 triangles"):
        read_mesh(MeshFile("brick", str(brick / "brick.obj")))
    monkeypatch.setattr(meshes, "LARGEST_FILE", 10)
    with pytest.raises(FileFault, match="MB"):
        read_mesh(MeshFile("brick", str(brick / "brick.obj")))
