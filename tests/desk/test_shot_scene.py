"""What stands in one shot alone, and its cables, as the page gets them."""

from __future__ import annotations

import gzip
import json
import struct
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
from starlette.requests import Request

from sidelong.colour.adapt import balance_matrix
from sidelong.colour.encode import linear_rgb
from sidelong.desk.drawn_shot import _bulge, _front
from sidelong.desk.routes_scene import _tagged
from sidelong.desk.scene_light import scene_light
from sidelong.desk.scene_shot import front_name, shot_glb
from sidelong.desk.swatch import light_colour
from sidelong.light.patterns import axial_intensity
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot
from sidelong.trace.stand_ins import emitter_mesh

TOML = """
sidelong = 1
[place.air]
haze = 0.03
[[place.rooms]]
name = "room"
at = [0, 0]
size = [6, 5, 2.5]
[[place.rooms.openings]]
name = "window"
wall = "near"
along = 1
sill = 0.9
width = 1.2
height = 1.2
cover = "cloth"
[[people]]
name = "Runa"
at = [3, 3]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "lens"
focal = 50
widest = 2
field_curvature = 0.02
[[kit.strobes]]
id = "key"
energy = 400
efficacy = 15
[[kit.modifiers]]
id = "octagon"
kind = "front"
shape = "octagon"
size = [1.2, 1.2]
transmission = 0.5
[[kit.modifiers]]
id = "umbrella"
kind = "umbrella"
shape = "disc"
size = [1.0, 1.0]
transmission = 0.6
[[kit.modifiers]]
id = "cloth"
kind = "scrim"
size = [1.2, 1.2]
transmission = 0.5
reflectance = 0.3
[[kit.modifiers]]
id = "board"
kind = "flag"
size = [0.5, 1.0]
[[shots]]
id = "one"
when = 2026-06-20T12:00:00
sharp = ["Runa"]
[shots.camera]
at = [0.4, 0.4, 1.5]
aim = "Runa"
[[shots.lights]]
strobe = "key"
modifier = "octagon"
at = [1, 1, 2]
aim = [3, 3, 1.2]
power = 0.25
[[shots.lights]]
strobe = "key"
modifier = "umbrella"
at = [5, 1, 2.2]
aim = [3, 3, 1.2]
power = 0.5
[[shots.sheets]]
of = ["cloth"]
at = [2, 2, 1.5]
to = "Runa"
[[shots.sheets]]
of = ["board"]
at = [4, 3, 1.5]
to = "Runa"
"""


@pytest.fixture(scope="module")
def shoot(tmp_path_factory: pytest.TempPathFactory) -> Shoot:
    folder: Path = tmp_path_factory.mktemp("room")
    (folder / "shoot.toml").write_text(TOML)
    return load(folder)


def tree_of(data: bytes) -> dict[str, Any]:
    (size,) = struct.unpack_from("<I", data, 12)
    tree: dict[str, Any] = json.loads(data[20 : 20 + size])
    return tree


def test_fronts_and_sheets_of_the_shot_are_there_and_what_hangs_in_openings_is_not(shoot: Shoot) -> None:
    tree = tree_of(shot_glb(shoot, shoot.shots[0]))
    nodes = {n["name"]: n for n in tree["nodes"]}
    assert set(nodes) == {"front of key", "front of key 2", "cloth", "board"}
    assert nodes["cloth"]["extras"] == {"kind": "sheet", "open": [0.0, 0.0]}
    paints = {m["name"]: m for m in tree["materials"]}
    # a scrim passes half of the light scattered, a flag nothing
    assert paints["cloth"]["extras"]["holds"] == pytest.approx(0.5)
    assert paints["cloth"]["extras"]["through"] == pytest.approx(0.5 / 0.3, rel=0.02)
    assert paints["board"]["extras"] == {"holds": 1.0, "through": 0.0}


