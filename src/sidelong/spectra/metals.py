"""Metals of which reflecting cloths and foils are made: reflectance at right angles from published indices.

R = ((n - 1)^2 + k^2) / ((n + 1)^2 + k^2).

Source
------
mcpeak2015 (aluminium), johnson1972 (gold)
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from sidelong.spectra.monotone import monotone

Values = NDArray[np.float64]

# wavelength [nm], n, k
ALUMINIUM: Final[Values] = np.array([
    (380, 0.33596, 4.00261), (400, 0.37515, 4.22643), (420, 0.41765, 4.44741), (450, 0.48922, 4.77832),
    (480, 0.56801, 5.10594), (500, 0.62569, 5.32048), (520, 0.68834, 5.53596), (550, 0.78941, 5.85194),
    (580, 0.90857, 6.16518), (600, 0.99247, 6.36899), (620, 1.08816, 6.56659), (650, 1.24636, 6.85233),
    (680, 1.42602, 7.11629), (700, 1.55975, 7.27391), (720, 1.70678, 7.41425), (750, 1.95836, 7.57140),
    (780, 2.23150, 7.60385),
])  # fmt: skip
GOLD: Final[Values] = np.array([
    (367.9, 1.48, 1.895), (381.5, 1.46, 1.933), (397.4, 1.47, 1.952), (413.3, 1.46, 1.958), (430.5, 1.45, 1.948),
    (450.9, 1.38, 1.914), (471.4, 1.31, 1.849), (495.9, 1.04, 1.833), (520.9, 0.62, 2.081), (548.6, 0.43, 2.455),
    (582.1, 0.29, 2.863), (616.8, 0.21, 3.272), (659.5, 0.14, 3.697), (704.5, 0.13, 4.103), (756.0, 0.14, 4.542),
    (821.1, 0.16, 5.083),
])  # fmt: skip


def reflectance(metal: Values, wavelengths: Values) -> Values:
    """Reflectance of a polished metal at right angles, over wavelengths (N,) [nm]; `metal` (M, 3) as above. [-]"""
    n, k = metal[:, 1], metal[:, 2]
    table = ((n - 1.0) ** 2 + k**2) / ((n + 1.0) ** 2 + k**2)
    return monotone(metal[:, 0], table, wavelengths)
