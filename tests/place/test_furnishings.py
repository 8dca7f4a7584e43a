"""Every kind of block: within its box, of sound triangles, in finishes that exist, the same every time."""

import math

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.place.furnishings import KINDS, furnish, kind_of, stopping_box, whole
from sidelong.place.values import Block
from sidelong.spectra.finishes import finish

SIZES = {
    "tram": (8.0, 2.2, 3.2),
    "beam": (0.16, 3.0, 0.2),
    "post": (0.2, 0.2, 2.2),
    "net": (2.0, 0.2, 1.2),
    "planks": (1.1, 0.07, 1.9),
    "rails": (6.0, 1.5, 0.15),
    "steel beam": (0.2, 5.0, 0.35),
    "steel post": (0.2, 0.2, 4.0),
    "pipe": (6.0, 0.15, 0.15),
    "bulb": (0.07, 0.07, 0.5),
    "bench": (3.0, 0.4, 0.45),
    "curtain": (1.2, 0.2, 2.0),
    "ladder": (0.4, 0.5, 3.0),
    "oar": (0.7, 0.14, 2.1),
}


def block(kind, name="b"):
    return Block(name, kind, (3.0, 1.0, 0.5), SIZES.get(kind, (0.8, 0.6, 0.5)), 0.0, "bare timber")


@pytest.mark.parametrize("kind", KINDS)
def test_kind_is_sound(kind):
    b = block(kind)
    parts = furnish(b)
    assert parts[0].name == "b"
    assert all(p.owner == "b" for p in parts)
    mesh = whole(b)
    assert np.isfinite(mesh.vertices).all()
    assert mesh.faces.min() >= 0
    assert mesh.faces.max() < len(mesh.vertices)
    size = np.array(b.size)
    low, high = mesh.vertices.min(0) - b.at, mesh.vertices.max(0) - b.at
    spare = 0.06 + 0.12 * size.max()  # vices, eyes and rims stand out a little
    assert (low > [*(-size[:2] / 2 - spare), -spare]).all()
    assert (high < [*(size[:2] / 2 + spare), size[2] + spare]).all()
    for part in parts:
        assert finish(part.finish).reflectance.values.max() <= 1.0


@pytest.mark.parametrize("kind", KINDS)
def test_kind_is_the_same_every_time_and_other_by_another_name(kind):
    one, two = whole(block(kind)), whole(block(kind))
    assert (one.vertices == two.vertices).all()


def test_names_change_what_nature_does_not_repeat():
    one, two = whole(block("crate", "a")), whole(block("crate", "c"))
    assert not (one.vertices == two.vertices).all()


@pytest.mark.parametrize("kind", ["box", "float", "barrel", "beam", "rope", "steel post"])
def test_first_part_is_turned_outward(kind):
    from sidelong.geometry.builders import volume

    assert volume(furnish(block(kind))[0].mesh) > 0


def test_turn_and_place():
    turned = furnish(Block("b", "box", (1, 2, 3), (2, 1, 1), math.radians(90)))[0].mesh.vertices
    assert turned.min(0) == pytest.approx([0.5, 1.0, 3.0])
    assert turned.max(0) == pytest.approx([1.5, 3.0, 4.0])


def test_unknown_kind_names_the_nearest():
    with pytest.raises(InputFault, match='nearest is "bench"'):
        kind_of("bensh")


def test_what_of_a_block_stops_a_line():
    assert stopping_box(block("net")) is None
    low, high = stopping_box(Block("b", "table", (0, 0, 0), (2, 1, 1)))
    assert low.tolist() == [-1, -0.5, 0.88]
    assert high.tolist() == [1, 0.5, 1]


def test_no_kind_is_heavier_than_a_renderer_likes():
    for kind in KINDS:
        big = Block("b", kind, (0, 0, 0), (6.0, 2.0, 3.0))
        assert len(whole(big).faces) < 90_000, kind
