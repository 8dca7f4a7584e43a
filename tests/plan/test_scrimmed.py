"""A scrim between a light and a face is the light: its size by similar triangles and by the cosine law."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from sidelong.light.daylight import daylight
from sidelong.light.values import Emitter
from sidelong.place.values import Place
from sidelong.plan.meters import NOSE, SUN_WIDTH, softness
from sidelong.spectra.grids import flat
from sidelong.trace.values import Sheet, Stage

EYES = np.array([0.0, 0.0, 1.6])
DAY = daylight(datetime(2026, 6, 1, 12, tzinfo=UTC), Place())
HEAD = Emitter("key", "flash", "lambert", 1.0, flat(1.0), (0, 3, 1.6), (0, -1, 0), (0, 0, 1), "disc", (0.02, 0.02))
OF_HEAD = NOSE * 0.02 / 3
LIT = 2 * math.sqrt(math.sqrt(2.0) - 1.0)
"""Breadth of what a small Lambertian front lights to a half, over its distance: cos^4 of the angle is a half."""


def _sheet(away: float, size: float, diffuse: float = 0.5, straight: float = 0.0, aside: float = 0.0) -> Sheet:
    at = (aside, away, 1.6)
    return Sheet("cloth", at, (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (size, size), 0.3, diffuse, straight)


def _width(sheets: tuple[Sheet, ...], head: Emitter = HEAD) -> float | None:
    plan = SimpleNamespace(stage=Stage(Place(), (), (head,), None, sheets))
    ((_, width),) = softness(plan, EYES, ("key",))  # type: ignore[arg-type]
    return width


@pytest.mark.parametrize(
    ("sheets", "expected"),
    [
        ((), OF_HEAD),
        ((_sheet(2.0, 0.3),), NOSE * 0.3 / 2.0),
        ((_sheet(2.0, 0.3), _sheet(1.0, 0.2)), NOSE * 0.2 / 1.0),
        ((_sheet(2.0, 0.3, diffuse=0.1, straight=0.6),), OF_HEAD),
        ((_sheet(2.0, 0.3, aside=0.4),), OF_HEAD),
        ((_sheet(-1.0, 3.0), _sheet(3.5, 3.0)), OF_HEAD),
        ((_sheet(0.8, 0.0, diffuse=0.0),), OF_HEAD),
    ],
    ids=["bare", "small scrim", "two", "net lets most through", "beside", "behind either", "flag"],
)
def test_the_nearest_scrim_in_line_is_the_source(sheets: tuple[Sheet, ...], expected: float) -> None:
    """Within two per cent: the head's disc is a polygon."""
    assert _width(sheets) == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("gap", [0.5, 1.0])
def test_of_a_large_scrim_the_lit_part_counts(gap: float) -> None:
    """A small front at its back lights a disc of it to half; cells of 3 m / 80 are 3 to 6 per cent of that."""
    away = 3.0 - gap
    assert _width((_sheet(away, 3.0),)) == pytest.approx(NOSE * LIT * gap / away, rel=0.07)


def test_sun_through_a_scrim_is_as_soft_as_the_scrim_is_large() -> None:
    assert DAY is not None
    to_sun = np.array(DAY.to_sun) / np.linalg.norm(DAY.to_sun)
    aside = np.cross([0.0, 0.0, 1.0], to_sun)
    up = np.cross(to_sun, aside / np.linalg.norm(aside))
    at = tuple(EYES + 1.5 * to_sun)
    scrim = Sheet("cloth", at, tuple(-to_sun), tuple(up), (1.2, 1.2), 0.3, 0.5)  # type: ignore[arg-type]
    for sheets, expected in (((), NOSE * 2 * math.tan(SUN_WIDTH / 2)), ((scrim,), NOSE * 1.2 / 1.5)):
        plan = SimpleNamespace(stage=Stage(Place(), (), (), DAY, sheets))
        widths = dict(softness(plan, EYES, ("sun", "sky")))  # type: ignore[arg-type]
        assert widths["sun"] == pytest.approx(expected, rel=1e-6)
        assert widths["sky"] is None
