"""The page's scene: place and people as one binary glTF, and what its coarse light rests on."""

from __future__ import annotations

import json
import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from sidelong.desk.scene import EDGE, OUTER_EDGE, base_colour, scene_glb, scene_parts
from sidelong.desk.scene_gltf import y_up
from sidelong.desk.scene_light import scene_light, white_table
from sidelong.desk.scene_shade import scene_shade
from sidelong.light.daylight import daylight
from sidelong.people.eyes import eyes
from sidelong.people.figure import figure
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot
from sidelong.spectra import finishes
from sidelong.spectra.finishes import luminous_reflectance
from sidelong.trace.meter import meter
from sidelong.trace.values import Receptor, Stage

TOML = """
sidelong = 1
title = "A room"
[place]
sky = "overcast"
[[place.rooms]]
name = "room"
at = [0, 0]
size = [4, 3, 2.5]
finish = { all = "grey 0.5" }
[[place.rooms.openings]]
name = "window"
wall = "near"
along = 1
sill = 0.9
width = 1.2
height = 1.2
[[place.blocks]]
name = "box"
kind = "box"
at = [3, 2]
size = [0.5, 0.5, 0.5]
[[people]]
name = "Runa"
at = [2, 1.5]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "lens"
focal = 50
widest = 2
movement = 8
[[kit.strobes]]
id = "key"
energy = 400
efficacy = 15
kelvin = 5600
[[kit.gels]]
id = "warm"
mired = 100
transmission = 0.6
[[shots]]
id = "one"
when = 2026-03-20T12:00:00
sharp = ["Runa"]
[shots.camera]
at = [0.4, 0.4, 1.5]
aim = "Runa"
[[shots.lights]]
strobe = "key"
at = [1, 1, 2]
power = 0.25
"""


@pytest.fixture(scope="module")
def shoot(tmp_path_factory: pytest.TempPathFactory) -> Shoot:
    folder: Path = tmp_path_factory.mktemp("room")
    (folder / "shoot.toml").write_text(TOML)
    return load(folder)


def opened(data: bytes) -> tuple[dict[str, Any], bytes]:
    magic, version, length = struct.unpack_from("<III", data)
    assert (magic, version, length) == (0x46546C67, 2, len(data))
    size, kind = struct.unpack_from("<II", data, 12)
    assert kind == 0x4E4F534A
    tree = json.loads(data[20 : 20 + size])
    binary, kind = struct.unpack_from("<II", data, 20 + size)
    assert kind == 0x004E4942
    assert binary == tree["buffers"][0]["byteLength"]
    return tree, data[28 + size :]


def values(tree: dict[str, Any], data: bytes, number: int) -> NDArray[np.float64]:
    accessor = tree["accessors"][number]
    view = tree["bufferViews"][accessor["bufferView"]]
    kind = {5120: "i1", 5122: "<i2", 5123: "<u2", 5125: "<u4"}[accessor["componentType"]]
    raw = np.frombuffer(data, kind, view["byteLength"] // np.dtype(kind).itemsize, view["byteOffset"])
    if accessor["type"] == "SCALAR":
        return raw.astype(float)
    most = 32767 if kind == "<i2" else 127
    return raw.reshape(accessor["count"], -1)[:, :3] / most


def test_everything_is_there_by_name_and_where_it_stands(shoot: Shoot) -> None:
    tree, data = opened(scene_glb(shoot))
    nodes = {n["name"]: n for n in tree["nodes"]}
    assert {"room", "window", "box", "ground", "Runa"} <= set(nodes)
    assert nodes["Runa"]["extras"]["kind"] == "person"
    assert nodes["Runa"]["extras"]["eyes"] == pytest.approx(eyes(shoot.people[0]))
    node = nodes["Runa"]
    corners = []
    for primitive in tree["meshes"][node["mesh"]]["primitives"]:
        stored = values(tree, data, primitive["attributes"]["POSITION"])
        corners.append(stored * node["scale"][0] + node["translation"])
        index = values(tree, data, primitive["indices"])
        assert index.max() < len(stored)
    found = np.concatenate(corners)
    traced = y_up(np.concatenate([t.mesh.vertices for t in figure(shoot.people[0])]))
    # sixteen bits over two metres: 0.03 mm, half of it either way
    assert found.min(0) == pytest.approx(traced.min(0), abs=3e-5)
    assert found.max(0) == pytest.approx(traced.max(0), abs=3e-5)


def test_the_frame_turns_by_a_rotation() -> None:
    turned = y_up(np.eye(3))
    assert np.linalg.det(turned) == pytest.approx(1.0)
    assert y_up(np.array([1.0, 2.0, 3.0])).tolist() == [1.0, 3.0, -2.0]


def test_cut_faces_have_the_area_and_the_corners_of_the_whole(shoot: Shoot) -> None:
    room = next(p for p in scene_parts(shoot) if p.name == "room")
    inner = 0.0
    for skin in room.skins:
        a, b, c = (skin.vertices[skin.faces[:, k]] for k in range(3))
        normal = np.cross(b - a, c - a)
        middle = (a + b + c) / 3
        inside = np.all((middle > [-1e-6] * 3) & (middle < np.array([4, 3, 2.5]) + 1e-6), axis=1)
        inner += 0.5 * float(np.linalg.norm(normal[inside], axis=1).sum())
        lengths = np.linalg.norm(np.stack([b - a, c - b, a - c]), axis=2)
        assert lengths[:, inside].max() <= EDGE
        assert lengths.max() <= OUTER_EDGE
    assert inner == pytest.approx(2 * (4 * 3 + 3 * 2.5 + 4 * 2.5) - 1.2 * 1.2, rel=1e-6)


def test_a_shoot_with_the_same_place_and_people_keeps_its_scene(shoot: Shoot) -> None:
    first = scene_glb(shoot)
    assert scene_glb(replace(shoot, title="other")) is first
    moved = replace(shoot, people=(replace(shoot.people[0], at=(1.0, 1.0, 0.0)),))
    assert scene_glb(moved) != first


@pytest.mark.parametrize("name", ["grey 0.5", "red brick", "painted timber blue", "lime wash"])
def test_a_base_colour_is_the_reflectance_that_the_eye_sees(name: str) -> None:
    rgb = base_colour(finishes.finish(name), 5500.0)
    luminance = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]
    # under daylight instead of equal energy, and with the eye's table instead of a fit
    assert luminance == pytest.approx(luminous_reflectance(finishes.finish(name).reflectance), rel=0.05)
    if name == "grey 0.5":
        assert rgb == pytest.approx((0.5, 0.5, 0.5), abs=1e-4)


