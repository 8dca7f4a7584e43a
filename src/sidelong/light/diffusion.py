"""Layers of diffusion one behind the other.

Between two layers light goes to and fro: T = T1 T2 / (1 - R1 R2), and R = R1 + T1^2 R2 / (1 - R1 R2). Two layers
of T 0.35, R 0.5 pass 0.1633 (2.6141 stops), not 0.1225.

Source
------
stokes1862 (a pile of plates)
"""

from __future__ import annotations


def stacked(transmission: float, reflectance: float, layers: int) -> tuple[float, float]:
    """Transmission and reflectance of equal layers that scatter, one behind the other. [-]

    Parameters
    ----------
    transmission, reflectance : float
        Of one layer, 0..1, together not above 1. [-]
    layers : int
        1 or more.

    Raises
    ------
    ValueError
        The layer gives back more light than it gets, or there is no layer.
    """
    if not (min(transmission, reflectance) >= 0.0 and transmission + reflectance <= 1.0 + 1e-9):
        raise ValueError(
            f"a layer's transmission and reflectance together cannot exceed 1; "
            f"found {transmission:g} and {reflectance:g}"
        )
    if layers < 1:
        raise ValueError(f"one layer of diffusion or more was expected, not {layers}")
    through, back = transmission, reflectance
    for _ in range(layers - 1):
        between = 1.0 - back * reflectance
        if between <= 0.0:
            return 0.0, 1.0
        through, back = through * transmission / between, back + through * through * reflectance / between
    return through, back
