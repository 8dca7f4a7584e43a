"""The main path of a picture: with layers made by arithmetic, and once with real light paths against closed form."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from sidelong.colour.encode import decoded
from sidelong.frames_of_reference import camera_frame
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.light.values import Emitter
from sidelong.picture import noise
from sidelong.picture.develop import MIDDLE_GREY_TIMES_ISO, develop, film_exposure, weights
from sidelong.picture.make import make_picture
from sidelong.picture.values import DRAFT, FULL, Exposure, Quality
from sidelong.place.values import Place, Sky
from sidelong.spectra.illuminants import by_temperature
from sidelong.trace.quality import Quality as Tracing
from sidelong.trace.values import Layers, Progress, Sheet, Stage, View

EXPOSURE = Exposure(1 / 128, 160.0, 5500.0)
EMPTY = Stage(Place(), (), (), None)
Maker = Callable[..., Layers]


@pytest.fixture
def traced(make_layers: Maker) -> Callable[..., Layers]:
    """A tracer that gives noisy arithmetic layers and tells its progress."""

    def trace(stage: Stage, view: View, samples: int, seed: int, progress: Progress, max_depth: int) -> Layers:
        for done in (0.0, 0.5, 1.0):
            progress(done)
        return make_layers(view.height, view.width, noise=0.4, seed=seed)

    return trace


def test_layers_are_smoothed_weighed_and_developed(view: View, traced: Callable[..., Layers]) -> None:
    heard: list[float] = []
    made = make_picture(EMPTY, view, EXPOSURE, FULL, heard.append, trace=traced)
    np.testing.assert_array_equal(made.counts, weights(made.layers, EXPOSURE.shutter))
    np.testing.assert_array_equal(made.exposure_xyz, film_exposure(made.layers, made.counts))
    np.testing.assert_array_equal(made.srgb, develop(made.exposure_xyz, EXPOSURE.iso, EXPOSURE.balance))
    assert made.notices == ()
    assert made.mean_exposure == pytest.approx(made.exposure_xyz[..., 1].mean(), rel=1e-5)
    assert heard == sorted(heard)
    assert heard[0] == 0.0
    assert heard[-1] == 1.0


def test_a_draft_is_smoothed_as_a_whole_and_keeps_its_layers(
    view: View, traced: Callable[..., Layers], make_layers: Maker
) -> None:
    """Its noise is taken out of the sum of the lights, whose mean stays; what was traced stays to be weighed anew."""
    made = make_picture(EMPTY, view, EXPOSURE, DRAFT, trace=traced)
    noisy, true = make_layers(60, 90, noise=0.4, seed=0), make_layers(60, 90)
    np.testing.assert_array_equal(made.layers.xyz, noisy.xyz)
    before, wanted = film_exposure(noisy, made.counts), film_exposure(true, made.counts)
    np.testing.assert_allclose(
        made.exposure_xyz.mean(axis=(0, 1)), before.mean(axis=(0, 1), dtype=np.float64), rtol=1e-4
    )
    # what the filter is for; a third of the noise is what the layers' own tests ask of it too
    assert np.abs(made.exposure_xyz - wanted).mean() < 0.35 * np.abs(before - wanted).mean()
    np.testing.assert_array_equal(made.srgb, develop(made.exposure_xyz, EXPOSURE.iso, EXPOSURE.balance))


def test_noise_stays_when_asked(view: View, traced: Callable[..., Layers], make_layers: Maker) -> None:
    made = make_picture(EMPTY, view, EXPOSURE, Quality(DRAFT.tracing, None), trace=traced)
    np.testing.assert_array_equal(made.layers.xyz, make_layers(60, 90, noise=0.4, seed=0).xyz)


def test_same_seed_same_picture(view: View, traced: Callable[..., Layers]) -> None:
    one, two, other = (make_picture(EMPTY, view, EXPOSURE, DRAFT, seed=s, trace=traced).srgb for s in (3, 3, 4))
    np.testing.assert_array_equal(one, two)
    assert (one != other).any()


def test_missing_library_is_noticed(
    view: View, traced: Callable[..., Layers], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise ImportError("not here")

    monkeypatch.setattr(noise, "_library", refuse)
    made = make_picture(EMPTY, view, EXPOSURE, DRAFT, trace=traced)
    assert [notice.about for notice in made.notices] == ["noise"]


@pytest.mark.parametrize("moment", [0.1, 0.4, 0.85])
def test_stops_when_told_to(view: View, traced: Callable[..., Layers], moment: float) -> None:
    def stop(done: float) -> None:
        if done >= moment:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_picture(EMPTY, view, EXPOSURE, DRAFT, stop, trace=traced)


def test_traced_card_comes_out_as_closed_form_says() -> None:
    """A matt card of 18 % before a straight lens, lit by a small flash square to it, alone in the dark.

    E = flux / pi / r^2 on the card from a small Lambertian front on its axis; the film gets
    H = E (0.18 / pi) pi (f / (2 N d))^2 in the middle of the picture (an ideal lens on axis, d the film distance).
    Set to be middle grey, the card must come out at 0.18.
    """
    lens = Lens("fifty", 0.05, 4.0)
    setting = Setting(lens, Movement(), 0.05**2 / (2.0 - 0.05), 4.0)
    view = View(camera_frame((0, 0, 1), (0, 2, 1)), Film(0.036, 0.024), setting, 24, 16)
    card = Sheet("card", (0.0, 2.0, 1.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (3.0, 3.0), 0.18)
    flux, distance = 100.0, 2.2
    front = Emitter(
        "key", "flash", "lambert", flux, by_temperature(5500), (0.0, 2.0 - distance, 1.0), (0, 1, 0), (0, 0, 1)
    )
    stage = Stage(Place(ground=0.0, sky=Sky("dark")), (), (front,), None, (card,))
    illuminance = flux / np.pi / distance**2
    film = illuminance * 0.18 * (0.05 / (2 * 4.0 * (0.05 + setting.extension))) ** 2
    exposure = Exposure(1 / 128, MIDDLE_GREY_TIMES_ISO / film, 5500.0)
    made = make_picture(stage, view, exposure, Quality(Tracing("test", 24, 16, 256, 3), None))
    middle = made.srgb[6:10, 9:15].reshape(-1, 3)
    # 24 pixels of 256 paths: the colours of sampled wavelengths leave about one step of 118 in a mean
    assert np.abs(middle.mean(axis=0) - 117.6).max() < 2.5
    assert np.log2(decoded(middle.mean() / 255.0) / 0.18) == pytest.approx(0.0, abs=0.05)
    assert made.layers.names[0] == "key"
