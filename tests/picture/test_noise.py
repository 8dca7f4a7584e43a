"""Noise removal: less noise, the same light, nothing that is not a light; and going on without the library."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest

from sidelong.picture import noise
from sidelong.trace.values import Layers

Maker = Callable[..., Layers]


def silent(done: float) -> None:
    assert 0.0 <= done <= 1.0


@pytest.mark.parametrize("quality", ["fast", "high"])
def test_noise_falls_and_every_mean_stays(make_layers: Maker, quality: noise.Quality) -> None:
    true, noisy = make_layers(120, 180), make_layers(120, 180, noise=0.5, seed=2)
    smooth, notice = noise.remove_noise(noisy, quality, silent)
    assert notice is None
    for layer in range(3):
        np.testing.assert_allclose(
            smooth.xyz[:, :, layer].mean(axis=(0, 1)), noisy.xyz[:, :, layer].mean(axis=(0, 1)), rtol=1e-3
        )
        before = np.abs(noisy.xyz[:, :, layer] - true.xyz[:, :, layer]).mean()
        after = np.abs(smooth.xyz[:, :, layer] - true.xyz[:, :, layer]).mean()
        assert after < 0.35 * before
    assert (smooth.xyz >= 0).all()


def test_what_is_no_number_does_not_spread(make_layers: Maker) -> None:
    noisy = make_layers(60, 90, noise=0.3)
    xyz = noisy.xyz.copy()
    xyz[10, 10, 0], xyz[20, 20, 1], xyz[30, 30, 2] = np.nan, -5.0, np.inf
    albedo = noisy.albedo.copy()
    albedo[5, 5] = np.nan
    smooth, notice = noise.remove_noise(dataclasses.replace(noisy, xyz=xyz, albedo=albedo), "fast", silent)
    assert notice is None
    assert np.isfinite(smooth.xyz).all()
    assert (smooth.xyz >= 0).all()


def test_a_deep_blue_gel_keeps_its_colour(make_layers: Maker) -> None:
    """A light far outside sRGB comes through with its chromaticity, patch by patch of ten pixels."""
    noisy = make_layers(60, 90, noise=0.3)
    xyz = noisy.xyz.copy()
    xyz[:, :, 0] = xyz[:, :, 0, 1:2] * np.array([1.9, 1.0, 9.5], np.float32)
    xyz[:, :30, 1] *= np.array([1.1, 0.5, 0.02], np.float32)
    smooth, _ = noise.remove_noise(dataclasses.replace(noisy, xyz=xyz), "fast", silent)
    patches = smooth.xyz[:, :, 0].reshape(6, 10, 9, 10, 3).mean(axis=(1, 3))
    np.testing.assert_allclose(patches / patches[..., 1:2], np.broadcast_to([1.9, 1.0, 9.5], (6, 9, 3)), rtol=0.02)
    here = smooth.xyz[20:40, 5:25, 1].mean(axis=(0, 1))
    there = xyz[20:40, 5:25, 1].mean(axis=(0, 1))
    np.testing.assert_allclose(here / here[1], there / there[1], rtol=0.06, atol=0.01)


def test_a_light_that_reaches_nothing_stays_black(make_layers: Maker) -> None:
    noisy = make_layers(60, 90, noise=0.3)
    xyz = noisy.xyz.copy()
    xyz[:, :, 0] = 0.0
    smooth, _ = noise.remove_noise(dataclasses.replace(noisy, xyz=xyz), "fast", silent)
    assert not smooth.xyz[:, :, 0].any()
    assert smooth.xyz[:, :, 1].any()


def test_the_layers_given_are_not_changed(make_layers: Maker) -> None:
    noisy = make_layers(60, 90, noise=0.3)
    kept = noisy.xyz.copy()
    noise.remove_noise(noisy, "fast", silent)
    np.testing.assert_array_equal(noisy.xyz, kept)


@pytest.mark.parametrize("fault", [ImportError("no module"), OSError("no such library"), RuntimeError("no memory")])
def test_without_the_library_the_picture_goes_on_and_says_so(
    make_layers: Maker, monkeypatch: pytest.MonkeyPatch, fault: Exception
) -> None:
    def refuse() -> None:
        raise fault

    monkeypatch.setattr(noise, "_library", refuse)
    noisy = make_layers(60, 90, noise=0.3)
    same, notice = noise.remove_noise(noisy, "high", silent)
    np.testing.assert_array_equal(same.xyz, noisy.xyz)
    assert notice is not None
    assert notice.about == "noise"
    assert str(fault) in notice.text


def test_an_interruption_passes_through(make_layers: Maker) -> None:
    def stop(done: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        noise.remove_noise(make_layers(60, 90), "fast", stop)


def test_the_edges_are_nearly_as_clean_as_the_middle(make_layers: Maker) -> None:
    """On an evenly lit wall the outermost pixels, which have half the neighbours and in the corners a quarter,
    deviate at most twice as much as those inside: what a mean over a quarter of the neighbours would."""
    noisy = make_layers(96, 144, noise=0.7, seed=5)
    even = np.random.default_rng(5).gamma(2.0, 0.5, (96, 144, 1)) * np.array([0.95, 1.0, 1.09])
    xyz = np.repeat(even[:, :, None], 3, axis=2).astype(np.float32)
    flat = np.full_like(noisy.albedo, 0.5)
    smooth, _ = noise.remove_noise(dataclasses.replace(noisy, xyz=xyz, albedo=flat), "fast", silent)
    off = np.abs(smooth.xyz[:, :, 0, 1] - 1.0)
    edge = np.concatenate([off[0], off[-1], off[:, 0], off[:, -1]]).mean()
    assert edge < 2.0 * off[10:-10, 10:-10].mean()
