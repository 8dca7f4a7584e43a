"""What hangs in a frame, a doorway or a window: scrims, gels, nets, flags and panels, alone or one behind the other.

Each layer passes a part straight, a part scattered, and gives a part back, over wavelength. Between layers light
goes to and fro: T = T1 T2 / (1 - R1 R2); what goes straight through both is S1 S2, the rest of T is scattered.
A gel gives nothing back: what its two faces lose is in its transmission.

Source
------
stokes1862 (a pile of plates)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.light.diffusion import stacked
from sidelong.light.gel import transmittance
from sidelong.light.values import Gel, Modifier
from sidelong.spectra.finishes import finish as named_finish
from sidelong.spectra.grids import WAVELENGTHS, on_grid
from sidelong.spectra.illuminants import by_temperature
from sidelong.spectra.observer import luminous
from sidelong.spectra.values import Finish, Spectrum

Values = NDArray[np.float64]

RATED_UNDER = 5500.0
"""The light under which the parts that go through are told as one number. [K]"""


@dataclass(frozen=True)
class Layer:
    """What a layer passes `straight`, passes scattered (`diffuse`), gives `back`: over the grid, (95,) each. [-]"""

    straight: Values
    diffuse: Values
    back: Values

    @property
    def through(self) -> Values:
        """Both parts that it passes. [-]"""
        return self.straight + self.diffuse


def layer_of(piece: Modifier | Gel) -> Layer:
    """A gel, scrim, net, flag or panel as a layer.

    Raises
    ------
    InputFault
        It is no sheet (a reflector, say), or gives back and passes more than it gets.
    """
    nothing = np.zeros(len(WAVELENGTHS))
    if isinstance(piece, Gel):
        return Layer(np.minimum(transmittance(piece), 1.0), nothing, nothing)
    back = nothing + piece.reflectance if piece.finish is None else _of_finish(piece)
    if piece.kind in ("panel", "flag"):
        return Layer(nothing, nothing, back)
    if piece.kind == "net":
        return Layer(nothing + piece.transmission, nothing, back)
    if piece.kind != "scrim":
        raise InputFault(f'"{piece.id}" is a {piece.kind}; a scrim, net, gel, panel or flag was expected')
    try:
        passed, given_back = stacked(piece.transmission, piece.reflectance, piece.layers)
    except ValueError as fault:
        raise InputFault(f'"{piece.id}": {fault}') from fault
    return Layer(nothing, nothing + passed, nothing + given_back)


def piled(layers: Sequence[Layer]) -> Layer:
    """Layers one behind the other, the first on the far side; what comes back is what comes back on the near side.

    Raises
    ------
    ValueError
        There is none.
    """
    if not layers:
        raise ValueError("one layer or more was expected")
    pile = layers[0]
    for near in layers[1:]:
        between = np.maximum(1.0 - pile.back * near.back, 1e-9)
        through = pile.through * near.through / between
        straight = pile.straight * near.straight
        back = near.back + near.through**2 * pile.back / between
        pile = Layer(straight, np.maximum(through - straight, 0.0), back)
    return pile


def sheet_finish(pieces: Sequence[Modifier | Gel]) -> Finish:
    """The finish of a sheet made of pieces, the first on its far side: their spectra as its colour and tint.

    A single panel keeps the lobe of its own finish (silver, gold); anything else is matt.

    Raises
    ------
    InputFault
        A piece is no sheet.
    """
    pile = piled([layer_of(piece) for piece in pieces])
    light = on_grid(by_temperature(RATED_UNDER))
    whole = float(luminous(light))
    straight, diffuse = (float(luminous(light * part)) / whole for part in (pile.straight, pile.diffuse))
    passed = straight + diffuse
    tint = Spectrum(WAVELENGTHS, pile.through / passed) if passed > 0 and np.ptp(pile.through) > 1e-6 else None
    made = Finish(
        "sheet of " + " + ".join(piece.id for piece in pieces),
        Spectrum(WAVELENGTHS, pile.back),
        straight=straight,
        diffuse=diffuse,
        tint=tint,
    )
    only = pieces[0]
    if len(pieces) == 1 and isinstance(only, Modifier) and only.finish is not None:
        own = named_finish(only.finish)
        return Finish(made.name, made.reflectance, own.roughness, own.metal, source=own.source)
    return made


def _of_finish(piece: Modifier) -> Values:
    """Reflectance of a panel's finish over the grid, scaled to the panel's own where that is stated. [-]"""
    assert piece.finish is not None
    spectrum = named_finish(piece.finish).reflectance.at(WAVELENGTHS)
    if piece.reflectance <= 0:
        return spectrum
    light = on_grid(by_temperature(RATED_UNDER))
    mean = float(luminous(light * spectrum) / luminous(light))
    return np.minimum(spectrum * (piece.reflectance / max(mean, 1e-6)), 1.0)
