"""What an answer does not hang on: the order of people, the scale, mirror and turn of it all; with the framing
held and with least blurs. And nobody who joins the sharp ones lets the stop be wider."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sidelong.errors import Impossible
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.ring import extension_for
from sidelong.lens.solve import solve_movement
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.wish import Framing, Wish
from sidelong.units import f_marks, true_f_number

FEW = settings(max_examples=5, deadline=None)
NEAR = 3e-3
"""Proofs stop within a thousandth of what is found, on either side. [-]"""


def _wish(seed, framed, shift):
    rng = np.random.default_rng(seed)
    lens = Lens(
        "l", 0.045, true_f_number(2.8), movement=math.radians(8.5), pivot=float(rng.uniform(0, 0.012)),
        pupil_ratio=float(rng.uniform(0.8, 1.5)), shift=shift,
    )  # fmt: skip

    def people(n):
        return np.stack([rng.uniform(-0.8, 0.8, n), rng.uniform(-0.35, 0.35, n), rng.uniform(2.5, 4.5, n)], axis=1)

    sharp, soft = people(4), people(2)
    straight = Setting(lens, Movement(), extension_for(lens, Movement(), sharp[0]), 2.8)
    framing = Framing(sharp, blur(geometry_of(straight), sharp).image, 0.5e-3) if framed else None
    least = None if framed else np.array([0.0, 40e-6])
    return Wish(lens, sharp, soft, 60e-6, f_marks(lens.widest, lens.smallest), framing=framing, least=least)


def _solved(wish):
    try:
        return solve_movement(wish)
    except Impossible:
        assume(False)
        raise


def _agree(one, two, scale=1.0):
    assert two.widest_f == pytest.approx(one.widest_f, rel=NEAR, abs=1e-3)
    assert two.setting.f_number == pytest.approx(one.setting.f_number)
    assert two.soft_least == pytest.approx(one.soft_least * scale, rel=0.01)
    for a, b, s in ((one, two, scale), (two, one, 1.0 / scale)):
        assert a.widest_f_proved <= b.widest_f * (1 + 1e-6) + 1e-9
        assert a.soft_least_proved * s >= b.soft_least * (1 - 1e-6)


wishes = st.builds(_wish, st.integers(0, 10_000), st.booleans(), st.sampled_from([0.0, 0.011]))


@FEW
@given(wishes, st.permutations(range(4)))
def test_the_order_of_people_does_not_matter(wish, order):
    turned = replace(wish, sharp=wish.sharp[list(order)], soft=wish.soft[::-1])
    _agree(_solved(wish), _solved(replace(turned, least=None if wish.least is None else wish.least[::-1])))


@FEW
@given(wishes, st.floats(0.3, 4.0))
def test_everything_scales(wish, factor):
    lens = wish.lens
    larger = replace(
        lens, focal_length=lens.focal_length * factor, pivot=lens.pivot * factor, shift=lens.shift * factor
    )
    framing, least = wish.framing, wish.least
    if framing is not None:
        framing = Framing(framing.points * factor, framing.images * factor, framing.room * factor)
    scaled = replace(
        wish, lens=larger, sharp=wish.sharp * factor, soft=wish.soft * factor, framing=framing,
        blur_limit=wish.blur_limit * factor, least=None if least is None else least * factor,
    )  # fmt: skip
    _agree(_solved(wish), _solved(scaled), factor)


def _turned(wish, turn):
    """The same in a body turned about its forward axis, or mirrored: `turn` (2, 2) acts on x and y."""
    whole = np.eye(3)
    whole[:2, :2] = turn
    framing = wish.framing
    if framing is not None:
        framing = Framing(framing.points @ whole.T, framing.images @ turn.T, framing.room)
    return replace(wish, sharp=wish.sharp @ whole.T, soft=wish.soft @ whole.T, framing=framing)


@FEW
@given(wishes, st.sampled_from([[-1, 1], [1, -1], [-1, -1]]))
def test_mirrored_it_is_the_same(wish, signs):
    _agree(_solved(wish), _solved(_turned(wish, np.diag(np.array(signs, float)))))


@FEW
@given(wishes, st.floats(0, 2 * math.pi))
def test_turned_about_the_view_it_is_the_same(wish, angle):
    if wish.framing is not None:
        angle = math.pi / 2 * round(angle / (math.pi / 2))  # the room is across and up, a square
    c, s = math.cos(angle), math.sin(angle)
    _agree(_solved(wish), _solved(_turned(wish, np.array([[c, -s], [s, c]]))))


@FEW
@given(wishes, st.floats(-0.6, 0.6), st.floats(2.5, 4.5))
def test_one_more_never_widens_the_stop(wish, aside, away):
    before = _solved(wish)
    more = replace(wish, sharp=np.concatenate([wish.sharp, [[aside, 0.1, away]]]))
    try:
        after = solve_movement(more)
    except Impossible:
        return
    assert after.widest_f >= before.widest_f_proved * (1 - 1e-9)
    assert after.widest_f >= before.widest_f * (1 - NEAR)
    assert after.setting.f_number >= before.setting.f_number or after.soft_least <= before.soft_least_proved
