"""A picture's layers as half floats: what is kept of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sidelong.desk.layers import GREATEST, halved, packed, unpacked
from sidelong.trace.values import Layers


def layers(xyz: np.ndarray) -> Layers:
    height, width, count, _ = xyz.shape
    flat = np.zeros((height, width), np.float32)
    names = tuple(f"light {k}" for k in range(count))
    three = np.zeros((height, width, 3), np.float32)
    return Layers(names, (True,) * count, xyz.astype(np.float32), flat, flat.astype(np.int32), three, three, 1, 0.0)


def head(given_layers: Layers, scales: list[float]) -> dict[str, object]:
    height, width, _, _ = given_layers.xyz.shape
    return {"names": list(given_layers.names), "width": width, "height": height, "scales": scales}


@given(
    st.integers(1, 4),
    st.floats(-18, 18),
    st.integers(0, 2**31 - 1),
)
def test_pixels_keep_eleven_bits_down_to_28_stops_under_the_brightest(count: int, stops: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    xyz = (2.0 ** (stops - rng.uniform(0, 28, (5, 7, count, 3)))).astype(np.float32)
    xyz[0, 0] = 2.0**stops
    one = layers(xyz)
    scales, halves = packed(one)
    assert np.isfinite(halves).all()
    assert float(halves.max()) <= GREATEST
    back = unpacked(head(one, scales), halves.tobytes())
    assert back.shape == one.xyz.shape
    assert np.all(np.abs(back - one.xyz) <= one.xyz * 2.0**-11 * 1.0001)
    assert all(np.log2(s) == round(np.log2(s)) for s in scales)


def test_a_light_that_reaches_nothing_stays_nothing() -> None:
    one = layers(np.zeros((2, 3, 2, 3)))
    scales, halves = packed(one)
    assert scales == [1.0, 1.0]
    assert unpacked(head(one, scales), halves.tobytes()) == pytest.approx(np.zeros((2, 3, 2, 3)))


@given(st.integers(1, 3), st.integers(1, 9), st.integers(1, 9), st.integers(0, 2**31 - 1))
def test_half_the_size_has_the_mean_of_four(count: int, width: int, height: int, seed: int) -> None:
    xyz = np.random.default_rng(seed).uniform(0, 1000, (height, width, count, 3)).astype(np.float32)
    one = layers(xyz)
    scales, values = packed(one)
    given_head = head(one, scales)
    half, data = halved(given_head, values.tobytes())
    if width < 2 or height < 2:
        assert (half, data) == (given_head, values.tobytes())
        return
    assert (half["width"], half["height"]) == (width // 2, height // 2)
    assert half["scales"] == scales
    even = xyz[: height // 2 * 2, : width // 2 * 2]
    mean = (even[::2, ::2] + even[1::2, ::2] + even[::2, 1::2] + even[1::2, 1::2]) / 4
    # half floats in, half floats out: one part in 2048 each time
    assert unpacked(half, data) == pytest.approx(mean, rel=2.0**-10, abs=1e-2)
