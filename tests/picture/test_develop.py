"""Developing: exact greys, proportion before the shoulder, hue, dither, weighing again.

18 % card values: ISO 12232:2019 (middle grey 10 / S at sRGB 118) and the linear Bradford transform (CIE 159:2004),
worked by hand for D55 under 3200 K and the reverse.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from sidelong.colour.adapt import balance_white
from sidelong.colour.encode import decoded
from sidelong.picture import develop as dev
from sidelong.picture.gamut import to_oklab
from sidelong.trace.values import Layers

ISO = 160.0


def card(kelvin: float, stops: float = 0.0, size: int = 64) -> NDArray[np.float32]:
    """Film exposure of an 18 % card at `stops` from middle grey in the light of a temperature."""
    xyz = balance_white(kelvin) * (dev.MIDDLE_GREY_TIMES_ISO / ISO) * 2.0**stops
    return np.tile(xyz, (size, size, 1)).astype(np.float32)


@pytest.mark.parametrize(
    ("light", "balance", "expected"),
    [(5500, 5500, (118, 118, 118)), (5500, 3200, (81, 124, 171)), (3200, 5500, (145, 111, 77))],
)
def test_card_at_middle_grey(light: float, balance: float, expected: tuple[int, int, int]) -> None:
    made = dev.develop(card(light), ISO, balance).reshape(-1, 3)
    assert np.abs(made.mean(axis=0) - expected).max() < 1.0
    assert np.ptp(made, axis=0).max() <= 1  # the dither moves no pixel by more than one step


@pytest.mark.parametrize("stops", [-6.0, -3.0, -1.0, 0.0, 1.0, 1.9, 1.999])
def test_greys_are_proportional_up_to_two_stops_over(stops: float) -> None:
    made = dev.tone(dev.linear(card(5500, stops, 2), ISO, 5500))
    np.testing.assert_allclose(made, 0.18 * 2.0**stops, rtol=3e-6)


def test_eight_bits_say_the_exposure_back_before_the_shoulder() -> None:
    for stops in (-4.0, -2.0, 1.0, 1.9):
        mean = decoded(dev.develop(card(5500, stops, 256), ISO, 5500) / 255.0).mean()
        assert abs(np.log2(mean / 0.18) - stops) < 0.01


def test_coloured_pixels_inside_come_back_bit_for_bit() -> None:
    inside = np.array([[0.5, 0.3, 0.2], [0.1, 0.4, 0.3], [0.08, 0.2, 0.41]], np.float32)
    assert (dev.tone(inside) == inside).all()


def test_shoulder_joins_without_a_kink_and_is_level_at_saturation() -> None:
    step = 1e-3
    below, above = dev.SHOULDER - step, dev.SHOULDER + step
    values = dev.shoulder(np.array([below, dev.SHOULDER, above, dev.SATURATION - step, dev.SATURATION], np.float32))
    assert (values[2] - values[1]) / (values[1] - values[0]) == pytest.approx(1.0, abs=0.005)
    assert values[4] == 1.0
    assert (values[4] - values[3]) / step < 0.01
    assert pytest.approx(0.18 / 0.128, rel=0.002) == dev.SATURATION  # 12.8 % of saturation


@given(st.floats(0.0, 1.5), st.floats(0.0, 1.5))
def test_more_light_is_never_darker(one: float, two: float) -> None:
    low, high = dev.shoulder(np.array(sorted((one, two)), np.float32))
    assert low <= high


COLOURS = [(1, 0.02, 0), (0, 0.05, 1), (0.02, 1, 0.1), (1, 0.5, 0.05), (0.3, 0, 1), (-0.2, 0.3, 2), (1.5, 0.2, -0.1)]


@pytest.mark.parametrize("colour", COLOURS)
def test_a_coloured_light_keeps_its_hue_at_every_exposure(colour: tuple[float, float, float]) -> None:
    """Oklab hue within 0.5 degrees from four stops under to six over, as long as any colour is left."""
    base = np.array(colour, np.float32) * np.float32(0.18)
    ramp = (base * np.exp2(np.arange(-4, 6.01, 0.25))[:, None]).astype(np.float32)
    before, after = to_oklab(ramp), to_oklab(dev.tone(ramp))
    coloured = np.hypot(after[:, 1], after[:, 2]) > 0.005
    turn = np.arctan2(after[:, 2], after[:, 1]) - np.arctan2(before[:, 2], before[:, 1])
    turn = np.degrees(np.angle(np.exp(1j * turn)))
    assert coloured.sum() > 15
    assert np.abs(turn[coloured]).max() < 0.5


@pytest.mark.parametrize("colour", COLOURS)
def test_a_coloured_light_brightens_steadily_and_ends_white(colour: tuple[float, float, float]) -> None:
    base = np.array(colour, np.float32) * np.float32(0.18)
    ramp = (base * np.exp2(np.arange(-4, 8.01, 0.125))[:, None]).astype(np.float32)
    made = dev.tone(ramp)
    lightness = to_oklab(made)[:, 0]
    assert (np.diff(lightness) > -0.004).all()
    assert made.min() >= 0.0
    assert made.max() <= 1.0
    assert made[-1].min() > 0.99


def test_dither_is_the_same_for_the_same_seed_and_keeps_the_mean() -> None:
    flat = np.full((200, 200, 3), 0.2, np.float32)
    assert (dev.to_bytes(flat, 7) == dev.to_bytes(flat, 7)).all()
    assert (dev.to_bytes(flat, 7) != dev.to_bytes(flat, 8)).any()
    exact = 255 * (1.055 * 0.2 ** (1 / 2.4) - 0.055)
    # 120 000 draws of at most one step: the mean's standard error is under 0.0015, five of them 0.0075
    assert dev.to_bytes(flat, 7).mean() == pytest.approx(exact, abs=0.01)


def test_black_white_and_less_than_nothing() -> None:
    made = dev.to_bytes(dev.tone(np.array([[0, 0, 0], [-1, -2, -0.1], [9, 9, 9], [0, 0, 1e-9]], np.float32)), 3)
    assert made[:2].max() == 0
    assert made[2].min() == 255
    assert made[3].max() <= 1


def test_shutter_moves_steady_light_alone(make_layers: Callable[..., Layers]) -> None:
    layers = make_layers()
    slow, fast = dev.weights(layers, 1 / 64), dev.weights(layers, 1 / 128)
    np.testing.assert_allclose(slow / fast, [1.0, 2.0, 2.0])


def test_weighed_sum_of_layers_and_lighting_again(make_layers: Callable[..., Layers]) -> None:
    layers = make_layers()
    counts = dev.weights(layers, 1 / 128, {"key": -1.0})
    film = dev.film_exposure(layers, counts)
    by_hand = 0.5 * layers.xyz[:, :, 0] + (layers.xyz[:, :, 1] + layers.xyz[:, :, 2]) / 128
    np.testing.assert_allclose(film, by_hand, rtol=1e-5)
    again = dev.relit(layers, counts, ISO, 5500, seed=4)
    assert np.abs(again.astype(int) - dev.develop(film, ISO, 5500, seed=4)).max() <= 1


def test_an_unknown_light_is_named(make_layers: Callable[..., Layers]) -> None:
    with pytest.raises(KeyError, match="no light is called 'rim'; there are key, sun, sky"):
        dev.weights(make_layers(), 0.01, {"rim": 1.0})


def test_iso_and_exposure_trade_stop_for_stop() -> None:
    np.testing.assert_allclose(
        dev.linear(card(5500, 1.0, 2), ISO, 5500), dev.linear(card(5500, 0.0, 2), 2 * ISO, 5500), rtol=1e-6
    )
