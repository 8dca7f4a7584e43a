"""Exposure arithmetic: what reaches the film, in which proportion to middle grey.

Conventions: N, t, S are true values. Film exposure H is in lx s. Middle grey, an 18 % card as it should come out,
lies at H = 10 / S. Stops count from there. The film's illuminance from a surface of luminance L is
E = pi L / (4 N^2 (1 + m/p)^2), lens transmission 1, on the axis; m is the magnification, p the pupil ratio.

Source
------
iso12232 (10 / S, 78 / S), iso2720 (meters), apex_exif, ray2002 (bellows with pupil ratio)
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Values = NDArray[np.float64]

GREY = 0.18
"""Reflectance of the card that meters and middle grey are about. [-]"""
MIDDLE = 10.0
"""Film exposure times ISO speed that makes middle grey. [lx s]"""
SATURATION = 78.0
"""Film exposure times ISO speed that saturates. [lx s]"""
K_REFLECTED = 12.5
"""Calibration of a reflected-light meter. [cd s / m2]"""
C_FLAT, C_DOME = 250.0, 330.0
"""Calibration of an incident meter with a flat receptor and with a dome. [lx s]"""


def exposure_value(f_number: ArrayLike, shutter: ArrayLike) -> Values:
    """EV = log2(N^2 / t). [stops]"""
    return np.asarray(np.log2(np.square(f_number) / np.asarray(shutter, float)))


def exposure_value_100(f_number: ArrayLike, shutter: ArrayLike, iso: ArrayLike) -> Values:
    """EV at ISO 100 that these settings suit: EV less the speed's stops over 100. [stops]"""
    return exposure_value(f_number, shutter) - np.log2(np.asarray(iso, float) / 100.0)


def luminance_of_ev100(ev100: ArrayLike, k: float = K_REFLECTED) -> Values:
    """Luminance that a reflected-light meter calls this EV at ISO 100. [cd/m2]"""
    return np.asarray(k / 100.0 * 2.0 ** np.asarray(ev100, float))


def illuminance_of_ev100(ev100: ArrayLike, c: float = C_FLAT) -> Values:
    """Illuminance that an incident meter of calibration `c` calls this EV at ISO 100. [lx]"""
    return np.asarray(c / 100.0 * 2.0 ** np.asarray(ev100, float))


def ev100_of_illuminance(illuminance: ArrayLike, c: float = C_FLAT) -> Values:
    """EV at ISO 100 that an incident meter shows; -inf in the dark. [stops]"""
    return _log2(np.asarray(illuminance, float) * 100.0 / c)


def ev100_of_luminance(luminance: ArrayLike, k: float = K_REFLECTED) -> Values:
    """EV at ISO 100 that a reflected-light meter shows; -inf in the dark. [stops]"""
    return _log2(np.asarray(luminance, float) * 100.0 / k)


def bellows_factor(magnification: ArrayLike, pupil_ratio: float = 1.0) -> Values:
    """(1 + m/p)^2: how much the focused lens's film illuminance falls against infinity. [-]"""
    return np.asarray(np.square(1.0 + np.asarray(magnification, float) / pupil_ratio))


def bellows_stops(magnification: ArrayLike, pupil_ratio: float = 1.0) -> Values:
    """Light lost to focusing close, 2 log2(1 + m/p), as a positive number. [stops]"""
    return np.asarray(np.log2(bellows_factor(magnification, pupil_ratio)))


def film_illuminance(luminance: ArrayLike, f_number: float, bellows: ArrayLike = 1.0) -> Values:
    """Illuminance on the film's middle from luminances [cd/m2]: pi L / (4 N^2 bellows). [lx]

    Luminance times seconds gives lx s. `bellows` is `bellows_factor`.
    """
    return np.asarray(math.pi * np.asarray(luminance, float) / (4.0 * f_number**2) / np.asarray(bellows, float))


def card_luminance(illuminance: ArrayLike, reflectance: float = GREY) -> Values:
    """Luminance of a matt card under an illuminance [lx]: reflectance E / pi. [cd/m2]"""
    return np.asarray(np.asarray(illuminance, float) * (reflectance / math.pi))


