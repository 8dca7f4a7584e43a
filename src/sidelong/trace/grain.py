"""Mottling of walls and cloth in space: two scales of one periodic volume of noise."""

from __future__ import annotations

from typing import Any

import numpy as np

from sidelong.trace.engine import load

mi, dr = load()

_SIDE = 48
_SCALES = ((0.9, 0.0), (4.3, 0.37))
"""Periods of the volume [m] and shifts of its copy; their ratio is not simple, so that no repeat shows."""


class Grain:
    """Relative change of reflectance at points of the place; mean 0, rarely beyond -1 to 1. [-]"""

    def __init__(self) -> None:
        self.volume = mi.Texture3f(mi.TensorXf(_noise()[..., None]), wrap_mode=dr.WrapMode.Repeat, use_accel=False)

    def at(self, point: Any) -> Any:
        """Values at points (place frame, [m])."""
        total = mi.Float(0.0)
        for period, shift in _SCALES:
            total += self.volume.eval(point / period + shift)[0]
        return dr.clip(0.5 * total, -1.0, 1.0)


def _noise() -> np.ndarray[Any, np.dtype[np.float32]]:
    """White noise filtered to a power that falls with the square of the frequency, unit spread."""
    white = np.random.default_rng(20260311).standard_normal((_SIDE,) * 3)
    k = np.fft.fftfreq(_SIDE) * _SIDE
    r2 = k[:, None, None] ** 2 + k[None, :, None] ** 2 + np.fft.rfftfreq(_SIDE)[None, None, :] ** 2 * _SIDE**2
    spectrum = np.fft.rfftn(white) / np.maximum(r2, 4.0) ** 0.75
    spectrum[0, 0, 0] = 0.0
    field = np.fft.irfftn(spectrum, s=(_SIDE,) * 3, axes=(0, 1, 2))
    return np.asarray(np.clip(field / field.std(), -2.0, 2.0) / 1.2, np.float32)
