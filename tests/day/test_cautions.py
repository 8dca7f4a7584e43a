"""Cautions: each is printed when its reason is there and left out when it is not."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from pathlib import Path

import pytest

from sidelong.day.cautions import cautions
from sidelong.lens.values import Film, Lens
from sidelong.light.values import Gel, Modifier, Strobe
from sidelong.people.values import Person
from sidelong.place.values import Air, Opening, Place, Room
from sidelong.shoot.values import Body, CameraStand, HazeMachine, Kit, Power, Shoot, Shot, ShotLight
from sidelong.sources import SOURCES

EMPTY_KIT = Kit({}, {}, {}, {}, {}, {}, {}, {})
BIG_HALL = Room(
    "hall", (0, 0, 0), (20, 15, 6),
    openings=(Opening("a", "left", 1, 0, 1.5, 2.1), Opening("b", "right", 1, 0, 1.5, 2.1)),
)  # fmt: skip
BARE = Shoot(Path("."), "Indoors", "", "", False, Place(rooms=(BIG_HALL,)), (), (), EMPTY_KIT, (), ())


def titles(shoot, plans=()):
    return {c.title for c in cautions(shoot, plans)}


def with_light(shoot, **light):
    from datetime import datetime

    strobe, body = Strobe("key", 400.0, guide_number=22.0), Body("body", Film(0.036, 0.024))
    lens = Lens("lens", 0.045, 2.8)
    one = Shot(
        "one", "", datetime(2025, 3, 14, tzinfo=UTC), body, lens, CameraStand((1, 1, 1), (2, 2, 1)), (), (), None,
        None, (0, 0), 2.8, 3e-5, 0.01, 100.0, 5000.0, None, (ShotLight(strobe, (1, 1, 2.4), (3, 3, 1), **light),),
    )  # fmt: skip
    return replace(shoot, shots=(one,), kit=replace(shoot.kit, strobes={"key": strobe}))


def test_nothing_to_mind():
    assert titles(BARE) == set()


def test_haze_from_the_air_or_a_machine():
    hazy = replace(BARE, place=replace(BARE.place, air=Air(0.03)))
    machine = replace(BARE, kit=replace(EMPTY_KIT, haze={"h": HazeMachine("h", "oil")}))
    for shoot in (hazy, machine):
        assert titles(shoot) == {"Haze"}
    words = cautions(machine)[0]
    assert "mineral oil mist 5 mg/m³" in words.text
    assert "glycol" not in words.text
    assert "Published limits" in words.text
    assert "detectors" in words.text
    assert "exit" in words.text


@pytest.mark.parametrize(("fluids", "limits"), [((), 3), (("water",), 0), (("glycol", "glycerin"), 2)])
def test_published_limits_are_those_of_the_fluid(fluids, limits):
    """No machine named: all three; water has none."""
    machines = {f: HazeMachine(f, f) for f in fluids}
    shoot = replace(BARE, place=replace(BARE.place, air=Air(0.03)), kit=replace(EMPTY_KIT, haze=machines))
    assert cautions(shoot)[0].text.count("mg/m³ over 8 hours") == limits


def test_lights_bring_mains_stands_cables():
    assert titles(with_light(BARE)) == {"Mains and stored charge", "Stands and sandbags", "Cables"}
    gelled = with_light(BARE, gels=(Gel("cto", 159),), modifier=Modifier("front", "front"))
    assert "Warm lamps" in titles(gelled)
    assert "2.4 m high" in next(c.why for c in cautions(gelled) if c.title == "Stands and sandbags")


def test_cramped_rooms_and_one_way_out():
    cramped = replace(BIG_HALL, size=(4, 3, 2.4))
    assert "measures 4.0 x 3.0 m" in cautions(replace(BARE, place=Place(rooms=(cramped,))))[0].why
    one_door = replace(BIG_HALL, openings=BIG_HALL.openings[:1])
    assert "fewer than two ways out" in cautions(replace(BARE, place=Place(rooms=(one_door,))))[0].why


def test_generator_water_people():
    generator = replace(BARE, kit=replace(EMPTY_KIT, power={"g": Power("g", "generator", 2000)}))
    assert titles(generator) == {"Generator"}
    assert titles(replace(BARE, brief="On the old quay")) == {"Wet places"}
    assert titles(replace(BARE, place=Place())) == {"Wet places"}
    assert titles(replace(BARE, people=(Person("A", (1, 1, 0), 0.0),))) == {"People"}


def test_water_is_a_word_of_its_own():
    """A word that merely holds one of the water words, such as season or overseas, is none."""
    assert titles(replace(BARE, brief="The season's overseas docket")) == set()


def test_every_caution_has_its_reason_and_known_sources():
    everything = replace(
        with_light(BARE, gels=(Gel("cto", 159),)),
        brief="harbour",
        place=Place(air=Air(0.02)),
        people=(Person("A", (1, 1, 0), 0.0),),
    )
    found = cautions(everything)
    assert len(found) >= 6
    for caution in found:
        assert caution.why.startswith("Printed because ")
        assert all(key in SOURCES for key in caution.sources)
        assert caution.sources or "Common practice" in caution.why or "decide" in caution.text


@pytest.mark.parametrize("title", ["Haze", "Mains and stored charge", "Wet places"])
def test_local_codes_decide(title):
    everything = replace(with_light(BARE), brief="harbour", place=Place(air=Air(0.02)))
    text = next(c.text for c in cautions(everything) if c.title == title)
    assert text.endswith("Local codes, the venue and licensed practice decide.")
