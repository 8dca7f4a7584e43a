"""Polished metals at right angles, from McPeak et al. 2015 (aluminium) and Johnson & Christy 1972 (gold).

Against the reflectances of evaporated films in the American Institute of Physics Handbook, 3rd ed., table 6g (from
memory): aluminium within 0.01, gold within 0.03 in its steep part, where the two films differ.
"""

import numpy as np
import pytest

from sidelong.spectra.metals import ALUMINIUM, GOLD, reflectance


@pytest.mark.parametrize(("nm", "printed"), [(400, 0.924), (500, 0.918), (600, 0.911), (700, 0.897)])
def test_aluminium(nm, printed):
    assert float(reflectance(ALUMINIUM, np.array([float(nm)]))[0]) == pytest.approx(printed, abs=0.01)


@pytest.mark.parametrize(("nm", "printed"), [(400, 0.387), (500, 0.477), (550, 0.815), (600, 0.919), (700, 0.970)])
def test_gold(nm, printed):
    assert float(reflectance(GOLD, np.array([float(nm)]))[0]) == pytest.approx(printed, abs=0.03)
