"""Meters against closed forms: fronts, balls, reflected light, haze, sun and sky."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.light.patterns import illuminance_at
from sidelong.light.values import Daylight, Emitter
from sidelong.place.values import Air, Place, Room
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.meter import meter, meter_scene, paths_needed
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.stand_ins import Portal
from sidelong.trace.values import Receptor, Stage

DOWN, ALONG_Y = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
FRONT = Emitter("front", "flash", "lambert", 1000.0, flat(1.0), (0, 0, 2.0), DOWN, ALONG_Y, "rectangle", (0.9, 1.2))
BALL = Emitter("ball", "steady", "sphere", 1000.0, flat(1.0), (0, 0, 2.0), DOWN, ALONG_Y, "disc", (0.06, 0.06))
PLACES = [
    Receptor((0, 0, 1.0), (0, 0, 1)),
    Receptor((0.5, 0.3, 1.0), (0, 0.6, 0.8)),
    Receptor((3, 0.3, 1), (-1, 0, 0)),
]

# 0.02 stop is 1.4 %; the light table promises that of a lone front, and its sums over the front reach 0.1 %
DIRECT = 2e-3


@pytest.mark.parametrize(
    "emitter",
    [
        FRONT,
        replace(FRONT, shape="octagon", size=(0.9, 0.9)),
        replace(FRONT, shape="disc", size=(0.9, 0.9)),
        replace(FRONT, grid=math.radians(60)),
        replace(FRONT, pattern="beam", beam=math.radians(50), shape="disc", size=(0.1, 0.1)),
        replace(FRONT, pattern="beam", beam=math.radians(90), shape="disc", size=(0.6, 0.6), hole=0.4),
        replace(FRONT, shape="disc", size=(0.9, 0.9), hole=0.5),
        replace(FRONT, shape="disc", size=(0.9, 0.9), behind=0.6),
        replace(FRONT, shape="disc", size=(0.9, 0.9), behind=0.6, axis=(0.0, 0.0, 1.0)),
        BALL,
    ],
    ids=["rectangle", "octagon", "disc", "grid", "beam", "dish", "ring", "umbrella", "its back", "ball"],
)
def test_a_lone_light_reads_as_in_closed_form(emitter):
    reading = meter_scene(assemble([], (emitter,)), PLACES)
    exact = illuminance_at(emitter, [r.at for r in PLACES], [r.normal for r in PLACES])
    assert reading.value[:, 0] == pytest.approx(exact, rel=DIRECT, abs=1e-3)
    assert reading.direct == pytest.approx(reading.value)


def test_a_dome_sees_a_small_light_by_half_of_one_plus_cosine():
    turned = [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 0.8, -0.6)]
    reading = meter_scene(assemble([], (BALL,)), [Receptor((0, 0, 0.5), n, dome=True) for n in turned])
    full = 1000 / (4 * math.pi) / 1.5**2
    assert reading.value[:, 0] == pytest.approx([full * (1 + n[2]) / 2 for n in turned], rel=DIRECT)


def test_light_reflected_by_a_matt_panel(make_rectangle, make_grey):
    """Ball over a 1 m grey panel, read beside the ball looking down; the panel summed in 200 x 200 patches."""
    panel = Piece(make_rectangle((-0.5, -0.5), (0.5, 0.5), 0.0), make_grey(0.6))
    at = np.array([0.4, 0.1, 1.2])
    reading = meter_scene(assemble([panel], (BALL,)), [Receptor(tuple(at), DOWN)], samples=1 << 16)
    x = (np.arange(200) + 0.5) / 200 - 0.5
    y = np.stack([*np.meshgrid(x, x, indexing="ij"), np.zeros((200, 200))], axis=-1)
    r_light, r_meter = np.array([0, 0, 2.0]) - y, at - y
    lit = 1000 / (4 * math.pi) * 2.0 / np.linalg.norm(r_light, axis=-1) ** 3
    form = (at[2] / np.linalg.norm(r_meter, axis=-1)) ** 2 / np.sum(r_meter**2, axis=-1)
    expected = float(np.sum(lit * 0.6 / math.pi * form) / 200**2)
    reflected = reading.value[0, 0] - reading.direct[0, 0]
    assert reflected == pytest.approx(expected, rel=5e-3)
    # one value beyond four of its own sigmas: false alarm once in 16 000 runs, and the seed is fixed
    assert abs(reflected - expected) < 4 * reading.error[0, 0] + 1e-3 * expected


def test_haze_takes_exp_of_minus_extinction_times_distance_from_straight_light():
    box = (np.array([-5.0, -5, -5]), np.array([5.0, 5, 5]))
    clear = meter_scene(assemble([], (FRONT,)), PLACES[:1], samples=64)
    hazy = meter_scene(assemble([], (replace(FRONT, size=(0.01, 0.01)),), haze=Air(0.3), box=box), PLACES[:1])
    point = meter_scene(assemble([], (replace(FRONT, size=(0.01, 0.01)),)), PLACES[:1], samples=64)
    assert hazy.direct[0, 0] / point.direct[0, 0] == pytest.approx(math.exp(-0.3), rel=1e-4)
    assert hazy.value[0, 0] > hazy.direct[0, 0]
    assert clear.direct[0, 0] < point.direct[0, 0]


def test_light_scattered_once_by_thin_haze():
    """Ball in thin isotropic haze, read with the ball behind the meter: the first order, summed along every line.

    With optical depths of 1e-3 a metre the second order is under 1 % of the first.
    """
    sigma, half = 1e-3, 2.0
    box = (np.full(3, -half), np.full(3, half))
    ball = replace(BALL, at=(0.0, 0.0, 0.0))
    meter_at = np.array([0.0, 0.0, 0.5])
    air = Air(sigma, g=1e-3, albedo=1.0)
    reading = meter_scene(
        assemble([], (ball,), haze=air, box=box), [Receptor(tuple(meter_at), (0, 0, 1))], samples=1 << 18
    )
    rng = np.random.default_rng(7)
    p = rng.uniform([-half, -half, 0.5], [half, half, half], (4_000_000, 3))
    volume = (2 * half) ** 2 * (half - 0.5)
    away = p - meter_at
    r2, s2 = np.sum(away**2, axis=1), np.sum(p**2, axis=1)
    first = 1000 / (4 * math.pi) / s2 * sigma / (4 * math.pi) * np.abs(away[:, 2]) / r2**1.5
    expected, spread = volume * first.mean(), volume * first.std() / 2000
    assert reading.direct[0, 0] == 0.0
    # four sigmas of both sums, and 1 % for the orders left out: false alarm once in 16 000
    assert abs(reading.value[0, 0] - expected) < 4 * math.hypot(reading.error[0, 0], spread) + 0.01 * expected


def test_errors_are_what_they_say(closed_room):
    """z-scores of 400 meters a micrometre apart, so that they are drawn apart, against the mean of all.

    With 16 batches a sigma is itself an estimate, so z is Student's t with 15 degrees of freedom: the mean square is
    15/13 and its fourth moment 3 x 15^2 / (13 x 11). Bounds at 4.5 sigmas: false alarm once in 100 000.
    """
    scene = assemble(closed_room(0.5), (replace(BALL, at=(1.0, 1.0, 2.0)),))
    spots = [Receptor((2.0 + 1e-6 * k, 2.0, 1.0), (0, 0, 1)) for k in range(400)]
    reading = meter_scene(scene, spots, samples=1024)
    z = (reading.value[:, 0] - reading.value[:, 0].mean()) / reading.error[:, 0]
    spread = math.sqrt((3 * 15**2 / (13 * 11) - (15 / 13) ** 2) / 400)
    assert np.mean(z**2) == pytest.approx(15 / 13, abs=4.5 * spread)


def test_power_scales_a_light_and_leaves_the_others(closed_room):
    other = replace(BALL, name="other", at=(3.0, 3.0, 1.0))
    spots = [Receptor((2.0, 2.0, 1.0), (0, 0, 1))]
    one = meter_scene(assemble(closed_room(0.5), (BALL, other)), spots, samples=512)
    two = meter_scene(assemble(closed_room(0.5), (replace(BALL, flux=2000.0), other)), spots, samples=512)
    assert two.value[0] == pytest.approx(one.value[0] * [2.0, 1.0], rel=1e-5)
    assert one.names == ("ball", "other")


def _daylight(elevation: float, sun: float = 60000.0, sky: float = 9000.0, kind: int = 16) -> Daylight:
    h = math.radians(elevation)
    to_sun = (math.cos(h), 0.0, math.sin(h))
    return Daylight(to_sun, h, 0.0, sun, sky, flat(1.0), flat(1.0), kind)


@pytest.mark.parametrize("kind", [1, 5, 12, 16])
def test_sun_and_sky_over_open_ground(kind):
    stage = Stage(Place(ground=0.3), (), (), _daylight(40.0, kind=kind))
    up, towards, down = Receptor((0, 0, 1.5), (0, 0, 1)), Receptor((0, 0, 1.5), _daylight(40.0).to_sun), DOWN
    reading = meter(stage, [up, towards, Receptor((0, 0, 1.5), down)], samples=4096)
    assert reading.names == ("sun", "sky")
    assert reading.value[0, 1] == pytest.approx(9000, rel=5e-3)
    assert reading.value[0, 0] == pytest.approx(60000 * math.sin(math.radians(40)), rel=2e-3)
    assert reading.direct[1, 0] == pytest.approx(60000, rel=1e-3)
    # looking down: ground of reflectance 0.3 under both, out to a horizon that is near enough infinity
    both = 60000 * math.sin(math.radians(40)) + 9000
    assert reading.value[2].sum() == pytest.approx(0.3 * both, rel=0.01)


def test_the_sun_through_a_hole_falls_where_it_must(make_grey, make_rectangle):
    """A roof at 2 m with a hole of 0.4 m; the sun at 45 degrees lights the floor 2 m further on, away from it."""
    roof = []
    for low, high in [((-5, -5), (-0.2, 5)), ((0.2, -5), (5, 5)), ((-0.2, -5), (0.2, -0.2)), ((-0.2, 0.2), (0.2, 5))]:
        roof.append(Piece(make_rectangle(low, high, 2.0), make_grey(0.0)))
    sun = _daylight(45.0, sky=0.0)
    x, y, _ = np.eye(3)
    hole = Portal(np.array([-0.2, -0.2, 2.0]), 0.4 * x, 0.4 * y, np.array([0.0, 0.0, 1.0]))
    scene = assemble(roof, (), sun, portals=(hole,))
    spots = [Receptor((-2.0, 0, 0), (0, 0, 1)), Receptor((-2.3, 0, 0), (0, 0, 1)), Receptor((-2.15, 0, 0), (0, 0, 1))]
    reading = meter_scene(scene, spots, samples=64)
    full = 60000 * math.sin(math.radians(45))
    assert reading.direct[:, 0] == pytest.approx([full, 0.0, full], rel=1e-3)


def test_a_patch_of_sun_lights_the_room_as_paths_alone_would(make_grey, make_rectangle):
    """The same room with and without the points of the sun's patches: equal within four sigmas (1 in 16 000)."""
    roof = [
        Piece(make_rectangle(low, high, 2.0), make_grey(0.5))
        for low, high in [
            ((-3, -3), (-0.5, 3)),
            ((0.5, -3), (3, 3)),
            ((-0.5, -3), (0.5, -0.5)),
            ((-0.5, 0.5), (0.5, 3)),
        ]
    ]
    floor = Piece(make_rectangle((-3, -3), (3, 3), 0.0), make_grey(0.5))
    x, y, _ = np.eye(3)
    hole = Portal(np.array([-0.5, -0.5, 2.0]), x, y, np.array([0.0, 0.0, 1.0]))
    spots = [
        Receptor((0.0, 0.0, 1.0), DOWN),
        Receptor((-1.5, 0.5, 1.0), (0, 0, 1)),
        Receptor((1, 1, 0.5), DOWN, True),
    ]
    with_patches = meter_scene(
        assemble([*roof, floor], (), _daylight(50.0, sky=0.0), (hole,)), spots, samples=1 << 17
    )
    alone = meter_scene(assemble([*roof, floor], (), _daylight(50.0, sky=0.0)), spots, samples=1 << 17)
    spread = np.hypot(with_patches.error[:, 0], alone.error[:, 0])
    assert np.all(np.abs(with_patches.value[:, 0] - alone.value[:, 0]) < 4 * spread)
    # and where the patch's light comes by way of the roof, it is what makes it less noisy
    assert with_patches.error[1, 0] < 0.8 * alone.error[1, 0]