def test_shares_are_what_a_meter_reads_under_an_even_sky(shoot: Shoot) -> None:
    """The sky's share at corners of the wall opposite the window against the traced meter's direct sky, under the sky
    of one luminance (ISO 15469 type 5)."""
    parts = scene_parts(shoot)
    shares = np.frombuffer(scene_shade(shoot, 16), "<f2").reshape(-1, 4).astype(float)
    assert len(shares) == sum(len(s.vertices) for p in parts for s in p.skins)
    assert np.all((shares >= 0) & (shares <= 1))
    room = next(p for p in parts if p.name == "room")
    points, normals, found = [], [], []
    for skin in room.skins:
        inside = np.all((skin.vertices > 0.2 - 1e-9) & (skin.vertices < [3.8, 3.01, 2.3]), axis=1)
        back = inside & (np.abs(skin.vertices[:, 1] - 3.0) < 1e-6) & (skin.normals[:, 1] < -0.9)
        points += skin.vertices[back].tolist()
        normals += skin.normals[back].tolist()
        found += shares[skin.first : skin.first + len(skin.vertices)][back, 0].tolist()
    assert len(points) > 20
    some = slice(0, None, max(1, len(points) // 12))
    day = daylight(shoot.shots[0].when, shoot.place)
    assert day is not None
    day = replace(day, sky_type=5)
    stage = Stage(shoot.place, shoot.people, (), day)
    receptors = [
        Receptor(tuple(np.add(p, np.multiply(n, 0.01)).tolist()), tuple(n))
        for p, n in zip(points[some], normals[some], strict=True)
    ]
    read = meter(stage, receptors, samples=64)
    sky = read.direct[:, read.names.index("sky")] / day.sky_horizontal
    # sixteen points of the window are summed over; next to somebody's shadow that is coarse
    assert np.mean(found[some]) == pytest.approx(float(sky.mean()), rel=0.15)
    lit = sky > 0.003
    assert np.median(np.array(found[some])[lit] / sky[lit]) == pytest.approx(1.0, abs=0.08)


def test_light_in_few_numbers_agrees_with_the_meter(shoot: Shoot) -> None:
    """The head's direct light by inverse squares, and the room's even share against what is really reflected."""
    light = scene_light(shoot, shoot.shots[0])
    head = light["heads"][0]
    assert head["intensity_cds"] == pytest.approx(400 * 15 / (4 * np.pi))
    at = np.array([3.0, 2.6, 1.2])
    way = np.array(head["at"]) - at
    stage = replace(stage_at_full_power(shoot, shoot.shots[0]), people=(), daylight=None)
    unit = way / np.linalg.norm(way)
    read = meter(stage, [Receptor(tuple(at), tuple(unit))], samples=2048)
    direct = head["intensity_cds"] / (way @ way)
    assert float(read.direct[0, 0]) == pytest.approx(direct, rel=0.01)
    reflected = float(read.value[0, 0] - read.direct[0, 0])
    # a room is no sphere: within a factor of 1.6 is what the formula is for
    assert 1 / 1.6 < head["ambient_lxs"] / reflected < 1.6
    assert light["sky"]["horizontal_lx"] > 0
    assert light["sun"] is None
    assert [g["ids"] for g in head["gels"]] == [[], ["warm"]]
    assert head["gels"][1]["share"] == pytest.approx(0.6, rel=0.02)
    assert json.dumps(light)


def test_whites_meet_where_daylight_takes_over() -> None:
    table = white_table()
    for part in ("daylight", "planck"):
        assert np.all(np.diff(np.array(table[part]["xz"])[:, 1]) < 0)
    last = table["daylight"]["first"] + table["step"] * (len(table["daylight"]["xz"]) - 1)
    assert last == table["planck"]["first"] == 250.0
