"""The live view's optics in a real browser, against the optics layer: where points come out, and what blur makes of
them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import live_view
from sidelong.desk.scene_gltf import Paint, Part, Skin, glb
from sidelong.frames_of_reference import camera_frame
from sidelong.lens.blur import blur
from sidelong.lens.curvature import defocus
from sidelong.lens.falloff import irradiance_per_radiance
from sidelong.lens.geometry import geometry_of
from sidelong.lens.ring import extension_for
from sidelong.lens.values import Film, Lens, Movement, Setting

FILM = Film(0.036, 0.024)
FRAME = camera_frame((1.0, -2.0, 1.4), (1.3, 2.0, 1.25))
WHITES = {
    "step": 1.0,
    "daylight": {"first": 100.0, "xz": [[0.9504, 1.0889]] * 300},
    "planck": {"first": 250.0, "xz": [[1, 1]] * 2},
}

MOVES = {
    "straight": (Movement(), 1.0, 0.0, 0),
    "swing": (Movement(swing=math.radians(8)), 1.0, 0.0, 0),
    "tilt down": (Movement(tilt=math.radians(-6)), 1.0, 0.0, 0),
    "both, rise, shift, pupil, pivot": (
        Movement(math.radians(-7), math.radians(4), rise=0.006, shift=-0.004), 1.3, 0.012, 0,
    ),
    "six blades": (Movement(swing=math.radians(5)), 0.85, 0.0, 6),
    "curved field": (Movement(), 1.0, 0.0, 0),
    "curved the other way, both, pupil": (Movement(math.radians(6), math.radians(-3)), 1.35, 0.008, 0),
}  # fmt: skip
CURVATURE = {"curved field": 0.35, "curved the other way, both, pupil": -0.2}


def setting(name: str, f_number: float = 1.4, focus: tuple[float, float, float] = (0.1, 0.05, 3.0)) -> Setting:
    movement, ratio, pivot, blades = MOVES[name]
    lens = Lens("probe", 0.05, 1.4, movement=0.3, pupil_ratio=ratio, pivot=pivot, blades=blades)
    lens = replace(lens, field_curvature=CURVATURE.get(name, 0.0))
    return Setting(lens, movement, extension_for(lens, movement, np.array(focus)), f_number)


@pytest.fixture(scope="module")
def page(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with live_view.page_with(browser, live_view.bundle(tmp_path_factory.mktemp("bench"))) as opened:
        yield opened


def place_points(body: list[tuple[float, float, float]]) -> np.ndarray:
    return FRAME.to_place(np.array(body))


@pytest.mark.parametrize("name", MOVES)
def test_points_come_out_where_the_optics_layer_puts_them(page: Any, name: str) -> None:
    rng = np.random.default_rng(7)
    body = np.column_stack([rng.uniform(-1.5, 1.5, 40), rng.uniform(-1, 1, 40), rng.uniform(1.2, 12, 40)])
    expected = blur(geometry_of(setting(name)), body).image
    found = page.evaluate(
        "([setup, all]) => { const glass = bench.glassOf(setup); return all.map(p => bench.imageOf(glass, p)); }",
        [live_view.setup_of(FRAME, FILM, setting(name)), FRAME.to_place(body).tolist()],
    )
    pixel = FILM.width / 6000
    # half a pixel of a 24 megapixel picture was asked; both are exact, so that only double precision is left
    assert np.abs(np.array(found) - expected).max() < 1e-6 * pixel


@pytest.mark.parametrize("name", MOVES)
def test_a_ray_through_an_image_meets_the_point_it_is_of(page: Any, name: str) -> None:
    point = FRAME.to_place(np.array([0.4, -0.3, 4.0]))
    setup = live_view.setup_of(FRAME, FILM, setting(name))
    ray = page.evaluate(
        "([s, p]) => { const g = bench.glassOf(s); return bench.rayThrough(g, bench.imageOf(g, p)); }",
        [setup, point.tolist()],
    )
    start, way = np.array(ray["from"]), np.array(ray["towards"])
    off = point - start
    assert np.linalg.norm(off - (off @ way) * way) < 1e-9


@pytest.mark.parametrize("name", MOVES)
def test_best_focus_lies_where_the_optics_layer_has_it(page: Any, name: str) -> None:
    chosen = setting(name)
    body = np.random.default_rng(3).uniform([-1.5, -1, 1.2], [1.5, 1, 12], (40, 3))
    setup = live_view.setup_of(FRAME, FILM, chosen)
    found, point = page.evaluate(
        "([s, all]) => { const g = bench.glassOf(s);"
        " return [all.map(p => bench.sharpness(g, p)), bench.pointInFocus(s, s.extension)]; }",
        [setup, FRAME.to_place(body).tolist()],
    )
    # square metres: 1e-10 of them is a blur of some nanometres
    assert np.array(found) == pytest.approx(defocus(geometry_of(chosen), body), abs=1e-10)
    middle = blur(geometry_of(chosen), FRAME.to_body([point]))
    assert middle.image[0] == pytest.approx([0.0, 0.0], abs=1e-8)
    assert float(middle.major[0]) < 1e-8


def ball(at: np.ndarray, radius: float) -> bytes:
    """A scene of one small white ball."""
    u, v = np.meshgrid(np.linspace(0, np.pi, 9), np.linspace(0, 2 * np.pi, 17), indexing="ij")
    normals = np.stack([np.sin(u) * np.cos(v), np.sin(u) * np.sin(v), np.cos(u)], axis=-1).reshape(-1, 3)
    faces = [
        corner
        for i in range(8)
        for j in range(16)
        for a in [i * 17 + j]
        for corner in ([a, a + 17, a + 1], [a + 1, a + 17, a + 18])
    ]
    skin = Skin(at + radius * normals, normals, np.array(faces), Paint("white", (1.0, 1.0, 1.0)), 0)
    return glb([Part("ball", (skin,), {"kind": "block"})], "ball")


def even_light(
    page_setup: dict[str, Any], data: bytes, shown: dict[str, Any], size: int, passes: int
) -> dict[str, Any]:
    light = {
        "shot": "", "heads": [], "sun": None, "ground": 0.0, "whites": WHITES,
        "sky": {"horizontal_lx": 0.0, "white": [0.9504, 1.0, 1.0889], "ambient_lx": 100.0},
    }  # fmt: skip
    exposing = {
        "shutter": 1.0, "iso": 100.0, "balance": 6504.0, "powers": {}, "gels": {}, "sun": True, "sky": True,
        "metered": {},
    }  # fmt: skip
    return {
        "glb": live_view.encoded(data), "setup": page_setup, "window": shown, "width": size, "height": size,
        "passes": passes, "light": light, "exposing": exposing,
    }  # fmt: skip


SPOTS = [
    ("straight", (0.3, 0.2, 6.0)),
    ("swing", (-0.5, 0.1, 5.0)),
    ("tilt down", (0.2, -0.5, 2.2)),
    ("both, rise, shift, pupil, pivot", (0.6, 0.3, 5.5)),
    ("six blades", (-0.3, 0.2, 6.0)),
    # out of the middle, on what would be the plane of focus of a flat field and off it
    ("curved field", (1.1, 0.5, 3.0)),
    ("curved field", (0.9, -0.6, 6.0)),
    ("curved the other way, both, pupil", (-0.9, 0.4, 3.2)),
]


@pytest.mark.parametrize(("name", "body"), SPOTS)
def test_a_small_ball_is_blurred_into_the_ellipse_of_the_optics_layer(
    page: Any, name: str, body: tuple[float, float, float]
) -> None:
    """Second moments of the patch. A uniform ellipse of full axes D has variances (D / 4)^2; a regular polygon of the
    same area with n corners a factor (2 pi / (3 n)) (2 + cos(2 pi / n)) / sin(2 pi / n) more (from its moment of
    inertia); the ball adds a disc of its own image's size."""
    chosen = setting(name)
    glass = geometry_of(chosen)
    patch = blur(glass, np.array([body]))
    radius = 0.002
    own = radius * glass.film_distance / body[2]
    width = 1.6 * float(patch.major[0]) + 4 * own
    size = 160
    shown = {"centre": patch.centre[0].tolist(), "width": width, "height": width}
    asked = even_light(
        live_view.setup_of(FRAME, FILM, chosen), ball(place_points([body])[0], radius), shown, size, 512
    )
    linear = live_view.linear_of(page.evaluate("a => bench.rendered(a)", asked))[..., 1].astype(float)
    total = linear.sum()
    assert total > 0
    middle = (np.arange(size) + 0.5) / size - 0.5
    x, y = middle * width + patch.centre[0, 0], -middle * width + patch.centre[0, 1]
    mean = np.array([(linear * x).sum(), (linear * y[:, None]).sum()]) / total
    dx, dy = x[None] - mean[0], y[:, None] - mean[1]
    found = np.array([[(linear * dx * dx).sum(), (linear * dx * dy).sum()], [0, (linear * dy * dy).sum()]]) / total
    found[1, 0] = found[0, 1]
    n = chosen.lens.blades
    more = 2 * math.pi / (3 * n) * (2 + math.cos(2 * math.pi / n)) / math.sin(2 * math.pi / n) if n else 1.0
    turn = np.array([math.cos(patch.angle[0]), math.sin(patch.angle[0])])
    across = np.array([-turn[1], turn[0]])
    expected = [(patch.major[0] / 4) ** 2 * more + own**2 / 4, (patch.minor[0] / 4) ** 2 * more + own**2 / 4]
    expected = [v + (width / size) ** 2 / 12 for v in expected]
    # 512 points of the pupil give variances to 0.5 %; the ball's outline as a polygon and its pixels the rest
    assert turn @ found @ turn == pytest.approx(expected[0], rel=0.02)
    assert across @ found @ across == pytest.approx(expected[1], rel=0.02)
    assert np.abs(mean - patch.centre[0]).max() < 0.02 * float(patch.major[0])


