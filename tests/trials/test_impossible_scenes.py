"""Scenes that cannot be, each for another reason, through the command: exit code 3, and every way out works."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from applied import applied, toml
from sidelong.cli import main


def scene(people: dict[str, list[float]], lens: dict[str, Any], shot: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A shoot in the open: people at [x, y] or [x, y, z], one lens (and others), one shot whose camera looks along
    y."""
    camera = {"at": [0.0, 0.0, 1.5], "aim": [0.0, 3.0, 1.5], **shot.pop("camera", {})}
    lenses = [{"id": "glass", "focal": 90, "widest": 2.8, "smallest": 22, "movement": 8, "shift": 12, **lens}]
    return {
        "sidelong": 1,
        "place": {"sky": "dark", **more.get("place", {})},
        "people": [{"name": name, "at": at} for name, at in people.items()],
        "kit": {"bodies": [{"id": "body"}], "lenses": [*lenses, *more.get("lenses", [])]},
        "shots": [
            {"id": "one", "lens": "glass", "sharp": list(people), "shutter": "1/125", "iso": 100, **shot}
            | {"camera": camera}
        ],
    }


ROW = {"Ada": [-0.8, 2.4], "Bo": [0.0, 3.0], "Cyd": [0.8, 3.6], "Dee": [0.1, 4.6], "Eli": [-0.5, 5.5, 0.4]}
STEPPED = {"Ada": [-0.6, 2.6], "Bo": [0.4, 3.4, 0.3], "Cyd": [0.0, 4.4, -0.2], "Dee": [0.7, 6.0]}
LINE = {"Ada": [-0.9, 1.8], "Bo": [0.0, 3.0], "Cyd": [0.9, 4.2]}
TWO = {"Ada": [-0.3, 3.0], "Bo": [0.3, 3.4]}
WIDE = {"id": "wide", "focal": 24, "widest": 3.5, "smallest": 22, "movement": 8.5, "shift": 11}
ROOM = {"rooms": [{"at": [-2.0, -0.6, 0.0], "size": [4.0, 8.0, 2.7]}]}

IMPOSSIBLE = {
    "a row in depth, and a lens that closes too little": scene(ROW, {"smallest": 8}, {}),
    "five at different depths at a stop that is stated": scene(ROW, {}, {"aperture": 4}),
    "too little movement for a row": scene(LINE, {"movement": 1.0, "smallest": 5.6}, {}),
    "too little movement at a stated stop": scene(LINE, {"movement": 1.5}, {"aperture": 2.8}),
    "a lens without movement": scene(LINE, {"movement": 0}, {"aperture": 5.6}),
    "a lens without movement that closes too little": scene(ROW, {"movement": 0, "smallest": 11}, {}),
    "a mount with coarse clicks": scene(
        {"Ada": [-0.9, 3.0, -0.8], "Bo": [0.9, 4.2, 0.9], "Cyd": [-0.9, 3.5, 0.9], "Dee": [0.9, 3.7, -0.8]},
        {"rotation_step": 90},
        {"aperture": 2.8},
    ),
    "too small a blur limit": scene(STEPPED, {}, {"aperture": 8, "blur_limit": 4}),
    "too small a blur limit at any stop": scene(STEPPED, {}, {"blur_limit": 1.5}),
    "someone nearer than the ring goes": scene({"Ada": [0.0, 0.5]}, {"closest": 0.9}, {"aperture": 2.8}),
    "two nearer than the ring goes": scene({"Ada": [-0.1, 0.7], "Bo": [0.1, 0.8]}, {"closest": 1.4}, {}),
    "a stated movement that runs the ring past infinity": scene(
        {"Ada": [2.0, 3.0]}, {}, {"movement": {"swing": 7.0, "focus_on": "Ada"}}
    ),
    "a stated movement that runs the ring past its near end": scene(
        {"Ada": [1.5, 2.6]}, {"closest": 0.9}, {"movement": {"swing": -8.0, "focus_on": "Ada"}}
    ),
    "a stated movement with which no stop will do": scene(
        ROW, {"smallest": 11}, {"movement": {"swing": -6.0, "focus_on": "Bo"}}
    ),
    "more movement than the lens has": scene(TWO, {}, {"aperture": 8, "movement": {"movement": 11, "rotation": 90}}),
    "movement of a lens that has none": scene(TWO, {"movement": 0}, {"aperture": 8, "movement": {"swing": 3.0}}),
    "more rise than the lens has": scene(TWO, {}, {"aperture": 8, "camera": {"rise": 14.0}}),
    "rise and shift together beyond the lens": scene(TWO, {}, {"camera": {"rise": -10.0, "shift": 9.0}}),
    "a stop wider than the lens opens": scene(TWO, {}, {"aperture": 1.4}),
    "a stop smaller than the lens has": scene(TWO, {"smallest": 16}, {"aperture": 32}),
    "one of them behind the camera": scene(TWO | {"Cyd": [0.5, -1.0]}, {}, {"aperture": 11}),
    "everyone behind the camera": scene({"Ada": [0.5, -3.0], "Bo": [-0.5, -3.3]}, {}, {}),
    "one of them within the focal length": scene(TWO | {"Cyd": [0.3, 0.05]}, {}, {}),
    "only another lens will do": scene(
        ROW, {"movement": 0, "smallest": 8}, {"aperture": 8}, lenses=[WIDE], place=ROOM
    ),
    "another lens whose widest stop is smaller": scene(
        ROW, {"focal": 180, "movement": 2}, {"aperture": 2.8}, lenses=[WIDE | {"widest": 5.6}], place=ROOM
    ),
    "one of them out of the image circle": scene(
        {"Ada": [-0.95, 6.0], "Bo": [0.3, 6.4]}, {"image_circle": 26.0, "movement": 0.5}, {}
    ),
    "an image circle too small at a stated stop": scene(
        {"Ada": [-1.0, 6.0], "Bo": [0.9, 6.4]}, {"image_circle": 28.0, "movement": 8}, {"aperture": 11}
    ),
    "no way back through the wall": scene(STEPPED, {"smallest": 4}, {}, place=ROOM),
    "several things at once": scene(
        TWO | {"Cyd": [0.5, -1.0]},
        {},
        {"aperture": 32, "camera": {"rise": 15.0}, "movement": {"swing": 9.5, "focus_on": "Bo"}},
    ),
}


