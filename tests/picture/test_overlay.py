"""Overlays measured in pixels: ring sizes and directions, enlargement, the stops map's colours and numbers."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import map_coordinates

from sidelong.picture import overlay, rings
from sidelong.picture.gamut import to_oklab
from sidelong.picture.stops_map import HIGHEST, LOWEST, stop_colours, stops_from_middle, stops_picture
from sidelong.picture.values import OverlayPoint, Picture
from sidelong.trace.values import View


def large(picture: Picture, width: int = 1500) -> Picture:
    """The picture all black at a large size."""
    height = width * 2 // 3
    view = dataclasses.replace(picture.view, width=width, height=height)
    black = np.zeros((height, width, 3))
    return dataclasses.replace(picture, view=view, exposure_xyz=black.astype(np.float32), srgb=black.astype(np.uint8))


def measured_ellipse(image: NDArray[np.uint8], centre: tuple[float, float]) -> tuple[float, float, float]:
    """Full axes [px] and angle [rad, up] of the middle of a drawn line: its brightness's mean distance from the
    centre along rays, the longest of which is the major axis."""
    light = image[..., 0].astype(float)
    reach = np.arange(0.0, 100.0, 0.1)
    angles = np.radians(np.arange(-90.0, 90.0, 0.5))

    def across(angle: float) -> float:
        total = 0.0
        for way in (angle, angle + math.pi):
            # pixel (0, 0) is centred on (0.5, 0.5)
            rows = centre[1] - reach * math.sin(way) - 0.5
            columns = centre[0] + reach * math.cos(way) - 0.5
            seen = map_coordinates(light, [rows, columns], order=1)
            total += float((seen * reach).sum() / seen.sum())
        return total

    long = max(angles, key=across)
    return across(long), across(long + math.pi / 2), float(long)


@pytest.mark.parametrize(("major", "minor", "angle"), [(80.0, 50.0, 0.6), (120.0, 119.0, 0.0), (60.0, 30.0, -1.1)])
def test_ring_has_the_size_and_direction_asked_for(major: float, minor: float, angle: float) -> None:
    image = Image.new("RGB", (240, 240))
    centre = (120.3, 119.6)
    rings.paint_ring(image, rings.ellipse_outline(centre, major, minor, angle), 2.0)
    long, short, turned = measured_ellipse(np.asarray(image), centre)
    assert long == pytest.approx(major, abs=0.4)
    assert short == pytest.approx(minor, abs=0.4)
    if major > minor + 5:
        assert abs(math.degrees(turned - angle)) < 3


def test_ring_of_true_size_beside_a_face(picture: Picture) -> None:
    """A blur of 1.2 mm on 36 mm of film, 1500 pixels wide, is 50 pixels: large enough to be drawn as it is."""
    black = large(picture)
    point = OverlayPoint("", (-0.004, 0.002), 1.2e-3, 1.2e-3, 0.0, face=0.002)
    assert rings.enlargement(black.view, [point]) == 1
    made = overlay.overlaid(black, [point], ["rings"])
    eyes_x = (-0.004 / 0.036 + 0.5) * 1500
    beside = made[:, int(eyes_x) : int(eyes_x) + 200, 0]
    rows, columns = np.nonzero(beside > 120)
    top = rows.min()
    middle = round(columns[rows == top].mean())
    down_the_middle = np.flatnonzero(beside[top : top + 57, middle] > 120)
    assert np.ptp(down_the_middle) == pytest.approx(50, abs=3)  # outer edges of a line of 1.7 pixels
    assert middle - 25 > 0.5 * 0.002 / 0.036 * 1500


@pytest.mark.parametrize(("blur", "times"), [(2e-3, 1), (0.5e-3, 2), (0.2e-3, 5), (0.1e-3, 10), (1e-6, 100)])
def test_enlargement_is_one_round_number_for_all(view: View, blur: float, times: int) -> None:
    points = [OverlayPoint("a", (0, 0), blur, blur), OverlayPoint("b", (0, 0), blur / 30, blur / 30)]
    assert rings.enlargement(dataclasses.replace(view, width=1500, height=1000), points) == times


def test_no_points_no_enlargement(view: View) -> None:
    assert rings.enlargement(view, []) == 1


def test_overlays_leave_the_picture_itself_alone(picture: Picture) -> None:
    before = picture.srgb.copy()
    point = OverlayPoint("Marit", (0.0, 0.0), 3e-4, 2e-4, 0.3, 0.5)
    made = overlay.overlaid(picture, [point], overlay.KINDS)
    np.testing.assert_array_equal(picture.srgb, before)
    assert made.shape == before.shape
    assert (made != before).any()


def test_names_without_a_font_are_spelt_in_ascii_and_with_one_as_they_are(picture: Picture) -> None:
    point = OverlayPoint("Þóra Łąka", (0.0, 0.0))
    assert overlay.overlaid(large(picture, 600), [point], ["names"]).max() > 200


def test_point_that_cannot_be_imaged_is_named_but_gets_no_ring(picture: Picture) -> None:
    black = large(picture, 600)
    bare = overlay.overlaid(black, [OverlayPoint("", (0.0, 0.0), math.inf, math.inf)], ["rings"])
    assert bare[:300].max() == 0


def test_unknown_overlay_is_a_clear_fault(picture: Picture) -> None:
    with pytest.raises(ValueError, match='no overlay is called "grid"; there are rings, stops, names'):
        overlay.overlaid(picture, [], ["grid"])


def test_stops_map_says_the_exposure(picture: Picture) -> None:
    iso = 160.0
    exposures = (10 / iso) * np.exp2(np.arange(-8, 7).astype(np.float32))[None]
    stops = stops_from_middle(exposures, iso)
    np.testing.assert_allclose(stops[0], np.arange(-8, 7), atol=1e-5)
    made = stops_picture(stops)
    index = np.clip(np.arange(-8, 7), LOWEST, HIGHEST) - LOWEST
    np.testing.assert_array_equal(made[0], stop_colours()[index])
    np.testing.assert_array_equal(stops_picture(np.array([[-np.inf, np.nan]], np.float32))[0, 0], stop_colours()[0])


def _linear(colours: NDArray[np.uint8]) -> NDArray[np.float32]:
    value = colours / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(np.float32)


def test_stop_colours_are_evenly_spaced_and_rise_in_lightness() -> None:
    lab = to_oklab(_linear(stop_colours()))
    steps = np.linalg.norm(np.diff(lab, axis=0), axis=1)
    assert np.ptp(steps) / steps.mean() < 0.12  # the last of 8 bits leaves a few per cent
    assert (np.diff(lab[:, 0]) > 0.05).all()


# Vienot, Brettel & Mollon, Color Research and Application 24(4):243-252, 1999: linear RGB as seen by a protanope and
# a deuteranope (matrices of the paper's method for the sRGB primaries; second-hand transcription)
PROTANOPE = np.array([[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]])
DEUTERANOPE = np.array([[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]])


@pytest.mark.parametrize("seen_as", [PROTANOPE, DEUTERANOPE], ids=["protanope", "deuteranope"])
def test_stop_colours_stay_apart_without_red_or_green_cones(seen_as: NDArray[np.float64]) -> None:
    lab = to_oklab(np.clip(_linear(stop_colours()) @ seen_as.T, 0, 1).astype(np.float32))
    apart = np.linalg.norm(lab[:, None] - lab[None], axis=2) + np.eye(len(lab))
    assert apart.min() > 0.06
    assert (np.diff(lab[:, 0]) > 0.05).all()


def test_stops_numbers_and_legend_are_there(picture: Picture) -> None:
    made = overlay.overlaid(large(picture, 900), [], ["stops"])
    legend = made[-8:, :, :]
    assert len(np.unique(legend[-1].reshape(-1, 3), axis=0)) >= HIGHEST - LOWEST + 1
    assert made[:450].max() > 200  # numbers stand on the map, which is one dark colour here


def test_a_font_given_is_used(picture: Picture, tmp_path: Path) -> None:
    with pytest.raises(OSError, match="cannot open resource"):
        overlay.overlaid(picture, [OverlayPoint("a", (0, 0))], ["names"], tmp_path / "none.ttf")
