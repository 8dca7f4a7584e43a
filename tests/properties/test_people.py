"""Figures move, turn and scale as the person does."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelong.people.eyes import eyes, face, hands
from sidelong.people.figure import figure
from sidelong.people.values import Person

coordinate = st.floats(-20, 20)
people = st.builds(
    Person,
    name=st.text(min_size=1, max_size=12),
    at=st.tuples(coordinate, coordinate, st.floats(-1, 3)),
    facing=st.floats(-7, 7),
    pose=st.sampled_from(["standing", "sitting", "kneeling"]),
    height=st.floats(1.4, 2.1),
    seat=st.floats(0.30, 0.55),
)


@settings(max_examples=40, deadline=None)
@given(person=people)
def test_the_eyes_stand_above_the_mark_and_the_figure_is_under_its_own_head(person):
    x, y, z = eyes(person)
    assert (x, y) == person.at[:2]
    things = figure(person)
    everything = np.concatenate([t.mesh.vertices for t in things])
    assert np.all(np.isfinite(everything))
    height = person.height
    assert everything[:, 2].max() - z < 0.15 * height
    assert abs(everything[:, 2].min() - person.at[2]) < 0.03 * height
    assert np.linalg.norm(everything[:, :2] - [x, y], axis=1).max() < 0.62 * height


@settings(max_examples=25, deadline=None)
@given(person=people, turn=st.floats(-3, 3), shift=st.tuples(coordinate, coordinate))
def test_turning_and_moving_a_person_turns_and_moves_every_vertex(person, turn, shift):
    moved = Person(
        person.name,
        (person.at[0] + shift[0], person.at[1] + shift[1], person.at[2]),
        person.facing + turn,
        person.pose,
        person.height,
        seat=person.seat,
    )
    cos, sin = math.cos(turn), math.sin(turn)
    rotation = np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1.0]])
    for before, after in zip(figure(person), figure(moved), strict=True):
        about = before.mesh.vertices - np.array(eyes(person))
        assert np.allclose(about @ rotation.T + eyes(moved), after.mesh.vertices, atol=1e-9)
    for name, point in {**face(person), **hands(person)}.items():
        there = {**face(moved), **hands(moved)}[name]
        assert np.allclose(rotation @ (np.array(point) - eyes(person)) + eyes(moved), there, atol=1e-9)


@settings(max_examples=25, deadline=None)
@given(height=st.floats(1.4, 2.0), grow=st.floats(1.01, 1.2))
def test_a_standing_figure_grows_with_the_stature(height, grow):
    small = figure(Person("Ada", (0.0, 0.0, 0.0), 0.0, height=height))
    tall = figure(Person("Ada", (0.0, 0.0, 0.0), 0.0, height=height * grow))
    for a, b in zip(small, tall, strict=True):
        assert np.allclose(a.mesh.vertices * grow, b.mesh.vertices, atol=1e-9)
