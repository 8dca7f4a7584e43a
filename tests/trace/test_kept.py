"""What is kept between calls: the same for the same parts, and never anything stale."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sidelong.light.values import Emitter
from sidelong.people.values import Person
from sidelong.place.values import Place, Room
from sidelong.spectra.grids import flat
from sidelong.trace.kept import Kept
from sidelong.trace.meter import meter
from sidelong.trace.stage import build
from sidelong.trace.values import Receptor, Sheet, Stage

BALL = Emitter(
    "ball", "steady", "sphere", 1000.0, flat(1.0), (1.0, 1.0, 2.0), (0, 0, -1), (0, 1, 0), "disc", (0.06, 0.06)
)
STAGE = Stage(Place(rooms=(Room("r", (0, 0, 0), (4, 4, 3)),)), (Person("Ada", (3.0, 3.0, 0.0), 0.0),), (BALL,), None)


def test_made_once_for_the_same_objects_and_anew_for_others():
    kept, made = Kept(), []
    parts = (object(), object())
    equal = (parts[0], object())
    for asked in (parts, parts, equal, parts[:1]):
        kept.of(asked, lambda: made.append(0))
    assert len(made) == 3
    assert kept.of((7,), lambda: "new", lambda a, b: False) == "new"


def test_other_powers_leave_the_triangles_and_anything_moved_makes_new_ones():
    first = build(STAGE).solids
    assert build(replace(STAGE, emitters=(replace(BALL, flux=1.0),))).solids is first
    moved = build(replace(STAGE, emitters=(replace(BALL, at=(1.0, 1.5, 2.0)),))).solids
    assert moved is not first
    assert np.array_equal(moved.faces, first.faces)
    assert not np.array_equal(moved.vertices, first.vertices)
    panel = Sheet("p", (2.0, 2.0, 1.0), (0, 0, 1), (0, 1, 0), (1.0, 1.0), 0.5)
    assert len(build(replace(STAGE, sheets=(panel,))).solids.faces) == len(first.faces) + 2
    assert len(build(replace(STAGE, people=())).solids.faces) < len(first.faces)


def test_a_reading_does_not_depend_on_what_was_read_before():
    """The same stage before and after two others, one with another light, one with a wall's worth of panel."""
    spot = [Receptor((3.0, 1.0, 1.0), (0, 0, 1))]
    panel = Sheet("p", (3.0, 1.0, 1.5), (0, 0, 1), (0, 1, 0), (3.0, 2.0), 0.5)
    before = meter(STAGE, spot, samples=256)
    brighter = meter(replace(STAGE, emitters=(replace(BALL, flux=3000.0),)), spot, samples=256)
    shaded = meter(replace(STAGE, sheets=(panel,)), spot, samples=256)
    after = meter(STAGE, spot, samples=256)
    assert np.allclose(after.value, before.value, rtol=1e-6)
    assert np.allclose(brighter.value, 3.0 * before.value, rtol=1e-5)
    assert shaded.direct[0, 0] == 0.0 < before.direct[0, 0]
