"""A triangle mesh as a plain value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Mesh:
    """Triangles: `vertices` (V, 3) place frame [m], `faces` (F, 3) vertex indices, anticlockwise seen from outside.

    `smooth` asks for normals interpolated over vertices; else each face is flat.
    """

    vertices: NDArray[np.float64]
    faces: NDArray[np.int64]
    smooth: bool = False

    def moved(self, rotation: NDArray[np.float64], offset: NDArray[np.float64], scale: float = 1.0) -> Mesh:
        """The mesh after vertices -> rotation (3, 3) . (scale x vertices) + offset (3,). [m]"""
        return Mesh(self.vertices @ rotation.T * scale + offset, self.faces, self.smooth)


@dataclass(frozen=True)
class Thing:
    """A mesh with a name and the finish it wears (a name that spectra.finishes or people.cloth knows).

    `owner` is the name of the person or thing of the shoot that it belongs to.
    """

    name: str
    mesh: Mesh
    finish: str
    owner: str = ""