@pytest.mark.parametrize("name", ["straight", "both, rise, shift, pupil, pivot"])
def test_an_even_scene_comes_out_as_bright_over_the_film_as_the_falloff_says(page: Any, name: str) -> None:
    """A wall of one radiance across everything: film exposure is its radiance times the optics layer's integral."""
    chosen = setting(name, 2.8)
    wide = np.array([[-40.0, -40.0, 6.0], [40.0, -40.0, 6.0], [40.0, 40.0, 6.0], [-40.0, 40.0, 6.0]])
    skin = Skin(
        FRAME.to_place(wide), np.tile(-FRAME.forward, (4, 1)), np.array([[0, 1, 2], [0, 2, 3]]),
        Paint("white", (1.0, 1.0, 1.0)), 0,
    )  # fmt: skip
    data = glb([Part("wall", (skin,), {"kind": "block"})], "wall")
    shown = {"centre": [0, 0], "width": FILM.width, "height": FILM.width}
    asked = even_light(live_view.setup_of(FRAME, FILM, chosen), data, shown, 48, 64)
    linear = live_view.linear_of(page.evaluate("a => bench.rendered(a)", asked))[..., 1]
    at = (np.arange(48) + 0.5) / 48 - 0.5
    image = np.stack(np.meshgrid(at * FILM.width, -at * FILM.width), axis=-1)
    # 100 lx of even light, of which the view's place without shares takes 0.7; grey's 10 / S goes to 0.18
    radiance = 0.7 * 100.0 / math.pi
    expected = irradiance_per_radiance(geometry_of(chosen), image) * radiance * 0.18 * 100 / 10
    assert linear == pytest.approx(expected, rel=4e-3)


