"""A clear pane: what it lets straight through and what it mirrors, by the angle.

Both faces by Fresnel's equations for either polarisation, with every reflection between them and absorption on the
way, the mean of the two; the pane is thin, so that nothing is shifted aside.

Source
------
born_wolf1999 (Fresnel's equations); stokes1862 (two faces, every reflection between them)
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.errors import InputFault

Values = NDArray[np.float64]


def clearest(index: float) -> float:
    """Transmittance at right angles of a pane of that refractive index that absorbs nothing. [-]"""
    face = ((index - 1) / (index + 1)) ** 2
    return (1 - face) / (1 + face)


def inner_transmittance(index: float, straight: float) -> float:
    """What one passage through the glass lets by, of a pane that passes `straight` at right angles. [-]

    Raises
    ------
    InputFault
        The index is under 1, or no glass of that index lets so much through.
    """
    if not 1.0 <= index <= 4.0:
        raise InputFault(f"a pane of refractive index {index:g} was given; expected 1 to 4, window glass has 1.52")
    if not 0.0 <= straight <= clearest(index) * (1 + 1e-6):
        raise InputFault(
            f"a pane of index {index:g} that lets {straight:g} through was given; expected 0 to "
            f"{clearest(index):.4f}, which is what its two faces leave"
        )
    face = ((index - 1) / (index + 1)) ** 2
    passed = (1 - face) ** 2
    # straight = passed a / (1 - face^2 a^2), solved for a
    a = 2 * straight / (passed + math.sqrt(passed**2 + 4 * (straight * face) ** 2))
    return min(a, 1.0)


def pane(index: ArrayLike, inner: ArrayLike, cosine: ArrayLike) -> tuple[Values, Values]:
    """Transmittance and reflectance of a pane for unpolarised light. [-]

    Parameters
    ----------
    index, inner : (...) float arrays
        Refractive index, and what one passage at right angles lets by. [-]
    cosine : (...) float array
        Of the angle from the pane's normal. [-]

    Returns
    -------
    two (...) float arrays
        What goes straight through, and what is mirrored. [-]
    """
    n, c = np.asarray(index, float), np.abs(np.asarray(cosine, float))
    within = np.sqrt(1 - (1 - c * c) / (n * n))
    a = np.asarray(inner, float) ** (1 / within)
    faces = ((c - n * within) / (c + n * within)) ** 2, ((n * c - within) / (n * c + within)) ** 2
    both = [both_faces(face, a) for face in faces]
    return np.asarray((both[0][0] + both[1][0]) / 2), np.asarray((both[0][1] + both[1][1]) / 2)


def both_faces(face: Any, a: Any) -> tuple[Any, Any]:
    """What goes through and comes back of one polarisation: `face` is one face's reflectance, `a` one passage. [-]"""
    through = (1.0 - face) * (1.0 - face) * a / (1.0 - face * face * a * a)
    return through, face * (1.0 + a * through)
