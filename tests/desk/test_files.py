"""Files that come in: kept once they have been read, inside the folder, over nothing, and from nobody else."""

from __future__ import annotations

import os
from pathlib import Path

import httpx
import pytest

from desk_on_air import DeskOnAir
from sidelong.desk import guard
from sidelong.desk.files import FOLDER, keep_file
from sidelong.errors import FileFault, InputFault
from sidelong.place import meshes

WEDGE = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n"
LUMINAIRE = b"IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 3 1 1 2 0.1 0.1 0\n1 1 100\n0 45 90\n0\n1000 700 0\n"
BYTES = {"content-type": "application/octet-stream"}


def names(folder: Path) -> list[str]:
    place = folder / FOLDER
    return sorted(p.name for p in place.iterdir()) if place.exists() else []


def test_a_mesh_and_a_luminaire_are_kept(tmp_path: Path) -> None:
    assert keep_file(tmp_path, "stove.OBJ", WEDGE) == "files/stove.obj"
    assert keep_file(tmp_path, "spot.ies", LUMINAIRE) == "files/spot.ies"
    assert (tmp_path / "files" / "stove.obj").read_bytes() == WEDGE
    assert names(tmp_path) == ["spot.ies", "stove.obj"]  # and nothing half-written


def test_nothing_is_written_over_and_the_same_file_is_kept_once(tmp_path: Path) -> None:
    other = WEDGE.replace(b"v 0 0 1", b"v 0 0 2")
    assert keep_file(tmp_path, "stove.obj", WEDGE) == "files/stove.obj"
    assert keep_file(tmp_path, "stove.obj", other) == "files/stove 2.obj"
    assert keep_file(tmp_path, "stove.obj", WEDGE) == "files/stove.obj"
    assert keep_file(tmp_path, "stove.obj", other) == "files/stove 2.obj"
    assert (tmp_path / "files" / "stove.obj").read_bytes() == WEDGE


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/stove.obj", "stove.obj"),
        ("/abs/stove.obj", "stove.obj"),
        ("C:\\scans\\stove.obj", "stove.obj"),
        ("..\\..\\stove.obj", "stove.obj"),
        ("st\x00o\nve.obj", "st-o-ve.obj"),
        ("öfen & <b>.obj", "öfen - -b.obj"),
        ("a.b.c.obj", "a-b-c.obj"),
        ("x" * 300 + ".obj", "x" * 72 + ".obj"),
    ],
)
def test_a_name_stays_in_the_folder(tmp_path: Path, name: str, kept: str) -> None:
    shoot = tmp_path / "one" / "two"
    shoot.mkdir(parents=True)
    assert keep_file(shoot, name, WEDGE) == f"files/{kept}"
    assert names(shoot) == [kept]
    assert sorted(p.name for p in tmp_path.rglob("*.obj")) == [kept]


@pytest.mark.parametrize(
    "name", ["", ".obj", "stove", "stove.exe", "shoot.toml", "stove.obj.py", "..", "---.obj", "a/"]
)
def test_what_is_no_name_of_such_a_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputFault, match="expected"):
        keep_file(tmp_path, name, WEDGE)
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    ("name", "content"),
    [("a.obj", b""), ("a.obj", b"f 1 2 3\n"), ("a.glb", WEDGE), ("a.ply", b"\x00" * 99), ("a.stl", b"solid\n"),
     ("a.obj", b"v 0 0 nan\n" * 3 + b"f 1 2 3\n"), ("a.ies", WEDGE), ("a.ldt", b"\xff" * 500),
     ("a.ies", b"9" * 3_000_000)],
)  # fmt: skip
def test_what_is_not_what_its_ending_says_is_refused_and_nothing_stays(
    tmp_path: Path, name: str, content: bytes
) -> None:
    with pytest.raises(FileFault):
        keep_file(tmp_path, name, content)
    assert names(tmp_path) == []


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    shoot, elsewhere = tmp_path / "shoot", tmp_path / "elsewhere"
    shoot.mkdir()
    elsewhere.mkdir()
    (shoot / FOLDER).symlink_to(elsewhere)
    with pytest.raises(FileFault, match="link"):
        keep_file(shoot, "stove.obj", WEDGE)
    assert not list(elsewhere.iterdir())
    os.unlink(shoot / FOLDER)
    (shoot / FOLDER).mkdir()
    target = elsewhere / "mine"
    (shoot / FOLDER / "stove.obj").symlink_to(target)
    assert keep_file(shoot, "stove.obj", WEDGE) == "files/stove 2.obj"
    assert not target.exists()


def test_as_long_as_a_mesh_may_be() -> None:
    assert guard.FILE.longest == meshes.LARGEST_FILE


def test_a_mesh_is_brought_and_stands_in_the_shoot(desk: DeskOnAir, inside: httpx.Client) -> None:
    kept = inside.post("/api/files", params={"name": "stove.obj"}, content=WEDGE, headers=BYTES)
    assert kept.json() == {"file": "files/stove.obj"}
    mesh = {"op": "add", "path": ["place", "meshes"], "value": {"file": kept.json()["file"], "at": [2, 1, 0]}}
    saved = inside.post("/api/edits", json={"base": 1, "label": "stove", "edits": [mesh]})
    assert saved.status_code == 200, saved.text
    drawn = inside.get("/api/shoot").json()["drawn"]["place"]["meshes"]
    assert [one["name"] for one in drawn] == ["stove"]
    assert len(inside.get("/api/scene.glb").content) > 1000


def test_a_bad_file_is_refused_in_words(inside: httpx.Client) -> None:
    for name, content in (("a.obj", b"hello"), ("a.exe", WEDGE), ("a.ies", b"x"), ("é" * 100 + ".obj", b"")):
        answer = inside.post("/api/files", params={"name": name}, content=content, headers=BYTES)
        assert answer.status_code == 422
        assert answer.json()["error"]["words"]
    assert inside.post("/api/files", content=WEDGE, headers=BYTES).status_code == 422
    assert inside.post("/api/files", params={"name": "a.obj"}, json={}).status_code == 415
