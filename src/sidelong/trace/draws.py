"""Random numbers of a path: well spread over a pixel's samples at its first vertex, plain pseudo-random after.

A pair of dimensions is the (0, 2) sequence in base 2 with its digits scrambled and its order shuffled so that
aligned blocks of 2^k samples stay aligned blocks: any pixel is stratified in every pair, and pairs are independent.

Source
------
kollig_keller2002, laine_karras2011 (the hash that shuffles)
"""

from __future__ import annotations

from typing import Any

from sidelong.trace.engine import load

mi, dr = load()


class Draws:
    """Draws for N paths; `site` (N,) numbers the pixel or receptor, `index` (N,) the sample within it."""

    def __init__(self, site: Any, index: Any, seed: int) -> None:
        self.site, self.index = site, index
        self.seed = dr.opaque(mi.UInt32, (seed * 0x9E3779B9 + 0x7F4A7C15) & 0xFFFFFFFF)
        start, stream = mi.sample_tea_32(site ^ self.seed, index, 5)
        self.generator = mi.PCG32(size=dr.width(index), initstate=mi.UInt64(start), initseq=mi.UInt64(stream))

    def pair(self, dimension: Any) -> Any:
        """Two spread numbers in [0, 1) for a pair of dimensions; the same for the same site, index and seed."""
        turn, salt = mi.sample_tea_32(self.site ^ self.seed, mi.UInt32(2 * dimension + 0x51ED27), 4)
        place = dr.brev(_shuffle(dr.brev(self.index), turn))
        return mi.Point2f(mi.radical_inverse_2(place, salt), mi.sobol_2(place, salt * 0x2545F491 + turn))

    def single(self, dimension: int) -> Any:
        """One spread number in [0, 1)."""
        return self.pair(dimension).x


def _shuffle(x: Any, seed: Any) -> Any:
    x = x + seed
    for factor in (0x6C50B47C, 0xB82F1E52, 0xC7AFE638, 0x8D22F6E6):
        x = x ^ (x * factor)
    return x
