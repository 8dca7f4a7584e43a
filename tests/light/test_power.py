"""Power settings: marks, the nearest one, and what is out of reach."""

import pytest

from sidelong.errors import OutOfPower
from sidelong.light.power import marked_powers, nearest_power, power_in_words
from sidelong.light.values import Strobe

STROBE = Strobe("s", 400.0, range_stops=5.0, step_stops=1 / 3, efficacy=30.0)


def test_marks_run_from_full_to_the_lowest():
    marks = marked_powers(STROBE)
    assert len(marks) == 16
    assert marks[0] == 1.0
    assert marks[-1] == pytest.approx(1 / 32)


def test_a_range_that_is_no_whole_number_of_steps_ends_on_its_end():
    assert marked_powers(Strobe("s", 100.0, range_stops=2.5, step_stops=1.0))[-1] == pytest.approx(2**-2.5)


@pytest.mark.parametrize(("wanted", "power"), [(1.0, 1.0), (0.9, 1.0), (0.51, 0.5), (1.1, 1.0), (0.03, 1 / 32)])
def test_nearest(wanted, power):
    assert nearest_power(STROBE, wanted) == pytest.approx(power)


def test_too_much_asked():
    with pytest.raises(OutOfPower) as caught:
        nearest_power(STROBE, 4.0)
    assert caught.value.exit_code == 3
    assert caught.value.figures["power"] == 1.0
    assert caught.value.figures["miss_stops"] == pytest.approx(2.0)
    assert "0.50 of the distance" in str(caught.value)
    assert "4 times" in str(caught.value)


@pytest.mark.parametrize("wanted", [1 / 128, 0.0])
def test_too_little_asked(wanted):
    with pytest.raises(OutOfPower) as caught:
        nearest_power(STROBE, wanted)
    assert caught.value.figures["power"] == pytest.approx(1 / 32)
    assert caught.value.figures["miss_stops"] < 0
    assert "scrim" in str(caught.value)


def test_a_dial_without_steps_keeps_what_is_asked():
    assert nearest_power(Strobe("s", 100.0, range_stops=5.0, step_stops=0.0), 0.3) == 0.3


@pytest.mark.parametrize(
    ("power", "words"),
    [
        (1.0, "full"),
        (0.5, "1/2"),
        (2 ** (-5 / 3), "1/4 + 1/3"),
        (2 ** (-4 / 3), "1/4 + 2/3"),
        (2**-1.9, "1/4 + 0.1"),
        (2**-1.5, "1/4 + 0.5"),
    ],
)
def test_in_words(power, words):
    assert power_in_words(power) == words
