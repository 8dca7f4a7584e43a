"""A stage as plain tables of triangles, finishes and lights: what the renderer is built from.

Everything is one mesh, so that no kernel has to choose between kinds of shape; each face knows its finish, the
person it belongs to and the light it is the body of.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.mesh import Mesh, Thing
from sidelong.light.values import Daylight, Emitter
from sidelong.place.values import Air
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.stand_ins import Portal, emitter_mesh, panel_mesh
from sidelong.trace.values import Sheet

NOBODY = -1
_BLACK = "light's body"


@dataclass(frozen=True)
class Scene:
    """`vertices`, `normals` (V, 3) place frame; per face (F,): three vertices `faces` (F, 3), `finish` index into
    `finishes`, `person` index into the stage's people, `light` index into `emitters` (NOBODY where none).

    `haze` is (extinction, g, albedo) inside the box `low` to `high`, None in clear air.
    """

    vertices: NDArray[np.float32]
    normals: NDArray[np.float32]
    faces: NDArray[np.uint32]
    finish: NDArray[np.int64]
    person: NDArray[np.int64]
    light: NDArray[np.int64]
    finishes: tuple[Finish, ...]
    emitters: tuple[Emitter, ...]
    daylight: Daylight | None
    portals: tuple[Portal, ...]
    haze: Air | None
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    @property
    def names(self) -> tuple[str, ...]:
        """The layers: the emitters, then the sun and the sky if there is daylight."""
        return tuple(e.name for e in self.emitters) + (("sun", "sky") if self.daylight else ())

    @property
    def flash(self) -> tuple[bool, ...]:
        """Which layers count in lux seconds."""
        return tuple(e.kind == "flash" for e in self.emitters) + ((False, False) if self.daylight else ())


@dataclass(frozen=True)
class Piece:
    """A mesh with the finish itself, not its name, and whose it is."""

    mesh: Mesh
    finish: Finish
    person: int = NOBODY
    light: int = NOBODY


def assemble(
    pieces: Iterable[Piece],
    emitters: tuple[Emitter, ...],
    daylight: Daylight | None = None,
    portals: tuple[Portal, ...] = (),
    haze: Air | None = None,
    box: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None,
) -> Scene:
    """One scene of pieces and lights, each light with its black body; `box` bounds the haze. Place frame [m]."""
    black = Finish(_BLACK, flat(0.0))
    everything = list(pieces)
    everything += [Piece(emitter_mesh(e), black, light=k) for k, e in enumerate(emitters)]
    finishes: dict[str, int] = {}
    kept: list[Finish] = []
    vertices: list[NDArray[np.float64]] = []
    normals: list[NDArray[np.float64]] = []
    faces: list[NDArray[np.int64]] = []
    tables: list[NDArray[np.int64]] = []
    count = 0
    for piece in everything:
        if len(piece.mesh.faces) == 0:
            continue
        if piece.finish.name not in finishes:
            finishes[piece.finish.name] = len(kept)
            kept.append(piece.finish)
        corners, around, index = _shaded(piece.mesh)
        vertices.append(corners)
        normals.append(around)
        faces.append(index + count)
        count += len(corners)
        tables.append(np.tile([finishes[piece.finish.name], piece.person, piece.light], (len(index), 1)))
    table = np.concatenate(tables) if tables else np.zeros((0, 3), np.int64)
    empty = np.zeros((0, 3))
    low, high = box if box is not None else (np.zeros(3), np.zeros(3))
    return Scene(
        vertices=np.concatenate(vertices or [empty]).astype(np.float32),
        normals=np.concatenate(normals or [empty]).astype(np.float32),
        faces=np.concatenate(faces or [empty.astype(np.int64)]).astype(np.uint32),
        finish=table[:, 0],
        person=table[:, 1],
        light=table[:, 2],
        finishes=tuple(kept),
        emitters=emitters,
        daylight=daylight,
        portals=portals,
        haze=haze if haze is not None and haze.extinction > 0 else None,
        low=np.asarray(low, float),
        high=np.asarray(high, float),
    )


def sheet_piece(sheet: Sheet) -> Piece:
    """A panel or scrim as a piece with its own grey finish."""
    finish = Finish(
        f"sheet {sheet.reflectance:g} {sheet.diffuse:g} {sheet.straight:g}",
        flat(sheet.reflectance),
        straight=sheet.straight,
        diffuse=sheet.diffuse,
    )
    return Piece(panel_mesh(np.array(sheet.at), np.array(sheet.axis), np.array(sheet.up), sheet.size), finish)


def thing_piece(thing: Thing, finish: Finish, person: int = NOBODY) -> Piece:
    """A thing of the place or of a person with its finish looked up."""
    return Piece(thing.mesh, finish, person)


def _shaded(mesh: Mesh) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Vertices, normals and faces: normals averaged over neighbours when smooth, else a flat face each."""
    corners = mesh.vertices[mesh.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    if not mesh.smooth:
        normals = np.repeat(_unit(cross), 3, axis=0)
        return corners.reshape(-1, 3), normals, np.arange(3 * len(mesh.faces)).reshape(-1, 3)
    summed = np.zeros_like(mesh.vertices, dtype=float)
    for k in range(3):
        np.add.at(summed, mesh.faces[:, k], cross)
    return mesh.vertices, _unit(summed), mesh.faces


def _unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    size = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(size > 1e-20, vectors / np.maximum(size, 1e-20), np.array([0.0, 0.0, 1.0]))
