"""The frame with blur rings of true size beside faces of true size; and the files of `sidelong focus --svg`."""

import math
import re
from pathlib import Path

import numpy as np
import pytest

from sidelong.cli import main
from sidelong.plan.predict import plan_without_light
from sidelong.sheet.drawing import Polygon
from sidelong.sheet.picture_view import ellipse, picture_of_shot
from sidelong.sheet.silhouette import silhouettes
from sidelong.shoot.check import load

SCENE = """
sidelong = 1
[place]
sky = "dark"
[[people]]
name = "Ida"
at = [-0.45, 3.0]
facing = 180
[[people]]
name = "Una"
at = [0.5, 3.8]
facing = 180
[[people]]
name = "Far"
at = [8.0, 4.0]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "fifty"
focal = 50
widest = 2.8
movement = 8
image_circle = {circle}
[[shots]]
id = "a/b"
sharp = ["Ida"]
soft = ["Una", "Far"]
aperture = 2.8
shutter = "1/125"
[shots.camera]
at = [0.0, 0.0, 1.5]
aim = [0.0, 3.0, 1.3]
"""


def planned(folder: Path, circle: float = 70.0):
    (folder / "shoot.toml").write_text(SCENE.format(circle=circle))
    shoot = load(folder)
    return plan_without_light(shoot, shoot.shots[0])


def polygons(drawing, pen):
    return [s for s in drawing.of_pen(pen) if isinstance(s, Polygon)]


def longest(polygon: Polygon) -> float:
    points = np.array(polygon.points)
    return float(np.max(np.linalg.norm(points[:, None] - points[None], axis=2)))


def test_rings_and_figures_are_in_true_proportion(tmp_path):
    plan = planned(tmp_path)
    drawing = picture_of_shot(plan)
    points = {p.name: p for p in plan.focus.points}
    (soft,) = polygons(drawing, "soft ring")  # Una alone: whoever is out of the picture has no ring
    assert longest(soft) == pytest.approx(points["Una"].blur_major, rel=2e-3)
    (sharp,) = polygons(drawing, "sharp ring")
    assert longest(sharp) == pytest.approx(max(points["Ida"].blur_major, 0.0), rel=2e-3, abs=1e-9)
    # Una stands 1.72 m tall, 3.8 m away: her figure is as much smaller than life as the film's distance over hers
    figures = [np.array(s.points) for s in drawing.of_pen("outline")]
    largest = max(figures, key=lambda f: np.ptp(f[:, 1]))
    assert np.ptp(largest[:, 1]) <= 0.024 + 1e-9
    assert "Far" in drawing.shapes[-1].words


def test_the_ring_stands_beside_the_face(tmp_path):
    plan = planned(tmp_path)
    una = next(p for p in plan.focus.points if p.name == "Una")
    (ring,) = polygons(picture_of_shot(plan), "soft ring")
    centre = np.mean(ring.points, axis=0)
    assert centre[1] == pytest.approx(una.image[1], abs=1e-6)
    assert 0 < abs(centre[0] - una.image[0]) < 0.006


def test_a_small_image_circle_is_drawn_and_a_large_one_is_not(tmp_path):
    assert not picture_of_shot(planned(tmp_path, 70.0)).of_pen("image circle")
    edges = picture_of_shot(planned(tmp_path, 38.0)).of_pen("image circle")
    assert edges
    for edge in edges:
        for x, y in edge.points:
            assert abs(x) <= 0.018 + 1e-9
            assert abs(y) <= 0.012 + 1e-9


def test_an_outline_keeps_the_shape_that_was_filled():
    square = np.array([[[-2, -1], [2, -1], [2, 1]], [[-2, -1], [2, 1], [-2, 1]]], float) * 1e-3
    (outline,) = silhouettes(square, (0.036, 0.024))
    points = np.array(outline)
    assert points.min(axis=0) == pytest.approx([-2e-3, -1e-3], abs=6e-5)
    assert points.max(axis=0) == pytest.approx([2e-3, 1e-3], abs=6e-5)
    x, y = points.T
    area = 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
    assert area == pytest.approx(8e-6, rel=0.03)


def test_an_ellipse_turns_from_x_towards_y():
    points = np.array(ellipse((1.0, 2.0), 4.0, 1.0, math.radians(30)))
    far = points[np.argmax(points[:, 0])]
    assert math.atan2(far[1] - 2.0, far[0] - 1.0) == pytest.approx(math.radians(30), abs=0.06)


def test_the_command_writes_the_drawings(tmp_path, capsys):
    planned(tmp_path)
    assert main(["focus", str(tmp_path), "--drawings=no", "--svg", str(tmp_path / "drawn")]) == 0
    names = {p.name for p in (tmp_path / "drawn").iterdir()}
    assert {"a-b-plan.svg", "a-b-elevation.svg", "a-b-picture.svg"} <= names
    told = capsys.readouterr().out
    for name in names:
        assert name in told
        text = (tmp_path / "drawn" / name).read_text()
        assert text.startswith("<svg")
        assert len(re.findall("<svg", text)) == len(re.findall("</svg>", text))
    (tmp_path / "taken").write_text("a file")
    assert main(["focus", str(tmp_path), "--drawings=no", "--svg", str(tmp_path / "taken")]) == 2
    assert "--svg" in capsys.readouterr().err
