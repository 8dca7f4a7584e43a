"""Gels as spectra: a filter that has a stated mired shift, Duv shift and luminous transmission.

The transmittance has Wien's form, exp(-c2 m 1e-6 / lambda), which turns one Planckian radiator into another and so
shifts every temperature by nearly the same mireds, times exp(q G) with G a smooth bump in the green that moves the
colour off the locus (q > 0 to green), times a level. Where the result would let more out than came in (the far red
of an orange gel) it bends over smoothly under `CEILING`, as dyed films do. The three numbers m, q and the level are
found so that the gel keeps all three of its promises under the source it is rated with: daylight of 5500 K, or,
for a blue so strong that daylight would leave the locus, a 3200 K filament.

Source
------
derived: docs/computed/light.md; holding of the mired shift over other sources measured there
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sidelong.colour.temperature import temperature_of
from sidelong.errors import InputFault
from sidelong.light.values import Gel
from sidelong.spectra.grids import WAVELENGTHS, on_grid
from sidelong.spectra.illuminants import C2, by_temperature, normalised
from sidelong.spectra.observer import luminous, tristimulus
from sidelong.spectra.values import Spectrum

Values = NDArray[np.float64]

RATED_UNDER = 5500.0
"""The source that a gel's figures are stated for. [K]"""
STRONG_BLUE_UNDER = 3200.0
"""The source for a blue that 5500 K could not follow. [K]"""
CEILING = 0.92
"""The most that a dyed film lets through at any wavelength; about 8 % is lost at its two faces. [-]"""
_BLUEST = 30.0
"""Mireds under which colour temperature tells little, so that a shift is not rated there. [1/MK]"""
_GREEN: Values = np.exp(-0.5 * ((WAVELENGTHS - 540.0) / 35.0) ** 2)
_WIEN: Values = -C2 * 1e-6 * (1.0 / WAVELENGTHS - 1.0 / 560.0)
_KNEE = 8.0
_STEPS = ((0.2, 1.5), (0.4, 1.5), (0.6, 1.5), (0.8, 1.5), (1.0, 1.5), (1.0, 0.75), (1.0, 0.35), (1.0, 0.15),
          (1.0, 0.07), (1.0, 0.03), (1.0, 0.0))  # fmt: skip
"""Shares of the colour and logs of extra density, from a pale and dense gel to the one that is wanted."""


def filtered(spectrum: Spectrum, gels: Sequence[Gel]) -> tuple[Spectrum, float]:
    """A light after gels, stacked in spectra: its spectrum, one lumen again, and the share of its flux left. [-]"""
    before = on_grid(spectrum)
    after = before
    for gel in gels:
        after = after * transmittance(gel)
    return normalised(after), float(luminous(after) / luminous(before))


def filtered_spectrum(spectrum: Spectrum, gels: Sequence[Gel]) -> Spectrum:
    """A light after gels, in the unit of the spectrum it came with."""
    through = on_grid(spectrum)
    for gel in gels:
        through = through * transmittance(gel)
    return Spectrum(WAVELENGTHS, through)


@lru_cache(maxsize=256)
def transmittance(gel: Gel) -> Values:
    """Spectral transmittance of a gel on the grid, (95,), read only. [-]

    When no film could pass as much as the gel states (an orange of transmission 1), the statement is kept and
    the transmittance exceeds 1 in places.

    Raises
    ------
    InputFault
        Its transmission is not within 0..1, or no filter of this form has its mired and Duv shifts.
    """
    if not 0.0 < gel.transmission <= 1.0:
        raise InputFault(f'gel "{gel.id}": a transmission above 0 and up to 1 was expected, not {gel.transmission:g}')
    kelvin = RATED_UNDER if 1e6 / RATED_UNDER + gel.mired > _BLUEST else STRONG_BLUE_UNDER
    source = on_grid(by_temperature(kelvin))
    wanted = np.array([gel.mired / 10.0, gel.duv * 1000.0, np.log(gel.transmission)])
    for form in (_bent_under(CEILING), _bent_under(1.0), _straight):
        found = _approached(source, wanted, form)
        if found is not None:
            through = form(found)
            through.setflags(write=False)
            return through
    raise InputFault(
        f'gel "{gel.id}": no smooth filter shifts {kelvin:g} K by {gel.mired:g} mired and {gel.duv:+g} Duv; '
        "a mired shift from -280 to +500 and a Duv shift within 0.03 were expected"
    )


Form = Callable[[Values], Values]


def _straight(p: Values) -> Values:
    return np.asarray(np.exp(np.clip(p[2] + p[0] * _WIEN + p[1] * _GREEN, -60.0, 60.0)))


def _bent_under(ceiling: float) -> Form:
    """As `_straight`, bent over under the ceiling by a smooth minimum."""

    def bent(p: Values) -> Values:
        free = _straight(p) / ceiling
        return np.asarray(ceiling * free * (1.0 + free**_KNEE) ** (-1.0 / _KNEE))

    return bent


def _approached(source: Values, wanted: Values, form: Form) -> Values | None:
    """m, q and the log of the level of a form that meets `wanted`, or None: at once, or from a dense
    gel of little colour, where nothing bends, up to the stated colour and transmission."""
    p = np.array([wanted[0] * 10.0, wanted[1] * 0.05, wanted[2]])
    at_once = _solved(source, wanted, form, p)
    if at_once is not None:
        return at_once
    p = np.array([0.0, 0.0, wanted[2] - 1.5])
    for share, denser in _STEPS:
        found = _solved(source, wanted * np.array([share, share, 1.0]) - np.array([0.0, 0.0, denser]), form, p)
        if found is None:
            return None
        p = found
    return p


def _solved(source: Values, wanted: Values, form: Form, start: Values) -> Values | None:
    """m, q and the log of the level that meet `wanted` (tens of mired, thousandths of Duv, log of transmission),
    by Newton's method with halved steps; None when it comes to a stand."""
    start_mired, start_duv = _mired_duv(source)
    whole = float(luminous(source))

    def miss(p: Values) -> Values:
        through = form(p)
        passed = source * through
        warmth, greenness = _mired_duv(passed)
        share = np.log(float(luminous(passed)) / whole)
        return np.array([(warmth - start_mired) / 10.0, (greenness - start_duv) * 1000.0, share]) - wanted

    p, left = start, miss(start)
    for _ in range(40):
        if np.max(np.abs(left)) < 1e-5:
            return p
        steps = np.array([0.5, 0.005, 0.005])
        slope = np.stack([(miss(p + np.eye(3)[k] * steps[k]) - left) / steps[k] for k in range(3)], axis=1)
        try:
            move = np.linalg.solve(slope, -left)
        except np.linalg.LinAlgError:
            return None
        for shrink in (1.0, 0.5, 0.25, 0.1, 0.03, 0.01):
            trial = p + shrink * np.clip(move, [-80.0, -1.0, -1.5], [80.0, 1.0, 1.5])
            after = miss(trial)
            if np.linalg.norm(after) < np.linalg.norm(left):
                break
        else:
            return None
        p, left = trial, after
    return None


def _mired_duv(spectrum: Values) -> tuple[float, float]:
    kelvin, duv = temperature_of(tristimulus(spectrum))
    return 1e6 / kelvin, duv