def wall(distance: float, colour: float, half: float = 40.0) -> Part:
    """A square across the view, facing the camera."""
    wide = np.array(
        [[-half, -half, distance], [half, -half, distance], [half, half, distance], [-half, half, distance]]
    )
    paint = Paint(f"grey {colour}", (colour,) * 3)
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    skin = Skin(FRAME.to_place(wide), np.tile(-FRAME.forward, (4, 1)), faces, paint, 0)
    return Part(f"wall {distance}", (skin,), {"kind": "block"})


@pytest.mark.parametrize("distance", [4.0, 9.0])
def test_haze_veils_by_koschmieders_law(page: Any, distance: float) -> None:
    """Of contrast exp(-extinction x distance) is left, and a black wall has the rest of the even light that a white
    one sends back, times the albedo; the haze begins a metre before the camera."""
    extinction, albedo = 0.15, 0.9
    shown = {"centre": [0, 0], "width": 0.002, "height": 0.002}
    at = np.array(FRAME.at) + FRAME.forward
    haze = {
        "extinction_per_m": extinction, "albedo": albedo, "g": 0.6, "open": [0, 0],
        "low": (at - [50, 0, 50]).tolist(), "high": (at + 50.0).tolist(),
    }  # fmt: skip
    seen = {}
    for colour, hazy in ((1.0, False), (1.0, True), (0.0, True)):
        data = glb([wall(distance, colour)], "wall")
        asked = even_light(live_view.setup_of(FRAME, FILM, setting("straight", 8.0)), data, shown, 16, 16)
        asked["light"]["haze"] = haze if hazy else None
        linear = live_view.linear_of(page.evaluate("a => bench.rendered(a)", asked))[..., 1]
        seen[colour, hazy] = float(linear.mean())
    left = math.exp(-extinction * (distance - 1.0))
    white = seen[1.0, False] / 0.7
    assert (seen[1.0, True] - seen[0.0, True]) / seen[1.0, False] == pytest.approx(left, rel=5e-3)
    assert seen[0.0, True] / white == pytest.approx(albedo * (1 - left), rel=5e-3)