def test_whoever_holds_the_meter_is_not_in_its_way():
    from sidelong.people.values import Person

    person = Person("Ada", (0.0, 0.0, 0.0), 0.0)
    stage = Stage(Place(), (person,), (replace(BALL, at=(-2.0, 0.0, 1.6)),), None)
    behind = [Receptor((0.5, 0, 1.6), (-1, 0, 0), without=w) for w in (None, "Ada")]
    reading = meter(stage, behind, samples=64)
    assert reading.direct[0, 0] == 0.0
    assert reading.direct[1, 0] == pytest.approx(1000 / (4 * math.pi) / 2.5**2, rel=DIRECT)
    with pytest.raises(InputFault, match="Bo"):
        meter(stage, [Receptor((0, 0, 1), (1, 0, 0), without="Bo")])


def test_meters_that_share_a_point_read_as_each_alone(closed_room):
    """Three ways of holding a meter at one point, together and one by one: within 4.5 sigmas (1 in 70 000 each)."""
    scene = assemble(closed_room(0.6), (replace(BALL, at=(1.0, 1.0, 2.5)),))
    turned = (((0, 0, 1), False), ((0.6, 0, -0.8), False), ((-1, 0, 0), True))
    ways = [Receptor((2, 2, 1), normal, dome) for normal, dome in turned]
    together = meter_scene(scene, ways, samples=1 << 15)
    for k, way in enumerate(ways):
        alone = meter_scene(scene, [way], samples=1 << 15, seed=k + 1)
        spread = math.hypot(together.error[k, 0], alone.error[0, 0])
        assert abs(together.value[k, 0] - alone.value[0, 0]) < 4.5 * spread
        assert together.error[k, 0] < 0.02 * together.value[k, 0]


