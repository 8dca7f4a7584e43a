"""From the film exposure of each light to the picture a screen shows.

Middle grey, H = 10 / S, goes to linear 0.18 and so to sRGB 118 (117.6). A channel saturates at H = 78 / S, 7.8 times
or 2.963 stops higher: at linear 1.404, of which middle grey is 12.8 %. Up to 0.72, two stops over middle grey, the
picture is exactly proportional to the exposure; from there the shoulder

    f(v) = 1 - (1 - 0.72) (1 - (v - 0.72) / (1.404 - 0.72))^p,   p = (1.404 - 0.72) / (1 - 0.72)

leaves the straight line without a kink and lands level on white at saturation. The shoulder scales a pixel by its
greatest channel, so hue stays; overexposed colours then fade to white at constant hue, as crosstalk between a
sensor's channels makes them, and what sRGB cannot hold is pressed inside (gamut.py).

Source
------
iso12232 (10 / S, 78 / S, 118); iec61966 (encoding); the shoulder and the fading are our own choice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sidelong.colour.adapt import balance_matrix
from sidelong.colour.encode import XYZ_TO_RGB, encoded
from sidelong.picture.gamut import NEAR_EDGE, from_oklab, press_chroma, to_oklab
from sidelong.trace.values import Layers

Pixels = NDArray[np.float32]
Bytes = NDArray[np.uint8]

MIDDLE_GREY = 0.18
MIDDLE_GREY_TIMES_ISO = 10.0
"""Film exposure of middle grey times the ISO speed. [lx s]"""
EXACT_STOPS = 2.0
"""How far over middle grey the picture stays proportional to the exposure. [stops]"""
SHOULDER = MIDDLE_GREY * 2.0**EXACT_STOPS
SATURATION = MIDDLE_GREY * 78.0 / MIDDLE_GREY_TIMES_ISO
"""Linear value at which a channel is full, 1.404. [-]"""

_POWER = (SATURATION - SHOULDER) / (1.0 - SHOULDER)
_FADE_BY_CHANNEL = 6.0
_FADE_BY_LUMINANCE = 1.5
"""Stops over the shoulder within which a colour has faded to white: of its greatest channel, of its luminance."""
_STEPS = 65535
_AT_ONCE = 16384
"""Pixels worked on together, so that all that belongs to them stays in the processor's cache. [px]"""
_SMALL_PRODUCT = 2**18
"""Multiplications in one product of matrices under which the linear algebra library starts no threads, whose waiting
costs more than such narrow products gain: measured 0.14 s against 0.5 s for lighting 1500 x 1000 again. [-]"""


def weights(layers: Layers, shutter: float, stops: Mapping[str, float] | None = None) -> NDArray[np.float64]:
    """What each layer counts, (L,): steady light the `shutter` time [s], flash once; `stops` moves lights by name.

    Worked: at 1/128 s the sun's layer counts 0.0078125 s, a strobe's 1; ``{"key": -1}`` halves the strobe "key".

    Raises
    ------
    KeyError
        A name in `stops` is no light of these layers.
    """
    moved = dict(stops or {})
    unknown = sorted(set(moved) - set(layers.names))
    if unknown:
        raise KeyError(f"no light is called {unknown[0]!r}; there are {', '.join(layers.names)}")
    return np.array(
        [
            (1.0 if flash else shutter) * 2.0 ** moved.get(name, 0.0)
            for name, flash in zip(layers.names, layers.flash, strict=True)
        ]
    )


def film_exposure(layers: Layers, counts: NDArray[np.float64]) -> Pixels:
    """Film exposure H of all lights together as XYZ (H, W, 3), the layers weighed by `counts` (L,). [lx s]"""
    return _weighed(layers, counts, np.eye(3))


def develop(exposure: Pixels, iso: float, balance: float, seed: int = 0) -> Bytes:
    """The picture (H, W, 3), sRGB 8 bit, of a film exposure XYZ (H, W, 3) [lx s] at a speed and a balance [K].

    `seed` fixes the dither, which lets the mean of any patch come out between two steps of the 8 bits.
    """
    return to_bytes(tone(linear(exposure, iso, balance)), seed)


def relit(layers: Layers, counts: NDArray[np.float64], iso: float, balance: float, seed: int = 0) -> Bytes:
    """The picture (H, W, 3), sRGB 8 bit, under other weights (L,) than before, without new light paths."""
    return to_bytes(tone(_weighed(layers, counts, film_to_linear(iso, balance))), seed)


def linear(exposure: Pixels, iso: float, balance: float) -> Pixels:
    """Linear sRGB (..., 3), before shoulder and gamut, of film exposures XYZ (..., 3) [lx s]; grey at 0.18. [-]"""
    flat = np.asarray(exposure, np.float32).reshape(-1, 3)
    return _product(flat, film_to_linear(iso, balance).T.astype(np.float32)).reshape(exposure.shape)


