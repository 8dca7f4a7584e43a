"""One view of one world: batches of camera paths, gathered into pixels."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.trace.draws import Draws
from sidelong.trace.engine import computed, load
from sidelong.trace.hit import NOTHING
from sidelong.trace.paths import Tracer
from sidelong.trace.scene import NOBODY
from sidelong.trace.sensor import LensRays
from sidelong.trace.values import View
from sidelong.trace.world import World

mi, dr = load()

_PIXEL, _APERTURE, _WAVELENGTH = 0, 1, 2
# CIE XYZ of a flat reflectance is that of light E; a denoiser's guide only has to look like the picture
_TO_LINEAR = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])


class Exposure:
    """A world seen through a moved lens, its light paths followed by `tracer`."""

    def __init__(self, world: World, view: View, tracer: type[Tracer] = Tracer) -> None:
        self.world, self.tracer = world, tracer
        self.view = view
        self.lens = LensRays(view)

    def expose(
        self, pixels: tuple[int, int], samples: tuple[int, int], seed: int, max_depth: int
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Means over a band of pixels: XYZ (P, L, 3) [lx, lx s], albedo (P, 3) linear sRGB, normals (P, 3)."""
        each = samples[1] - samples[0]
        count = (pixels[1] - pixels[0]) * each
        number = dr.arange(mi.UInt32, count)
        site = number // dr.opaque(mi.UInt32, each) + dr.opaque(mi.UInt32, pixels[0])
        index = number % dr.opaque(mi.UInt32, each) + dr.opaque(mi.UInt32, samples[0])
        draws = Draws(site, index, seed)
        width, height = dr.opaque(mi.UInt32, self.view.width), dr.opaque(mi.UInt32, self.view.height)
        corner = mi.Point2f(mi.Float(site % width), mi.Float(site // width))
        picture = (corner + draws.pair(_PIXEL)) / mi.Point2f(mi.Float(width), mi.Float(height))
        origin, direction, weight = self.lens.rays(picture, draws.pair(_APERTURE))
        rows = self.world.wavelengths.draw(draws.single(_WAVELENGTH))
        path = self.tracer(self.world, draws, rows, max_depth).follow(origin, direction, weight > 0)
        light = [self.world.wavelengths.tristimulus(k, v * weight, rows) for k, v in enumerate(path.layers)]
        guide = self.world.wavelengths.reflected(path.albedo, rows)
        facing = dr.select(path.met, path.normal, 0.0)
        channels = [c for colour in light for c in colour] + list(guide) + list(facing)
        computed(channels)
        means = np.stack([np.array(dr.block_sum(c, each)) for c in channels], axis=-1).astype(np.float64) / each
        split = 3 * len(light)
        xyz = means[:, :split].reshape(len(means), len(light), 3)
        return xyz, means[:, split : split + 3] @ _TO_LINEAR.T, means[:, split + 3 :]

    def map(self) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
        """Depth along the film's normal [m], inf where nothing, and person, by one ray through each pixel's middle
        and the pupil's."""
        width, height = self.view.width, self.view.height
        number = dr.arange(mi.UInt32, width * height)
        picture = mi.Point2f(mi.Float(number % width) + 0.5, mi.Float(number // width) + 0.5)
        picture /= mi.Point2f(width, height)
        origin, direction, weight = self.lens.rays(picture, mi.Point2f(0.5, 0.5))
        hit = self.world.through_holes(origin, direction, weight > 0)
        depth = dr.dot(hit.point - self.lens.at, self.lens.axes[2])
        depth = dr.select(hit.valid, depth, dr.inf)
        person = dr.select(hit.valid & (hit.person != NOTHING), mi.Int32(hit.person), NOBODY)
        computed(depth, person)
        return np.array(depth, np.float32), np.array(person, np.int32)