def test_paths_that_the_haze_catches_more_often_read_the_same(closed_room, make_rectangle, monkeypatch):
    """A hazy room with a pane in it, read as ever and with paths caught by chance alone: within 4.5 sigmas."""
    pane = Piece(make_rectangle((0.5, 0.5), (3.5, 3.5), 1.5), Finish("pane", flat(0.1), straight=0.8))
    ball = replace(BALL, at=(2.0, 2.0, 3.0))
    scene = assemble([*closed_room(0.2), pane], (ball,), haze=Air(0.02), box=(np.zeros(3), np.full(3, 4.0)))
    # the ball is behind the meter
    way = [Receptor((2.0, 2.0, 3.2), (0, 0, 1)), Receptor((1.0, 2.0, 1.0), (0, 0, 1))]
    often = meter_scene(scene, way, samples=1 << 15)
    monkeypatch.setattr("sidelong.trace.paths.MORE_CAUGHT", 1.0)
    seldom = meter_scene(scene, way, samples=1 << 15, seed=7)
    spread = np.hypot(often.error, seldom.error)
    assert np.all(np.abs(often.value - seldom.value) < 4.5 * spread)
    assert np.all(often.error < 0.02 * often.value)


@pytest.fixture
def few_first_paths(monkeypatch):
    """2048 paths by which it is judged how many follow, for quick tests."""
    monkeypatch.setattr("sidelong.trace.meter.FIRST_SAMPLES", 2048)


