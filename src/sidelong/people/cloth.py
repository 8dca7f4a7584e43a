"""The finishes that people wear: skin, hair, eyes, dyed cloth, rubber and leather, as reflectance 380..780 nm.

Skins lie between two published test patches, in the logarithm of the reflectance, because pigment multiplies
what a layer lets through: R = light^(1 - m) x dark^m, m being the share of dark. Cloths are given at nine
wavelengths, 380 to 780 in steps of 50 nm, and joined by a monotone curve; they are estimates of dyed wool,
cotton and rubber, common practice, no source. Cloth may also be named by its dye and fibre (people/dyes.py).

Source
------
ohta1997 (patches 1 and 2, dark skin and light skin, of the 24-patch chart)
"""

from __future__ import annotations

from difflib import get_close_matches
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.people import dyes
from sidelong.spectra.monotone import monotone
from sidelong.spectra.values import Finish, Spectrum

_WAVELENGTHS = np.arange(380.0, 781.0, 10.0)

# 380 to 780 nm in steps of 10 nm
_DARK_SKIN = (
    0.048, 0.055, 0.065, 0.068, 0.064, 0.059, 0.055, 0.053, 0.052, 0.052, 0.054, 0.057, 0.061, 0.065, 0.070,
    0.074, 0.076, 0.079, 0.087, 0.100, 0.115, 0.129, 0.138, 0.146, 0.154, 0.163, 0.173, 0.188, 0.204, 0.222,
    0.242, 0.261, 0.282, 0.305, 0.334, 0.372, 0.409, 0.436, 0.462, 0.448, 0.421,
)  # fmt: skip
_LIGHT_SKIN = (
    0.103, 0.141, 0.182, 0.197, 0.201, 0.205, 0.212, 0.224, 0.240, 0.262, 0.282, 0.293, 0.301, 0.321, 0.322,
    0.298, 0.292, 0.300, 0.295, 0.305, 0.358, 0.435, 0.494, 0.530, 0.550, 0.564, 0.574, 0.590, 0.605, 0.624,
    0.652, 0.682, 0.713, 0.745, 0.762, 0.783, 0.791, 0.789, 0.801, 0.771, 0.734,
)  # fmt: skip

SKINS = {"fair": -0.10, "light": 0.0, "olive": 0.22, "medium": 0.30, "tan": 0.45, "brown": 0.70, "dark": 1.0}
"""Share of the dark patch, m. [-]"""

_KNOTS = np.linspace(380.0, 780.0, 9)
_ESTIMATE = "estimate, common practice, no source"

# reflectance at 380, 430, ... 780 nm; then the roughness of a coat over it (None: matt), and the grain
_CLOTHS: dict[str, tuple[tuple[float, ...], float | None, float]] = {
    "navy wool": ((0.05, 0.07, 0.065, 0.040, 0.030, 0.028, 0.032, 0.06, 0.16), None, 0.25),
    "grey wool": ((0.13, 0.15, 0.16, 0.16, 0.16, 0.165, 0.17, 0.18, 0.20), None, 0.25),
    "charcoal wool": ((0.045, 0.05, 0.05, 0.05, 0.05, 0.05, 0.052, 0.06, 0.09), None, 0.25),
    "brown wool": ((0.035, 0.04, 0.045, 0.055, 0.075, 0.10, 0.12, 0.15, 0.19), None, 0.25),
    "undyed wool": ((0.22, 0.33, 0.40, 0.46, 0.51, 0.54, 0.57, 0.60, 0.63), None, 0.25),
    "moss wool": ((0.04, 0.05, 0.06, 0.085, 0.10, 0.085, 0.08, 0.11, 0.20), None, 0.25),
    "oxblood wool": ((0.045, 0.04, 0.035, 0.035, 0.05, 0.13, 0.19, 0.23, 0.28), None, 0.25),
    "oilskin yellow": ((0.06, 0.07, 0.09, 0.40, 0.60, 0.66, 0.69, 0.71, 0.72), 0.45, 0.06),
    "oilskin orange": ((0.05, 0.05, 0.05, 0.09, 0.30, 0.56, 0.62, 0.65, 0.66), 0.45, 0.06),
    "oilskin green": ((0.035, 0.045, 0.06, 0.10, 0.085, 0.06, 0.06, 0.09, 0.20), 0.45, 0.06),
    "rust canvas": ((0.05, 0.06, 0.065, 0.08, 0.13, 0.25, 0.32, 0.36, 0.40), None, 0.20),
    "sand canvas": ((0.15, 0.20, 0.25, 0.31, 0.36, 0.40, 0.43, 0.46, 0.49), None, 0.20),
    "grey canvas": ((0.16, 0.19, 0.20, 0.20, 0.20, 0.20, 0.205, 0.22, 0.26), None, 0.20),
    "indigo denim": ((0.11, 0.14, 0.135, 0.10, 0.075, 0.065, 0.075, 0.16, 0.35), None, 0.25),
    "faded denim": ((0.20, 0.26, 0.27, 0.24, 0.20, 0.18, 0.19, 0.27, 0.42), None, 0.25),
    "black rubber": ((0.035, 0.036, 0.036, 0.036, 0.036, 0.036, 0.036, 0.037, 0.038), 0.40, 0.05),
    "green rubber": ((0.03, 0.04, 0.05, 0.075, 0.07, 0.055, 0.05, 0.06, 0.09), 0.40, 0.05),
    "brown leather": ((0.03, 0.035, 0.045, 0.06, 0.09, 0.13, 0.17, 0.22, 0.28), 0.50, 0.15),
    "black leather": ((0.03, 0.03, 0.03, 0.032, 0.034, 0.036, 0.04, 0.05, 0.07), 0.40, 0.10),
    "horn": ((0.03, 0.035, 0.04, 0.05, 0.06, 0.075, 0.09, 0.11, 0.13), 0.30, 0.0),
    "black hair": ((0.015, 0.016, 0.017, 0.018, 0.020, 0.023, 0.027, 0.035, 0.05), 0.55, 0.30),
    "dark brown hair": ((0.018, 0.02, 0.024, 0.03, 0.04, 0.052, 0.07, 0.10, 0.14), 0.55, 0.30),
    "brown hair": ((0.03, 0.035, 0.045, 0.06, 0.085, 0.11, 0.14, 0.18, 0.23), 0.55, 0.30),
    "fair hair": ((0.08, 0.11, 0.15, 0.21, 0.27, 0.32, 0.36, 0.40, 0.44), 0.55, 0.30),
    "red hair": ((0.03, 0.033, 0.04, 0.06, 0.12, 0.20, 0.25, 0.29, 0.33), 0.55, 0.30),
    "grey hair": ((0.20, 0.24, 0.26, 0.27, 0.28, 0.29, 0.30, 0.31, 0.32), 0.55, 0.30),
    "white hair": ((0.36, 0.44, 0.48, 0.50, 0.52, 0.53, 0.54, 0.55, 0.56), 0.55, 0.30),
    "dark brows": ((0.030, 0.035, 0.040, 0.047, 0.055, 0.07, 0.085, 0.11, 0.14), None, 0.0),
    "brown brows": ((0.045, 0.055, 0.065, 0.08, 0.10, 0.13, 0.16, 0.19, 0.23), None, 0.0),
    "fair brows": ((0.08, 0.10, 0.13, 0.17, 0.21, 0.27, 0.31, 0.35, 0.39), None, 0.0),
    "grey brows": ((0.17, 0.20, 0.22, 0.23, 0.24, 0.26, 0.28, 0.30, 0.31), None, 0.0),
    "eye white": ((0.30, 0.45, 0.52, 0.55, 0.58, 0.63, 0.65, 0.66, 0.66), 0.06, 0.0),
    "brown iris": ((0.02, 0.022, 0.026, 0.032, 0.045, 0.06, 0.075, 0.09, 0.11), 0.05, 0.0),
    "blue iris": ((0.14, 0.18, 0.18, 0.16, 0.13, 0.11, 0.11, 0.11, 0.12), 0.05, 0.0),
    "pupil": ((0.008,) * 9, 0.05, 0.0),
}  # fmt: skip


