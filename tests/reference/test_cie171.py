"""CIE 171:2006, Test cases to assess the accuracy of lighting computer programs.

Case 5.8, diffuse reflection in a closed room: a light of 10 000 lm in the middle of a closed cube of 4 m; the
indirect illuminance, averaged over the surfaces, is (flux / area) rho / (1 - rho) (cie171). The figures are
second-hand, from a transcription; the closed form agrees with them.
"""

from __future__ import annotations

import numpy as np
import pytest

from sidelong.geometry.mesh import Mesh
from sidelong.light.values import Emitter
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.meter import meter_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor

SIDE = 4.0
LIGHT = Emitter(
    "light", "steady", "sphere", 10000.0, flat(1.0), (2.0, 2.0, 2.0), (0, 0, -1), (0, 1, 0), "disc", (0.05, 0.05)
)


def _cube() -> Mesh:
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float) * SIDE
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return Mesh(corners, np.array([[q[0], q[i], q[i + 1]] for q in quads for i in (1, 2)], np.int64))


# a 5 x 5 grid on one face stands for all six by symmetry; printed to whole lux, and the grid's mean and the light
# paths are good to 1 %
@pytest.mark.parametrize(("reflectance", "printed"), [(0.5, 104.0), (0.9, 937.0)])
def test_5_8_indirect_light_of_a_closed_room(reflectance, printed):
    scene = assemble([Piece(_cube(), Finish("wall", flat(reflectance)))], (LIGHT,))
    nodes, weights = np.polynomial.legendre.leggauss(5)
    x = (nodes + 1) / 2 * SIDE
    spots = [Receptor((float(a), float(b), 1e-3), (0, 0, 1)) for a in x for b in x]
    reading = meter_scene(scene, spots, samples=8192)
    share = np.outer(weights, weights).ravel() / 4
    indirect = float(share @ (reading.value - reading.direct)[:, 0])
    assert indirect == pytest.approx(printed, rel=0.01)