def film_to_linear(iso: float, balance: float) -> NDArray[np.float64]:
    """(3, 3) matrix from film exposure XYZ [lx s] to linear sRGB, the balance [K] made white (Bradford, to D65)."""
    gain = MIDDLE_GREY * iso / MIDDLE_GREY_TIMES_ISO
    return np.asarray(gain * XYZ_TO_RGB @ balance_matrix(balance))


def tone(rgb: Pixels) -> Pixels:
    """Linear sRGB (..., 3) within 0..1 of linear sRGB without bounds: shoulder, fading, gamut; hue kept. [-]

    Greys up to two stops over middle grey, and colours inside both shoulder and gamut, come back bit for bit.
    """
    result = np.array(rgb, np.float32).reshape(-1, 3)
    for start in range(0, len(result), _AT_ONCE):
        _tone_in_place(result[start : start + _AT_ONCE])
    return result.reshape(rgb.shape)


def shoulder(value: Pixels) -> Pixels:
    """f(v) of the module's head, for values (...) from 0 up. [-]"""
    left = np.clip((SATURATION - value) / np.float32(SATURATION - SHOULDER), 0.0, 1.0)
    bent = 1.0 - np.float32(1.0 - SHOULDER) * left ** np.float32(_POWER)
    return np.where(value <= SHOULDER, value, bent).astype(np.float32)


def to_bytes(rgb: Pixels, seed: int = 0) -> Bytes:
    """sRGB 8 bit (..., 3) of linear sRGB (..., 3) in 0..1, dithered by one step, evenly, from `seed`."""
    noise = np.random.default_rng(seed).random(rgb.shape, dtype=np.float32)
    table = _encoding()
    noise += table[(rgb * np.float32(_STEPS) + np.float32(0.5)).astype(np.int32)]
    return np.minimum(noise, np.float32(255.0)).astype(np.uint8)


def _tone_in_place(rgb: Pixels) -> None:
    red, green, blue = rgb[:, 0], rgb[:, 1], rgb[:, 2]
    greatest = np.maximum(np.maximum(red, green), blue)
    least = np.minimum(np.minimum(red, green), blue)
    white, black = least >= SATURATION, greatest <= 0.0
    outside = (greatest > SHOULDER) | (least < NEAR_EDGE * greatest)
    which = np.flatnonzero(outside & ~white & ~black)
    rgb[black] = 0.0
    rgb[white] = 1.0
    if which.size:
        rgb[which] = _inside(rgb[which], greatest[which])


def _inside(rgb: Pixels, greatest: Pixels) -> Pixels:
    """Pixels (N, 3) with a greatest channel (N,) above zero, brought into 0..1."""
    luminance = np.maximum(rgb @ np.array([0.2126, 0.7152, 0.0722], np.float32), np.float32(1e-6))
    lab = to_oklab(rgb * (shoulder(greatest) / greatest)[:, None])
    stops_over = np.log2(np.stack([greatest, luminance]) * np.float32(1.0 / SHOULDER))
    fade = np.maximum(_ease(stops_over[0] / _FADE_BY_CHANNEL), _ease(stops_over[1] / _FADE_BY_LUMINANCE))
    grey = np.cbrt(shoulder(luminance))
    lab[:, 0] += fade * (grey - lab[:, 0])
    lab[:, 1:] *= (1.0 - fade)[:, None]
    return np.clip(from_oklab(press_chroma(lab)), 0.0, 1.0)


def _ease(share: Pixels) -> Pixels:
    t = np.clip(share, 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def _weighed(layers: Layers, counts: NDArray[np.float64], matrix: NDArray[np.float64]) -> Pixels:
    """Sum over layers of counts x matrix (3, 3) . XYZ, (H, W, 3)."""
    height, width, lights, _ = layers.xyz.shape
    both = (np.asarray(counts)[:, None, None] * matrix.T[None]).reshape(lights * 3, 3).astype(np.float32)
    return _product(layers.xyz.reshape(height * width, lights * 3), both).reshape(height, width, 3)


def _product(rows: Pixels, matrix: Pixels) -> Pixels:
    """rows (N, K) times a matrix (K, 3), a few thousand rows at a time."""
    result = np.empty((len(rows), 3), np.float32)
    step = max(1, _SMALL_PRODUCT // matrix.size)
    for start in range(0, len(rows), step):
        np.matmul(rows[start : start + step], matrix, out=result[start : start + step])
    return result


@lru_cache(maxsize=1)
def _encoding() -> Pixels:
    """sRGB codes 0..255, unrounded, of linear values 0..1 in 65536 steps."""
    return np.asarray(255.0 * encoded(np.linspace(0.0, 1.0, _STEPS + 1)), np.float32)
