"""From a maker's figures to an emitter: kinds of modifiers, calibrations, gels, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.light.patterns import axial_intensity, front_area, front_outline, grid_solid_angle, illuminance_on_axis
from sidelong.light.strobe import emitter, shaped, tube_flux
from sidelong.light.values import Gel, Head, Modifier, Strobe
from sidelong.spectra.observer import luminous

STROBE = Strobe("s", 200.0, efficacy=30.0, kelvin=5600.0)
HEAD = Head("key", STROBE, (1.0, 2.0, 2.4), (1.0, 5.0, 1.4))


def test_bare_head():
    light = emitter(HEAD)
    assert light.pattern == "sphere"
    assert light.kind == "flash"
    assert light.flux == pytest.approx(6000.0)
    assert light.name == "key"
    assert light.at == (1.0, 2.0, 2.4)
    assert np.asarray(light.axis) == pytest.approx(np.array([0, 3, -1]) / math.sqrt(10))
    assert np.dot(light.axis, light.up) == pytest.approx(0.0, abs=1e-15)
    assert light.up[2] > 0.9
    assert luminous(light.spectrum.values) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize(
    ("modifier", "pattern", "flux"),
    [
        (Modifier("m", "front", size=(0.6, 0.9), transmission=0.6), "lambert", 0.6),
        (Modifier("m", "reflector", beam=1.0, transmission=0.8), "beam", 0.8),
        (Modifier("m", "reflector", transmission=0.8), "beam", 0.8),
        (Modifier("m", "umbrella", shape="octagon", size=(1.0, 1.0), transmission=0.7), "lambert", 0.7),
        (Modifier("m", "dish", shape="disc", size=(0.5, 0.5), beam=1.4, transmission=0.7), "beam", 0.7),
        (Modifier("m", "scrim", size=(2, 2), transmission=0.35, reflectance=0.5, layers=2), "lambert", 0.1225 / 0.75),
        (Modifier("m", "panel", size=(1.0, 2.0), reflectance=0.9), "lambert", 0.9),
    ],
)  # fmt: skip
def test_what_leaves_a_modifier(modifier, pattern, flux):
    light = emitter(replace(HEAD, modifier=modifier, power=0.5))
    assert light.pattern == pattern
    assert light.flux == pytest.approx(3000.0 * flux, rel=1e-12)


@pytest.mark.parametrize(("shape", "area"), [("rectangle", 0.6), ("octagon", 0.4970563), ("disc", 0.4712389)])
def test_fronts(shape, area):
    light = emitter(replace(HEAD, modifier=Modifier("m", "front", shape=shape, size=(1.0, 0.6))))
    outline = front_outline(light)
    assert front_area(light) == pytest.approx(area, rel=1e-6)
    # the outline lies in the front's plane, has its area, and runs anticlockwise for whoever it shines at
    spread = outline - np.asarray(light.at)
    assert np.abs(spread @ np.asarray(light.axis)).max() < 1e-12
    turned = np.sum(np.cross(spread, np.roll(spread, -1, axis=0)), axis=0) / 2
    assert turned @ np.asarray(light.axis) == pytest.approx(area, rel=1e-6)
    assert np.ptp(spread @ np.asarray(light.up)) == pytest.approx(0.6, rel=1e-3)


def test_straight_down_and_up_have_an_up():
    for aim in ((1.0, 2.0, 0.0), (1.0, 2.0, 9.0)):
        light = emitter(replace(HEAD, aim=aim))
        assert light.up == (0.0, 1.0, 0.0)


def test_guide_number_through_another_modifier():
    # calibrated in a 65 degree reflector that passes 0.8, used in a front that passes 0.5
    reflector = Modifier("dish 65", "reflector", beam=math.radians(65), transmission=0.8)
    front = Modifier("front", "front", size=(1.0, 1.0), transmission=0.5)
    strobe = Strobe("s", 500.0, guide_number=60.0, guide_modifier="dish 65")
    light = emitter(replace(HEAD, strobe=strobe, modifier=front), {"dish 65": reflector, "front": front})
    n = math.log(0.5) / math.log(math.cos(math.radians(32.5)))
    tube = 2.5 * 60.0**2 * 2 * math.pi / (n + 1) / 0.8
    assert light.flux == pytest.approx(tube * 0.5, rel=1e-12)
    assert tube_flux(strobe, {"dish 65": reflector}) == pytest.approx(tube, rel=1e-12)
    # and back in its own reflector it has its guide number again
    own = emitter(replace(HEAD, strobe=strobe, modifier=reflector), {})
    assert math.sqrt(axial_intensity(own) / 2.5) == pytest.approx(60.0, rel=1e-12)


def test_reading_at_part_power():
    front = Modifier("front", "front", shape="octagon", size=(0.9, 0.9), transmission=0.5)
    true = emitter(replace(HEAD, modifier=front))
    seen = illuminance_on_axis(true, 1.5)
    strobe = Strobe("s", 200.0, reading=(seen / 8, 1.5, 1 / 8), guide_modifier="front")
    assert tube_flux(strobe, {"front": front}) == pytest.approx(6000.0, rel=1e-12)


def test_grid_narrows_and_takes_flux():
    assert grid_solid_angle(None) == math.pi
    wide, narrow = grid_solid_angle(math.radians(60)), grid_solid_angle(math.radians(20))
    # a narrow grid: pi tan^2(half) / 4 of a small cone, by integrating the overlap of circles
    assert narrow == pytest.approx(math.pi * math.tan(math.radians(10)) ** 2 / 4, rel=0.03)
    assert narrow < wide < math.pi


def test_a_grid_of_half_of_space_is_none():
    front = Modifier("m", "front", size=(1.0, 1.0), grid=math.pi)
    assert emitter(replace(HEAD, modifier=front)).grid is None


def test_a_gel_takes_its_transmission_and_shifts_the_spectrum():
    gel = Gel("quarter", 55.0, 0.0, 0.75)
    plain, gelled = emitter(HEAD), emitter(replace(HEAD, gels=(gel,)))
    # stated under 5500 K, used at 5600 K: a thousandth
    assert gelled.flux / plain.flux == pytest.approx(0.75, abs=1e-3)
    assert luminous(gelled.spectrum.values) == pytest.approx(1.0, rel=1e-12)
    twice = emitter(replace(HEAD, gels=(gel, gel)))
    assert twice.flux / plain.flux == pytest.approx(0.75**2, rel=0.05)


def test_flash_spectrum_follows_the_tube():
    warm, cold = (emitter(replace(HEAD, strobe=replace(STROBE, kelvin=k))).spectrum for k in (5000.0, 6200.0))
    blue = np.searchsorted(warm.wavelengths, 450.0)
    assert cold.values[blue] > warm.values[blue]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (replace(HEAD, aim=HEAD.at), "aimed at the place where it stands"),
        (replace(HEAD, strobe=Strobe("s", 100.0)), "no calibration"),
        (replace(HEAD, modifier=Modifier("black", "flag")), "flag"),
        (replace(HEAD, strobe=Strobe("s", 100.0, guide_number=30.0, guide_modifier="gone")), "gone"),
        (replace(HEAD, strobe=Strobe("s", 100.0, reading=(0.0, 1.0, 1.0))), "above 0"),
        (
            replace(HEAD, modifier=Modifier("m", "scrim", transmission=0.9, reflectance=0.9, layers=2)),
            "cannot exceed 1",
        ),
    ],
)
def test_refused(head, words):
    with pytest.raises(InputFault, match=words):
        emitter(head)


def test_no_beam_is_as_wide_as_half_of_space():
    with pytest.raises(ValueError, match="180 degrees"):
        axial_intensity(shaped(Modifier("m", "reflector", beam=math.pi)))


def test_distance_inside_a_light():
    with pytest.raises(ValueError, match="inside the light"):
        illuminance_on_axis(emitter(HEAD), 0.01)
    with pytest.raises(ValueError, match="in front"):
        illuminance_on_axis(emitter(HEAD), 0.0)
