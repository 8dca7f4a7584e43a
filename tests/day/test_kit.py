"""The packing list: what each shot uses, and sums that anyone can add up again."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sidelong.day.kit import packing
from sidelong.lens.values import Film, Lens
from sidelong.light.values import Bounce, Gel, Modifier, Strobe
from sidelong.place.values import Opening, Place, Room
from sidelong.shoot.values import Body, CameraStand, HazeMachine, Kit, NdFilter, Owned, Power, Shoot, Shot, ShotLight

BODY, SHORT, LONG = Body("body", Film(0.036, 0.024)), Lens("short", 0.045, 2.8), Lens("long", 0.09, 2.8)
KEY, SPARE = Strobe("key", 400.0, guide_number=22.0), Strobe("spare head", 200.0, guide_number=15.0)
PANEL, FRONT, SCRIM = Modifier("panel", "panel"), Modifier("front", "front"), Modifier("scrim", "scrim")
CTO = Gel("cto", 159.0)


def shot(id_, lens, lights=()):
    when = datetime(2025, 3, 14, tzinfo=UTC)
    return Shot(
        id_, "", when, BODY, lens, CameraStand((1, 1, 1), (2, 2, 1)), (), (), None, None, (0, 0), 2.8, 3e-5, 0.01,
        100.0, 5000.0, None, lights,
    )  # fmt: skip


@pytest.fixture
def shoot():
    owned = {
        "body": Owned(True, 0.0, 0.8), "short": Owned(True, 0.0, 0.7), "long": Owned(False, 31.0, 0.6),
        "key": Owned(False, 20.5, 3.0), "spare head": Owned(False, 99.0, 2.0), "panel": Owned(True, 0.0, 2.4),
        "hazer": Owned(False, 45.0, 9.0),
    }  # fmt: skip
    kit = Kit(
        {"body": BODY}, {"short": SHORT, "long": LONG}, {"key": KEY, "spare head": SPARE},
        {"panel": PANEL, "front": FRONT, "scrim": SCRIM}, {"cto": CTO}, {"socket": Power("socket")},
        {"hazer": HazeMachine("hazer")}, owned,
    )  # fmt: skip
    window = Opening("window", "near", 1, 1, 1, 1, cover=("scrim",))
    light = ShotLight(KEY, (1, 1, 2), (2, 2, 1), None, (CTO,), 1.0, None, Bounce(None, PANEL, (0, 0, 2), (1, 1, 1)))
    shots = (shot("a", SHORT), shot("b", LONG, (light,)))
    place = Place(rooms=(Room("room", (0, 0, 0), (9, 3, 2.4), openings=(window,)),))
    return Shoot(Path("."), "", "", "", False, place, (), (), kit, shots, ())


def test_who_uses_what(shoot):
    used = {p.id: p.shots for p in packing(shoot).pieces}
    assert used == {
        "body": (1, 2), "short": (1,), "long": (2,), "key": (2,), "panel": (2,), "scrim": (1, 2), "cto": (2,),
        "socket": (), "hazer": (), "spare head": (), "front": (),
    }  # fmt: skip


def test_sums(shoot):
    """Rent 31 + 20.5 + 45; weight 0.8 + 0.7 + 0.6 + 3.0 + 2.4 + 9.0; the spare head counts in none."""
    found = packing(shoot)
    assert found.rent_per_day == pytest.approx(96.5)
    assert found.weight == pytest.approx(16.5)
    assert found.energy == pytest.approx(400.0)


def test_what_no_shot_uses_comes_last(shoot):
    assert [p.id for p in packing(shoot).pieces][-2:] == ["spare head", "front"]


def test_one_piece_used_twice_counts_once(shoot):
    both = replace(shoot, shots=(shoot.shots[1], shoot.shots[1]))
    assert packing(both).weight == pytest.approx(16.5 - 0.7)


def test_filters_on_the_lens_go_along(shoot):
    """The one that a shot wears is needed, the other is a spare."""
    kit = replace(shoot.kit, filters={"ND 2": NdFilter("ND 2", 2.0), "ND 3": NdFilter("ND 3", 3.0)})
    worn = replace(shoot.shots[0], filters=(kit.filters["ND 3"],))
    used = {p.id: p.shots for p in packing(replace(shoot, kit=kit, shots=(worn, shoot.shots[1]))).pieces}
    assert (used["ND 3"], used["ND 2"]) == ((1,), ())