def test_errors_stay_honest_where_the_first_paths_decide_how_many_follow(closed_room, few_first_paths):
    """As above, with 2048 paths everywhere and up to eight times as many where 2048 erred by more than wanted.

    Readings of fewer paths differ from the mean of all by their own error; the bound is that of 400 meters, widened
    by a quarter for what the choice itself does to the errors said (those that were small by luck are kept).
    """
    scene = assemble(closed_room(0.5), (replace(BALL, at=(1.0, 1.0, 2.0)),))
    spots = [Receptor((2.0 + 1e-6 * k, 2.0, 1.0), (0, 0, 1)) for k in range(400)]
    first = meter_scene(scene, spots, samples=2048)
    wanted = float(np.median(first.error)) / 1.5
    reading = meter_scene(scene, spots, samples=16384, excess=lambda few: few.error[:, 0] / wanted)
    assert np.mean(reading.error[:, 0] <= 1.2 * wanted) > 0.75
    z = (reading.value[:, 0] - reading.value[:, 0].mean()) / reading.error[:, 0]
    spread = math.sqrt((3 * 15**2 / (13 * 11) - (15 / 13) ** 2) / 400)
    assert 15 / 13 - 4.5 * spread < np.mean(z**2) < 1.25 * 15 / 13 + 4.5 * spread