def stops_of_exposure(exposure: ArrayLike, iso: float) -> Values:
    """Stops of a film exposure [lx s] from middle grey at a true ISO speed; -inf for none."""
    return _log2(np.asarray(exposure, float) * (iso / MIDDLE))


def exposure_of_stops(stops: ArrayLike, iso: float) -> Values:
    """Film exposure that lies this many stops from middle grey. [lx s]"""
    return np.asarray(MIDDLE / iso * 2.0 ** np.asarray(stops, float))


def card_stops(light: ArrayLike, seconds: float, f_number: float, iso: float, bellows: ArrayLike = 1.0) -> Values:
    """Stops from middle grey of an 18 % matt card that a light falls on.

    Parameters
    ----------
    light : (...) float array
        On the card: [lx] of steady light with `seconds` the shutter's true time, or [lx s] of flash with
        `seconds` = 1.
    seconds, f_number, iso : float
        True values. [s, -, -]
    bellows : (...) float array
        `bellows_factor`. [-]

    Returns
    -------
    (...) float array
        -inf where no light falls. [stops]
    """
    on_film = film_illuminance(card_luminance(light), f_number, bellows)
    return stops_of_exposure(on_film * seconds, iso)


def light_for_stops(
    stops: ArrayLike, seconds: float, f_number: float, iso: float, bellows: ArrayLike = 1.0
) -> Values:
    """The inverse of `card_stops`: what must fall on the card, [lx], or [lx s] with `seconds` = 1."""
    return exposure_of_stops(stops, iso) / (film_illuminance(card_luminance(1.0), f_number, bellows) * seconds)


def shutter_for_stops(stops: float, light: float, f_number: float, iso: float, bellows: float = 1.0) -> float:
    """True shutter time that puts an 18 % card under steady light [lx] at `stops`; inf in the dark. [s]"""
    per_second = float(film_illuminance(card_luminance(light), f_number, bellows))
    return float(exposure_of_stops(stops, iso)) / per_second if per_second > 0 else math.inf


def metered_exposure(f_number: ArrayLike, iso: ArrayLike, c: float = C_FLAT) -> Values:
    """Lux seconds at which an incident meter of calibration `c` names this f-number: C N^2 / S. [lx s]"""
    return np.asarray(c * np.square(f_number) / np.asarray(iso, float))


def metered_f_number(exposure: ArrayLike, iso: ArrayLike, c: float = C_FLAT) -> Values:
    """The f-number that an incident (flash) meter names for lux seconds: sqrt(H S / C). [-]"""
    return np.asarray(np.sqrt(np.asarray(exposure, float) * np.asarray(iso, float) / c))


def added_stops(stops: ArrayLike) -> Values:
    """Lights (..., L), each in stops, added as light: log2 of the sum of 2^stops. -inf counts as none."""
    return _log2(np.sum(2.0 ** np.asarray(stops, float), axis=-1))


def flash_loss_above_sync(shutter: float, sync: float) -> float:
    """Stops that a pulsed flash loses at a shutter shorter than its sync speed: log2((Ts + t) / t); 0 at or below.

    Both are true times [s]. The slit's travel takes Ts = `sync`, and a pulse train as long as travel and opening
    together spends its energy over Ts + t, of which each point of the film sees t.
    """
    return math.log2((sync + shutter) / shutter) if shutter < sync * (1.0 - 1e-9) else 0.0


def aperture_value(f_number: ArrayLike) -> Values:
    """APEX Av = 2 log2 N."""
    return np.asarray(2.0 * np.log2(np.asarray(f_number, float)))


def time_value(shutter: ArrayLike) -> Values:
    """APEX Tv = -log2 t."""
    return np.asarray(-np.log2(np.asarray(shutter, float)))


def _log2(values: Values) -> Values:
    with np.errstate(divide="ignore"):
        return np.asarray(np.log2(np.maximum(values, 0.0)))
