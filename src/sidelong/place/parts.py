"""What a kind of block is given and what it gives: a size in its own frame, and meshes with finishes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.mesh import Mesh


@dataclass(frozen=True)
class Shape:
    """`size` (3,) along x, y, z [m] of a block in its own frame: centred on z, standing on z = 0; its finish; and a
    generator seeded by its name, for what nature does not repeat."""

    size: NDArray[np.float64]
    finish: str
    random: np.random.Generator


@dataclass(frozen=True)
class Part:
    """A mesh in the block's own frame [m] with its finish. The block itself is its first part."""

    name: str
    mesh: Mesh
    finish: str