def test_paths_are_doubled_until_the_error_is_what_is_wanted():
    excess = np.array([0.0, 1.0, 1.3, 1.5, 3.9, 100.0, np.inf])
    assert paths_needed(excess, 2048, 16384).tolist() == [2048, 2048, 4096, 8192, 16384, 16384, 16384][:7]


def test_more_paths_where_they_are_asked_for_and_nowhere_else(closed_room, few_first_paths):
    """The first of two meters gets eight times the paths and agrees with a single go within 4.5 sigmas; the other
    keeps what its first paths read. The error falls by the root of eight, as estimated from 16 batches (18 %)."""
    scene = assemble(closed_room(0.5), (replace(BALL, at=(1.0, 1.0, 2.0)),))
    spots = [Receptor((2.0, 2.0, 1.0), (0, 0, 1)), Receptor((1.0, 2.0, 1.0), (0, 0, 1))]
    first = meter_scene(scene, spots, samples=2048)
    once = meter_scene(scene, spots, samples=16384, seed=1)
    asked = meter_scene(scene, spots, samples=16384, excess=lambda few: np.array([9.0, 0.0]))
    assert abs(asked.value[0, 0] - once.value[0, 0]) < 4.5 * math.hypot(asked.error[0, 0], once.error[0, 0])
    assert asked.error[0, 0] == pytest.approx(first.error[0, 0] / math.sqrt(8), rel=0.9)
    assert asked.value[1] == pytest.approx(first.value[1], rel=1e-6)


def test_no_receptors_no_readings():
    reading = meter(Stage(Place(rooms=(Room("r", (0, 0, 0), (3, 3, 3)),)), (), (BALL,), None), [])
    assert reading.value.shape == (0, 1)


def test_a_metering_tells_how_far_it_is() -> None:
    room = Stage(Place(rooms=(Room("r", (0, 0, 0), (3, 3, 3)),)), (), (BALL,), None)
    told: list[float] = []
    meter(
        room,
        [Receptor((1, 1, 0.5), (0, 0, 1))],
        samples=1 << 18,
        excess=lambda few: np.array([9.0]),
        progress=told.append,
    )
    assert len(told) > 3
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
