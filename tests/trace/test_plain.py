"""Plain scenes: what they refuse, what their readings say, and that the manual's examples run."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from scipy import stats

from metered import DOWN, FREEDOM, SINGLE, SUITE_ALARM, UP, flat, read
from sidelong.errors import InputFault
from sidelong.trace.meter import meter_scene
from sidelong.trace.plain import (
    Beam,
    Box,
    Disc,
    Gap,
    Medium,
    Opening,
    Pane,
    PlainScene,
    Point,
    Receptor,
    Rectangle,
    Sky,
    Sphere,
    meter_plain,
)
from sidelong.trace.plain_shapes import assembled
from source_tree import ROOT

EDGES = ((1, 0, 0), (0, 1, 0))


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda: Rectangle((0, 0, 0), *EDGES, reflectance=1.2), "reflectance is 1.2"),
        (lambda: Rectangle((0, 0, 0), *EDGES, reflectance=0.7, transmittance=0.4), "1 at most"),
        (lambda: Rectangle((0, 0, 0), (1, 0, 0), (1, 1, 0)), "45.0 degrees"),
        (lambda: Rectangle((0, 0, 0), (0, 0, 0), (1, 1, 0)), "direction"),
        (lambda: Rectangle((0, 0), *EDGES), "three numbers"),
        (lambda: Rectangle((0, 0, math.nan), *EDGES), "three numbers"),
        (lambda: Rectangle((0, 0, 0), *EDGES, luminance=10), "shines None"),
        (lambda: Rectangle((0, 0, 0), *EDGES, luminance=10, shines="up"), '"front", "back", "both"'),
        (lambda: Rectangle((0, 0, 0), *EDGES, luminance=-1, shines="front"), "luminance is -1"),
        (lambda: Rectangle((0, 0, 0), *EDGES, luminance=1, exitance=1, shines="front"), "both"),
        (lambda: Rectangle((0, 0, 0), *EDGES, shines="front"), "without a luminance"),
        (lambda: Disc((0, 0, 0), UP, 0), "radius is 0"),
        (lambda: Disc((0, 0, 0), (0, 0, 0), 1), "direction"),
        (lambda: Sphere((0, 0, 0), "a"), "radius is 'a'"),
        (lambda: Sphere((0, 0, 0), 1, luminance=1, shines="both"), '"out", "in"'),
        (lambda: Box((0, 0, 0), (1, 1, 0)), "above the low"),
        (lambda: Box((0, 0, 0), (1, 1, 1), reflectance={"top": 0.5}), 'no face "top"'),
        (lambda: Box((0, 0, 0), (1, 1, 1), openings=(Opening("ceiling", (0.5, 0), (1, 1)),)), "does not lie in"),
        (lambda: Box((0, 0, 0), (1, 1, 1), openings=(Opening("roof", (0, 0), (1, 1)),)), "'roof'"),
        (
            lambda: Box((0, 0, 0), (2, 2, 2), openings=(Opening("near", (0, 0), (1, 1)),) * 2),
            "overlap",
        ),
        (lambda: Pane((0, 0, 0), *EDGES), "neither"),
        (lambda: Pane((0, 0, 0), *EDGES, index=0.5), "index"),
        (lambda: Pane((0, 0, 0), *EDGES, transmittance=0.95, index=1.52), "0.9183"),
        (lambda: Point((0, 0, 0), math.inf), "intensity is inf"),
        (lambda: Beam((0, 0, 0), UP, 10, 3.0), "angle is 3.0"),
        (lambda: Sky(17, zenith=1), "type 17"),
        (lambda: Sky(5), "one of zenith"),
        (lambda: Sky(5, zenith=1, to_sun=(1, 0, -1), sun=5), "below the horizon"),
        (lambda: Medium(-1), "extinction is -1"),
        (lambda: Medium(1, albedo=1.1), "albedo is 1.1"),
    ],
)
def test_what_cannot_be_is_refused_in_words(wrong, words):
    with pytest.raises(InputFault) as told:
        wrong()
    assert words in str(told.value)
    assert "expected" in str(told.value) or "one of" in str(told.value) or "does not lie" in str(told.value)


@pytest.mark.parametrize(
    ("scene", "receptor", "words"),
    [
        (PlainScene([object()]), flat(0, 0, 0), "of type object"),
        (PlainScene([Sky(5, zenith=1)]), flat(0, 0, 0), "of type Sky"),
        (PlainScene(sky=Sky(5, zenith=1), medium=Medium(0.1)), flat(0, 0, 0), "swallow"),
        (PlainScene(medium=Medium(0.1, low=(0, 0, 0), high=(1, 1, -1))), flat(0, 0, 0), "box"),
        (PlainScene([Point((0, 0, k), 1) for k in range(1001)]), flat(0, 0, 0), "1001"),
        (PlainScene([Point((0, 0, 1), 1)]), Receptor((0, 0, 0), (0, 0, 0)), "direction"),
        (PlainScene([Point((0, 0, 1), 1)]), Receptor((0, 0), UP), "three numbers"),
        (PlainScene([Point((0, 0, 1), 1)]), Receptor((0, 0, 0), UP, dome=True, spot=0.1), "one of flat"),
        (PlainScene([Point((0, 0, 1), 1)]), Receptor((0, 0, 0), UP, spot=0.0), "angle is 0.0"),
        (PlainScene([Point((0, 0, 1), 1)]), Receptor((0, 0, 0), UP, without="Ada"), "no people"),
    ],
)
def test_what_cannot_be_metered_is_refused_in_words(scene, receptor, words):
    with pytest.raises(InputFault, match=words):
        meter_plain(scene, [receptor])


def test_the_manual_runs():
    """Its examples check themselves."""
    page = (ROOT / "docs" / "metering-a-scene.md").read_text(encoding="utf-8")
    program = "\n".join(re.findall(r"```python\n(.*?)```", page, re.DOTALL))
    assert program.count("about(") > 20
    exec(compile(program, "docs/metering-a-scene.md", "exec"), {})


def test_no_receptors_no_lights():
    assert meter_plain(PlainScene([Point((0, 0, 1), 1)]), []) == []
    [nothing] = meter_plain(PlainScene([Sphere((0, 0, 0), 1.0, reflectance=0.5)]), [flat(0, 0, 0)])
    assert (nothing.value, nothing.error, nothing.settled) == (0.0, 0.0, True)


def test_it_is_the_shoots_own_meter():
    """The same scene through the call that meters a shoot: within five of both errors (1 in a million, normal)."""
    room = Box((0, 0, 0), (4, 3, 2), reflectance=0.6)
    scene = PlainScene([room, Rectangle((1, 1, 1.9), (0, 1, 0), (1, 0, 0), luminance=500, shines="front")])
    spot = flat(2, 2.5, 0.4, (0, 0.6, 0.8))
    [ours] = read(scene, spot)
    theirs = meter_scene(assembled(scene), [spot], samples=1 << 15, seed=5)
    assert theirs.names == ("lights",)
    assert abs(ours.value - theirs.value[0, 0]) < 5 * math.hypot(ours.error, theirs.error[0, 0])
    assert ours.direct == pytest.approx(theirs.direct[0, 0], rel=2e-3)


def test_goals_are_kept_and_the_end_of_paths_is_told():
    scene = PlainScene([Box((0, 0, 0), (3, 3, 3), reflectance=0.7), Point((0.5, 1, 2), 100)])
    spot = flat(2.5, 2.5, 2.5, DOWN)
    coarse, fine = (meter_plain(scene, [spot], relative_error=goal)[0] for goal in (0.02, 0.002))
    assert coarse.settled
    assert fine.settled
    assert coarse.paths < fine.paths
    assert fine.error <= 0.002 * fine.value
    # two readings of the same: the coarse one's first paths are the fine one's, so they agree by more than chance
    assert abs(coarse.value - fine.value) <= 7 * coarse.error
    short = meter_plain(scene, [spot], relative_error=1e-4, most_paths=4096)[0]
    assert not short.settled
    assert short.paths == 4096
    enough = meter_plain(scene, [spot], relative_error=1e-4, smallest=1.0)[0]
    assert enough.settled


def test_the_same_seed_gives_the_same_and_another_another():
    scene = PlainScene([Box((0, 0, 0), (3, 3, 3), reflectance=0.7), Point((0.5, 1, 2), 100)])
    one, again, other = (meter_plain(scene, [flat(2, 2, 0)], seed=seed)[0] for seed in (3, 3, 4))
    assert one == again
    assert one.value != other.value


def test_named_lights_are_told_apart():
    things = [Box((0, 0, 0), (3, 3, 3), reflectance=0.5), Point((1, 1, 2), 100, name="a"), Point((2, 2, 2), 50)]
    both = read(PlainScene(things), flat(1, 2, 0))[0]
    assert list(both.parts) == ["a", "lights"]
    assert sum(both.parts.values()) == pytest.approx(both.value, rel=1e-6)
    alone = read(PlainScene(things[:2]), flat(1, 2, 0))[0]
    assert abs(alone.value - both.parts["a"]) <= 7 * math.hypot(alone.error, both.error)


class _StopError(Exception):
    pass


def test_work_can_be_stopped_between_passes():
    heard = []

    def stop(excess):
        heard.append(excess)
        raise _StopError

    with pytest.raises(_StopError):
        meter_plain(PlainScene([Point((0, 0, 2), 100)]), [flat(0, 0, 0)], progress=stop)
    assert len(heard) == 1


def test_errors_say_what_they_should_over_many_seeds():
    """z of 120 readings with closed forms, drawn apart: mean and mean square as Student's t with 15 degrees has them.

    t's mean square is 15/13 with a spread of sqrt(3 15^2 / (13 11) - (15/13)^2) a reading. Bounds at the normal's
    false alarm of a millionth each, and a quarter more of the mean square for what choosing the number of paths by
    the first errors does. This sees a bias of a quarter of a standard error in all readings.
    """
    z = []
    cavity = PlainScene([Box((0, 0, 0), (3, 2, 1), reflectance=0.6, luminance=100.0, shines="in")])
    sphere = PlainScene([Sphere((0, 0, 0), 1.0, reflectance=0.7), Point((0, 0, 0), 100.0)])
    fog = PlainScene([Box((0, 0, 0), (3, 2, 1), luminance=100.0, shines="in")], medium=Medium(0.7, 1.0, 0.5))
    for scene, place, exact in (
        (cavity, lambda k: flat(0.3 + 0.02 * k, 1.0, 0.3, (0.6, 0.0, 0.8)), math.pi * 100 / 0.4),
        (sphere, lambda k: flat(0, 0.001 * k, -0.999), 100 / (1 - 0.7)),
        (fog, lambda k: flat(0.3 + 0.02 * k, 1.0, 0.3, (0.6, 0.0, 0.8)), math.pi * 100),
    ):
        for reading in meter_plain(scene, [place(k) for k in range(40)], relative_error=0.008, seed=11):
            z.append((reading.value - exact) / math.hypot(reading.error, SINGLE * exact))
    values = np.array(z)
    normal = stats.norm.isf(SUITE_ALARM / 2)
    mean_square = FREEDOM / (FREEDOM - 2)
    spread = math.sqrt((3 * FREEDOM**2 / ((FREEDOM - 2) * (FREEDOM - 4)) - mean_square**2) / len(values))
    assert abs(values.mean()) < normal * math.sqrt(1.25 * mean_square / len(values))
    assert mean_square - normal * spread < np.mean(values**2) < 1.25 * mean_square + normal * spread


def test_paths_sent_out_through_openings_change_no_reading():
    """A room with a window on sunlit ground, its walls matt: the same with and without being told where the window
    is, which sends paths out through it. Three receptors at 7 of both errors: a false alarm once in 60 000 runs each
    by Student's t of 15 degrees, and the seeds are fixed."""
    walls = [
        Rectangle((0, 0, 0), (4, 0, 0), (0, 3, 0), reflectance=0.5),
        Rectangle((0, 0, 2.5), (4, 0, 0), (0, 3, 0), reflectance=0.7),
        Rectangle((0, 3, 0), (4, 0, 0), (0, 0, 2.5), reflectance=0.5),
        Rectangle((0, 0, 0), (0, 3, 0), (0, 0, 2.5), reflectance=0.5),
        Rectangle((4, 0, 0), (0, 3, 0), (0, 0, 2.5), reflectance=0.5),
        Rectangle((0, 0, 0), (4, 0, 0), (0, 0, 0.9), reflectance=0.5),
        Rectangle((0, 0, 1.9), (4, 0, 0), (0, 0, 0.6), reflectance=0.5),
        Rectangle((0, 0, 0.9), (1.5, 0, 0), (0, 0, 1), reflectance=0.5),
        Rectangle((2.5, 0, 0.9), (1.5, 0, 0), (0, 0, 1), reflectance=0.5),
        Rectangle((1.5, -0.01, 0.9), (1, 0, 0), (0, 0, 0.5), transmittance=0.5, reflectance=0.4),
        Rectangle((-30, -30, 0), (64, 0, 0), (0, 29.9, 0), reflectance=0.4),
    ]
    sky = Sky(12, horizontal=10000.0, to_sun=(0.3, -1.0, 1.2), sun=60000.0)
    spots = [flat(1, 1, 0.01), flat(3, 2.5, 1.5, (0, -1, 0)), Receptor((3.5, 0.5, 2), (-1, 0, 0), dome=True)]
    gap = Gap((1.5, 0, 0.9), (1, 0, 0), (0, 0, 1))
    told = meter_plain(PlainScene([*walls, gap], sky=sky), spots, relative_error=0.01, most_paths=1 << 18)
    blind = meter_plain(PlainScene(walls, sky=sky), spots, relative_error=0.01, most_paths=1 << 18, seed=1)
    for one, other in zip(told, blind, strict=True):
        for name in ("sun", "sky"):
            assert one.parts[name] > 0
        assert abs(one.value - other.value) < 7 * math.hypot(one.error, other.error)
        assert one.error < 0.02 * one.value
    assert sum(reading.paths for reading in told) < sum(reading.paths for reading in blind)
