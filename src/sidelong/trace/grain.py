"""Mottling of walls and cloth in space: two scales of one periodic volume of noise, the broad one the stronger.

Fine mottling must stay weak: on a wall seen along its face it is squeezed in one direction and reads as fur.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sidelong.trace.engine import load

mi, dr = load()

_SIDE = 64
_SCALES = ((0.9, 0.0, 0.22), (5.7, 0.37, 0.78))
"""Periods of the volume [m], shifts of its copy and shares; the ratio is not simple, so that no repeat shows."""


class Grain:
    """Relative change of reflectance at points of the place; mean 0, rarely beyond -1 to 1. [-]

    Between the volume's points a neighbour is taken by chance, by the last digits of the position: over a pixel's
    samples that is linear interpolation, at a sixteenth of its cost.
    """

    def __init__(self) -> None:
        self.volume = mi.Float(_noise().ravel())

    def at(self, point: Any) -> Any:
        """Values at points (place frame, [m])."""
        loose = dr.fma(point, 9973.0, 0.31)
        loose -= dr.floor(loose)
        total = mi.Float(0.0)
        for period, shift, share in _SCALES:
            cell = mi.Vector3f((point / period + shift) * _SIDE + loose)
            x, y, z = (mi.UInt32(mi.Int32(dr.floor(c)) & (_SIDE - 1)) for c in cell)
            total += share * dr.gather(mi.Float, self.volume, (x * _SIDE + y) * _SIDE + z)
        return dr.clip(total, -1.0, 1.0)


def _noise() -> np.ndarray[Any, np.dtype[np.float32]]:
    """White noise filtered to an amplitude that falls with the square of the frequency, unit spread."""
    white = np.random.default_rng(20260311).standard_normal((_SIDE,) * 3)
    k = np.fft.fftfreq(_SIDE) * _SIDE
    r2 = k[:, None, None] ** 2 + k[None, :, None] ** 2 + np.fft.rfftfreq(_SIDE)[None, None, :] ** 2 * _SIDE**2
    spectrum = np.fft.rfftn(white) / np.maximum(r2, 9.0)
    spectrum[0, 0, 0] = 0.0
    field = np.fft.irfftn(spectrum, s=(_SIDE,) * 3, axes=(0, 1, 2))
    return np.asarray(np.clip(field / field.std(), -2.0, 2.0) / 1.2, np.float32)
