"""Ohta, The Basis of Color Reproduction Engineering, 1997: reflectances of the 24-patch chart, patches 1 (dark skin)
and 2 (light skin), as shipped in colour-science. Tolerance: half of the last printed digit, 0.0005."""

import numpy as np
import pytest

from sidelong.people.cloth import finish

colour = pytest.importorskip("colour")


@pytest.mark.parametrize(("name", "patch"), [("skin dark", "dark skin"), ("skin light", "light skin")])
def test_skins_at_the_ends_are_the_published_patches(name, patch):
    published = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"][patch]
    wavelengths = np.arange(380.0, 781.0, 10.0)
    expected = np.interp(wavelengths, published.wavelengths, published.values)
    assert np.abs(finish(name).reflectance.at(wavelengths) - expected).max() <= 0.0005 + 1e-9