def test_a_flag_of_the_shot_is_seen_and_holds_its_light_back(page: Any) -> None:
    """A black flag before a white wall, to the right; a head beside the camera, and another flag before that."""
    shown = {"centre": [0, 0], "width": 0.024, "height": 0.024}
    asked = even_light(
        live_view.setup_of(FRAME, FILM, setting("straight", 8.0)), glb([wall(5.0, 1.0)], "wall"), shown, 24, 2
    )
    asked["shotGlb"] = live_view.encoded(glb([_flag((0.7, 0.0, 3.0), 0.5)], "flag"))
    plain = live_view.linear_of(page.evaluate("a => bench.rendered(a)", asked))[..., 1]
    assert plain[:, :8].min() > 0.3
    assert plain[12, 18:22].max() < 0.1 * plain[12, 4]
    names = page.evaluate("([a, at]) => bench.seenAt(a, at)", [asked, [[0.0117, 0.0], [-0.0117, 0.0]]])
    assert names == ["flag", "wall 5.0"]
    head = {
        "name": "key", "at": FRAME.to_place(np.array([-0.5, 0.0, 0.2])).tolist(), "axis": FRAME.forward.tolist(),
        "up": [0, 0, 1], "pattern": "sphere", "shape": "disc", "size_m": [0.05, 0.05], "exponent": 1.0,
        "grid_deg": None, "intensity_cds": 1000.0, "front_cdm2": 0.0, "white": [0.95, 1.0, 1.09], "ambient_lxs": 0.0,
        "bounced": False, "power": 1.0, "gels": [], "gels_on": [], "strobe": "key", "range_stops": 6,
    }  # fmt: skip
    lit = {}
    for name, holds in (("whole", 1.0), ("half", 0.5), ("none", 0.0)):
        flag = _flag((-0.5, 0.0, 1.2), 0.3, holds)
        one = {
            **asked,
            "shotGlb": live_view.encoded(glb([flag], "flag")),
            "light": {**asked["light"], "heads": [head]},
        }
        one["exposing"] = {**asked["exposing"], "powers": {"key": 1.0}, "sky": False}
        lit[name] = live_view.linear_of(page.evaluate("a => bench.rendered(a)", one))[..., 1]
    # the flag hides what lies left of pixel 3.7, its shadow on the wall ends at 21.4
    assert lit["none"][12, 23] > 0
    for name, passed in (("whole", 0.0), ("half", 0.5)):
        assert lit[name][12, 23] == pytest.approx(lit["none"][12, 23], rel=0.02)
        shadow = lit[name][9:15, 8:16].mean() / lit["none"][9:15, 8:16].mean()
        assert shadow == pytest.approx(passed, abs=0.06)


def _flag(at: tuple[float, float, float], half: float, holds: float = 1.0) -> Part:
    """A black square that faces the camera; `holds` back so much of the light."""
    x, y, z = at
    corners = np.array([[x + i * half, y + j * half, z] for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    paint = Paint("black", (0.001,) * 3, 1.0, holds)
    skin = Skin(FRAME.to_place(corners), np.tile(-FRAME.forward, (4, 1)), faces, paint, 0)
    return Part("flag", (skin,), {"kind": "sheet", "open": [0.0, 0.0]})


def test_who_is_under_the_pointer(page: Any) -> None:
    body = (0.3, 0.2, 4.0)
    chosen = setting("swing")
    where = blur(geometry_of(chosen), np.array([body])).image[0]
    asked = {
        "glb": live_view.encoded(ball(place_points([body])[0], 0.05)),
        "setup": live_view.setup_of(FRAME, FILM, chosen),
        "window": {"centre": [0, 0], "width": 0.036, "height": 0.024}, "width": 720, "height": 480, "passes": 4,
    }  # fmt: skip
    found = page.evaluate("([a, at]) => bench.seenAt(a, at)", [asked, [where.tolist(), (where + 0.004).tolist()]])
    assert found == ["ball", None]