def _ask(tables: dict[str, Any], folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any]]:
    (folder / "shoot.toml").write_text(toml(tables))
    code = main(["focus", str(folder), "--json"])
    out = capsys.readouterr()
    assert "Traceback" not in out.err
    assert out.out, out.err
    return code, json.loads(out.out)["shots"][0]


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_what_cannot_be_is_told_and_every_way_out_works(name, tmp_path, capsys):
    tables = IMPOSSIBLE[name]
    code, told = _ask(tables, tmp_path, capsys)
    assert code == 3
    assert told["impossible"]
    assert told["ways_out"], told["impossible"]
    for way in told["ways_out"]:
        changed = applied(tables, "one", way["change"])
        code, answer = _ask(changed, tmp_path, capsys)
        assert code == 0, (way, answer)
        limit = answer["blur_limit_um"] * (1 + 1e-5)
        sharp = [p for p in answer["points"] if p["wanted"] == "sharp"]
        assert all(p["blur_major_um"] <= limit for p in sharp), (way, sharp)
        assert all(p["in_image_circle"] for p in sharp if p["in_picture"]), (way, sharp)


def test_there_are_twenty_scenes_of_different_causes():
    assert len(IMPOSSIBLE) >= 20


@pytest.mark.parametrize(
    "name",
    [
        "five at different depths at a stop that is stated",
        "a lens without movement",
        "too small a blur limit",
        "too little movement at a stated stop",
    ],
)
def test_somebody_who_moves_as_told_makes_it_possible(name, tmp_path, capsys):
    tables = IMPOSSIBLE[name]
    _, told = _ask(tables, tmp_path, capsys)
    moved = told["someone_moved"]
    if moved is None:
        return
    changed = copy.deepcopy(tables)
    (person,) = (p for p in changed["people"] if p["name"] == moved["name"])
    assert moved["name"] in moved["words"]
    person["at"] = [*moved["at_m"], *person["at"][2:]]
    code, answer = _ask(changed, tmp_path, capsys)
    assert code == 0, answer


def test_one_of_a_row_is_asked_to_move_when_that_helps(tmp_path, capsys):
    tables = scene({"Ada": [-0.4, 3.0], "Bo": [0.0, 3.0], "Cyd": [0.4, 3.6]}, {"movement": 0}, {"aperture": 4})
    code, told = _ask(tables, tmp_path, capsys)
    assert code == 3
    assert told["someone_moved"]["name"] == "Cyd"
    assert "nearer to the camera" in told["someone_moved"]["words"]
