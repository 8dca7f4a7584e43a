"""CIE 171:2006, Test cases to assess the accuracy of lighting computer programs.

Case 5.8, diffuse reflection in a closed room: a light of 10 000 lm in the middle of a closed cube of 4 m; the
indirect illuminance, averaged over the surfaces, is (flux / area) rho / (1 - rho) (cie171). The figures are
second-hand, from a transcription; the closed form agrees with them. 5.6 B, second-hand too: 35.901 %; a point 0.75 m
up the middle of a wall at the edge of a lit square of 4 x 4 m has just that configuration factor.

The other cases are metered against closed forms and quadrature, the report's tables not being at hand: 5.2 a point
light, 5.4 conservation of flux, 5.6 and 5.7 light from a lit floor with and without something in its way (here); 5.3
area sources in test_howell2010.py; 5.5 glass in test_born_wolf1999.py; 5.9 to 5.14 openings under standard skies in
test_iso15469_metered.py.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from metered import LIMIT, UP, assert_reads, flat, read
from printed import Printed
from sidelong.geometry.mesh import Mesh
from sidelong.light.values import Emitter
from sidelong.spectra import grids
from sidelong.spectra.values import Finish
from sidelong.trace.meter import meter_scene
from sidelong.trace.plain import Box, PlainScene, Point, Rectangle, Sky
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor

SIDE = 4.0
LIGHT = Emitter(
    "light",
    "steady",
    "sphere",
    10000.0,
    grids.flat(1.0),
    (2.0, 2.0, 2.0),
    (0, 0, -1),
    (0, 1, 0),
    "disc",
    (0.05, 0.05),
)


def _cube() -> Mesh:
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float) * SIDE
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return Mesh(corners, np.array([[q[0], q[i], q[i + 1]] for q in quads for i in (1, 2)], np.int64))


# a 5 x 5 grid on one face stands for all six by symmetry; printed to whole lux, and the grid's mean and the light
# paths are good to 1 %
@pytest.mark.parametrize(("reflectance", "printed"), [(0.5, 104.0), (0.9, 937.0)])
def test_5_8_indirect_light_of_a_closed_room(reflectance, printed):
    scene = assemble([Piece(_cube(), Finish("wall", grids.flat(reflectance)))], (LIGHT,))
    nodes, weights = np.polynomial.legendre.leggauss(5)
    x = (nodes + 1) / 2 * SIDE
    spots = [Receptor((float(a), float(b), 1e-3), (0, 0, 1)) for a in x for b in x]
    reading = meter_scene(scene, spots, samples=8192)
    share = np.outer(weights, weights).ravel() / 4
    indirect = float(share @ (reading.value - reading.direct)[:, 0])
    assert indirect == pytest.approx(printed, rel=0.01)


def test_5_2_a_point_light_in_a_room():
    """Under the middle of the ceiling of a black room of 4 x 4 x 3 m: floor and walls, inverse square and cosine."""
    scene = PlainScene([Box((0, 0, 0), (4, 4, 3)), Point((2, 2, 2.9), 800.0)])
    spots, exact = [], []
    for at, normal in (((2, 2, 0), UP), ((0.5, 1, 0), UP), ((0, 2, 1.5), (1, 0, 0)), ((3.5, 4, 0.5), (0, -1, 0))):
        way = np.array([2, 2, 2.9]) - at
        spots.append(flat(*at, normal=normal))
        exact.append(800 * float(way @ normal) / np.linalg.norm(way) ** 3)
    assert_reads(scene, spots, exact)


def test_5_4_flux_is_conserved():
    """What the six walls of a room get from a light off its middle, and through a hole in its roof, is its flux."""
    nodes, weights = np.polynomial.legendre.leggauss(8)
    low, high, light = np.zeros(3), np.array([4.0, 3.0, 2.5]), np.array([1.7, 1.4, 1.2])
    spots, areas = [], []
    for axis in range(3):
        across = [k for k in range(3) if k != axis]
        for end in (low, high):
            for a, wa in zip(nodes, weights, strict=True):
                for b, wb in zip(nodes, weights, strict=True):
                    at = end.copy()
                    at[across[0]], at[across[1]] = (a + 1) / 2 * high[across[0]], (b + 1) / 2 * high[across[1]]
                    normal = np.eye(3)[axis] * (1 if end is low else -1)
                    spots.append(flat(*at, normal=tuple(normal)))
                    areas.append(wa * wb / 4 * high[across[0]] * high[across[1]])
    scene = PlainScene([Box(tuple(low), tuple(high)), Point(tuple(light), 1000 / (4 * math.pi))])
    flux = sum(area * reading.value for area, reading in zip(areas, read(scene, *spots), strict=True))
    # 64 points a wall integrate the light to 0.3 %
    assert flux == pytest.approx(1000.0, rel=3e-3)


def floor_factor(wide, deep, up):
    """From a point `up` a wall to a floor `deep` before it and `wide` to one side of its foot."""
    x, y = wide / up, deep / up
    return (math.atan(x) - math.atan(x / math.hypot(1, y)) / math.hypot(1, y)) / (2 * math.pi)


SUNLIT = Sky(5, zenith=0.0, to_sun=UP, sun=1e5)


def test_5_6_light_reflected_by_a_floor():
    """The sun overhead on 4 x 4 m of floor: on the wall's middle line in parts of what the floor gives back."""
    assert 200 * floor_factor(2, 4, 0.75) == Printed("35.901")
    scene = PlainScene([Rectangle((0, 0, 0), (4, 0, 0), (0, 4, 0), reflectance=0.3)], sky=SUNLIT)
    heights = (0.25, 0.75, 1.5, 3.0)
    exact = [0.3 * 1e5 * 2 * floor_factor(2, 4, h) for h in heights]
    # a wall would stand in the shade of itself: the receptors look level, and the sun's half disc adds a hair
    readings = read(scene, *[flat(2, 0, h, (0, 1, 0)) for h in heights], relative_error=0.004)
    for reading, expected in zip(readings, exact, strict=True):
        assert abs(reading.value - reading.direct - expected) <= LIMIT * reading.error + 1e-3 * expected


def test_5_7_something_stands_in_the_way():
    """The same with a black screen 1 m high, 2 m before the wall, as wide as the floor: what is seen over it."""
    screen = Rectangle((-20, 2, 0), (40, 0, 0), (0, 0, 1.0))
    scene = PlainScene([Rectangle((0, 0, 0), (4, 0, 0), (0, 4, 0), reflectance=0.3), screen], sky=SUNLIT)
    # from 2 m up the screen hides just all that is behind it, from 3 m what lies nearer than 3 m
    h = 3.0
    hidden_to = 2.0 * h / (h - 1.0)
    seen = 2 * (floor_factor(2, 2, h) + floor_factor(2, 4, h) - floor_factor(2, hidden_to, h))
    by_sum = integrate.dblquad(lambda x, y: h * y / math.pi / (x * x + y * y + h * h) ** 2, 0, 2, -2, 2)[0]
    assert 2 * floor_factor(2, 2, h) == pytest.approx(by_sum, rel=1e-6)
    for at, factor in (((2, 0, 2.0), 2 * floor_factor(2, 2, 2.0)), ((2, 0, h), seen)):
        [reading] = read(scene, flat(*at, normal=(0, 1, 0)), relative_error=0.004)
        exact = 0.3 * 1e5 * factor
        assert abs(reading.value - reading.direct - exact) <= LIMIT * reading.error + 1e-3 * exact