def test_a_front_gives_its_light_from_its_own_area(shoot: Shoot) -> None:
    light = scene_light(shoot, shoot.shots[0])
    emitters = stage_at_full_power(shoot, shoot.shots[0]).emitters
    for head, emitter, area in zip(light["heads"], emitters, (8 * (np.sqrt(2) - 1) * 0.36, np.pi / 4), strict=True):
        assert front_name(head["name"]).startswith("front of key")
        assert head["front_cdm2"] * area == pytest.approx(axial_intensity(emitter), rel=1e-3)
    assert light["haze"]["extinction_per_m"] == 0.03
    assert light["haze"]["low"] == [0, 0, 0]
    assert light["haze"]["high"] == [6, 5, 2.5]


def test_the_page_draws_fronts_in_the_outline_that_is_traced(shoot: Shoot) -> None:
    """Corners across and up of the drawn front, put on its axis, are corners of the front's mesh."""
    emitters = stage_at_full_power(shoot, shoot.shots[0]).emitters
    shot = shoot.shots[0]
    for light, emitter, corners in zip(shot.lights, emitters, (8, 24), strict=True):
        drawn = np.array(_front(emitter))
        assert len(drawn) == corners
        across = np.cross(emitter.axis, emitter.up)
        placed = np.array(emitter.at) + drawn[:, :1] * across + drawn[:, 1:] * np.array(emitter.up)
        mesh = emitter_mesh(emitter).vertices
        assert max(np.linalg.norm(mesh - p, axis=1).min() for p in placed) < 1e-9
        assert (_bulge(light.modifier) < 0) == (light.modifier is not None and light.modifier.kind == "umbrella")


def test_sun_and_sky_have_one_colour_wherever_they_are_shown(shoot: Shoot) -> None:
    """The shot's swatches against the whites from which the light view makes its own."""
    sent = scene_light(shoot, shoot.shots[0])
    day = stage_at_full_power(shoot, shoot.shots[0]).daylight
    assert day is not None
    for name, spectrum in (("sun", day.sun_spectrum), ("sky", day.sky_spectrum)):
        rgb = linear_rgb(balance_matrix(5500.0) @ np.array(sent[name]["white"]))
        shown = light_colour(spectrum, 5500.0)
        seen = np.array([int(shown[k : k + 2], 16) for k in (1, 3, 5)]) / 255
        linear = np.where(seen <= 0.04045, seen / 12.92, ((seen + 0.055) / 1.055) ** 2.4)
        assert linear / linear.max() == pytest.approx(np.clip(rgb, 0, None) / rgb.max(), abs=0.02)


def asked(host: str, **headers: str) -> Request:
    pairs = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    return Request({"type": "http", "method": "GET", "path": "/", "headers": pairs, "client": (host, 1)})


def test_a_device_on_the_network_gets_the_scene_packed_and_this_machine_as_it_is() -> None:
    content = bytes(range(256)) * 64
    here = _tagged(asked("127.0.0.1", accept_encoding="gzip"), content, "model/gltf-binary")
    assert here.body == content
    assert "content-encoding" not in here.headers
    there = _tagged(asked("192.168.1.20", accept_encoding="gzip, br"), content, "model/gltf-binary")
    assert there.headers["content-encoding"] == "gzip"
    assert gzip.decompress(there.body) == content
    assert len(there.body) < len(content) / 4
    plain = _tagged(asked("192.168.1.20"), content, "model/gltf-binary")
    assert plain.body == content
    again = _tagged(asked("192.168.1.20", if_none_match=there.headers["etag"]), content, "model/gltf-binary")
    assert (again.status_code, again.body) == (304, b"")


def test_the_routes_answer(inside: httpx.Client) -> None:
    scene = inside.get("/api/shots/both/scene.glb")
    assert scene.content.startswith(b"glTF")
    laid = inside.get("/api/shots/both/cables").json()
    assert laid["shot"] == "both"
    assert {c["source"] for c in laid["cables"]} <= {s["id"] for s in laid["sources"]}
    assert inside.get("/api/shots/nowhere/cables").status_code == inside.get("/api/shots/nowhere/focus").status_code
