"""A published value with the tolerance that its printing gives it: half of its last digit."""

from __future__ import annotations

from decimal import Decimal

import numpy as np


class Printed:
    """`computed == Printed("39.872046")` holds within half a unit of the last printed digit.

    `times` turns the printed unit into ours: Printed("14.03", times=1e-3) is 14.03 mm in metres. Zeros at the end
    of a whole number count as printed: where a table means 1200 to the nearest hundred, write "12e2". An array
    equals it if each of its elements does. Tolerances wider than the print's are for the test to state and explain.
    """

    __array_ufunc__ = None  # numpy then leaves == to this class
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, text: str, times: float = 1.0) -> None:
        number = Decimal(text)
        if not number.is_finite():
            raise ValueError(f"a printed value is a finite number, not {text!r}")
        exponent = number.as_tuple().exponent
        assert isinstance(exponent, int)
        self.text = text
        self.value = float(number) * times
        self.tolerance = float(Decimal(1).scaleb(exponent) / 2) * abs(times)

    def __eq__(self, other: object) -> bool:
        computed = np.asarray(other, float)
        slack = self.tolerance + 4 * np.spacing(abs(self.value))  # a value on the edge rounds to either side
        return bool(computed.size and np.all(np.abs(computed - self.value) <= slack))

    def __repr__(self) -> str:
        return f"{self.value!r} within {self.tolerance:.2g} (printed {self.text})"
