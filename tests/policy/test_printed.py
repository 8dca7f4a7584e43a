"""The helper that gives published values their tolerance."""

import numpy as np
import pytest

from printed import Printed


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        ("39.872046", 39.8720464, 39.8720466),
        ("0.50", 0.5049, 0.5051),
        ("937", 936.6, 936.4),
        ("12e2", 1249.0, 1251.0),
        ("-0.7194", -0.71944, -0.71946),
        ("3e-7", 3.4e-7, 3.6e-7),
    ],
)
def test_half_of_the_last_digit(text: str, inside: float, outside: float) -> None:
    assert inside == Printed(text)
    assert outside != Printed(text)


def test_edge_counts_as_inside() -> None:
    assert Printed("0.5") == 0.55
    assert Printed("0.5") == 0.45


def test_other_units() -> None:
    assert Printed("14.03", times=1e-3) == 0.014034
    assert Printed("14.03", times=1e-3) != 0.014036


def test_numpy_numbers_and_arrays() -> None:
    assert np.float64(1.04) == Printed("1.0")
    assert np.array([1.04, 0.96]) == Printed("1.0")
    assert np.array([1.04, 0.94]) != Printed("1.0")
    assert np.array([]) != Printed("1.0")


@pytest.mark.parametrize("never", [float("nan"), float("inf")])
def test_what_is_no_number_equals_nothing(never: float) -> None:
    assert never != Printed("1.0")
    with pytest.raises(ValueError, match="finite"):
        Printed(str(never))


def test_message_tells_the_tolerance() -> None:
    assert repr(Printed("0.50")) == "0.5 within 0.005 (printed 0.50)"