def names() -> tuple[str, ...]:
    """Every finish known here, skins as ``skin medium`` and lips as ``lips medium``."""
    skins = [f"{part} {tone}" for tone in SKINS for part in ("skin", "lips")]
    return (*skins, *dict.fromkeys((*_CLOTHS, *dyes.names())))


@lru_cache(maxsize=256)
def finish(name: str) -> Finish:
    """The finish of that name.

    Raises
    ------
    InputFault
        The name is not known; the message lists the nearest.
    """
    part, _, tone = name.partition(" ")
    if part == "skin" and tone in SKINS:
        return Finish(name, Spectrum(_WAVELENGTHS, skin_reflectance(SKINS[tone])), roughness=0.5, source="ohta1997")
    if part == "lips" and tone in SKINS:
        return Finish(name, Spectrum(_WAVELENGTHS, _lips(SKINS[tone])), roughness=0.4, source=_ESTIMATE)
    if name in _CLOTHS:
        knots, roughness, grain = _CLOTHS[name]
        values = monotone(_KNOTS, knots, _WAVELENGTHS)
        return Finish(name, Spectrum(_WAVELENGTHS, values), roughness=roughness, grain=grain, source=_ESTIMATE)
    cloth = dyes.parted(name)
    if cloth is not None:
        _, roughness, grain = dyes.FIBRES[cloth[2]]
        spectrum = Spectrum(_WAVELENGTHS, dyes.dyed(*cloth))
        return Finish(name, spectrum, roughness=roughness, grain=grain, source="kubelka1931; strengths: estimate")
    raise InputFault(unknown("a finish worn by people", name, names()))


def skin_reflectance(dark_share: float) -> NDArray[np.float64]:
    """Reflectance (41,) at 380..780 nm of a skin with that share of the dark patch, light^(1-m) x dark^m. [-]"""
    light, dark = np.log(np.array(_LIGHT_SKIN)), np.log(np.array(_DARK_SKIN))
    return np.asarray(np.exp((1.0 - dark_share) * light + dark_share * dark))


def _lips(dark_share: float) -> NDArray[np.float64]:
    """Lips: the skin with more blood under it, which takes 30 % of the green and blue and little of the red. [-]"""
    blood = 1.0 - 0.30 / (1.0 + np.exp((_WAVELENGTHS - 600.0) / 12.0))
    return np.asarray(skin_reflectance(dark_share) * blood * 0.88)


def unknown(what: str, name: str, known: tuple[str, ...]) -> str:
    """The message for a name that is not known, with the nearest ones that are."""
    nearest = get_close_matches(name, known, n=3, cutoff=0.3) or list(known[:6])
    listed = ", ".join(f'"{n}"' for n in nearest)
    return f'found "{name}"; expected {what}; nearest: {listed}'
