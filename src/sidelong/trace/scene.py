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
from sidelong.light.plume import Puffs, puffs_of
from sidelong.light.values import Daylight, Emitter
from sidelong.place.values import Air
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.stand_ins import Portal, deflector, emitter_mesh, panel_mesh
from sidelong.trace.values import Sheet

NOBODY = -1
_BLACK = "light's body"


@dataclass(frozen=True)
class Piece:
    """A mesh with the finish itself, not its name, and whose it is."""

    mesh: Mesh
    finish: Finish
    person: int = NOBODY
    light: int = NOBODY


@dataclass(frozen=True)
class Tables:
    """Triangles: `vertices`, `normals` (V, 3) place frame [m, -]; per face three vertices `faces` (F, 3), `facing`
    (F, 3) its unit normal as it lies, `finish` index into `finishes`, `person` index into the stage's people, `light`
    index into the emitters (NOBODY where none).
    """

    vertices: NDArray[np.float32]
    normals: NDArray[np.float32]
    faces: NDArray[np.uint32]
    facing: NDArray[np.float32]
    finish: NDArray[np.int64]
    person: NDArray[np.int64]
    light: NDArray[np.int64]
    finishes: tuple[Finish, ...]


@dataclass(frozen=True)
class Scene:
    """Triangles, the lights' bodies among them, and what shines.

    `haze` is (extinction, g, albedo) inside the box `low` to `high`, None in clear air; `puffs` are denser still.
    """

    solids: Tables
    emitters: tuple[Emitter, ...]
    daylight: Daylight | None
    portals: tuple[Portal, ...]
    haze: Air | None
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    puffs: Puffs | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The layers: the emitters, those of one name together, then the sun and the sky if there is daylight."""
        return tuple(dict.fromkeys(e.name for e in self.emitters)) + (("sun", "sky") if self.daylight else ())

    @property
    def flash(self) -> tuple[bool, ...]:
        """Which layers count in lux seconds."""
        kinds = {e.name: e.kind == "flash" for e in self.emitters}
        return (*kinds.values(), *((False, False) if self.daylight else ()))


def tables(pieces: Iterable[Piece]) -> Tables:
    """The triangles of pieces, one after the other. Place frame [m]."""
    finishes: dict[str, int] = {}
    kept: list[Finish] = []
    empty = np.zeros((0, 3))
    vertices, normals, facing = [empty], [empty], [empty]
    faces, numbers = [empty.astype(np.int64)], [empty.astype(np.int64)]
    count = 0
    for piece in pieces:
        if len(piece.mesh.faces) == 0:
            continue
        if piece.finish.name not in finishes:
            finishes[piece.finish.name] = len(kept)
            kept.append(piece.finish)
        corners, around, index, square = _shaded(piece.mesh)
        vertices.append(corners)
        normals.append(around)
        faces.append(index + count)
        facing.append(square)
        count += len(corners)
        numbers.append(np.tile([finishes[piece.finish.name], piece.person, piece.light], (len(index), 1)))
    table = np.concatenate(numbers)
    return Tables(
        vertices=np.concatenate(vertices).astype(np.float32),
        normals=np.concatenate(normals).astype(np.float32),
        faces=np.concatenate(faces).astype(np.uint32),
        facing=np.concatenate(facing).astype(np.float32),
        finish=table[:, 0],
        person=table[:, 1],
        light=table[:, 2],
        finishes=tuple(kept),
    )


def joined(one: Tables, other: Tables) -> Tables:
    """Both, the second's finishes beside the first's of the same name."""
    names = {f.name: k for k, f in enumerate(one.finishes)}
    new = [f for f in other.finishes if f.name not in names]
    names |= {f.name: len(names) + k for k, f in enumerate(new)}
    renumber = np.array([names[f.name] for f in other.finishes], np.int64)
    return Tables(
        vertices=np.concatenate([one.vertices, other.vertices]),
        normals=np.concatenate([one.normals, other.normals]),
        faces=np.concatenate([one.faces, other.faces + np.uint32(len(one.vertices))]),
        facing=np.concatenate([one.facing, other.facing]),
        finish=np.concatenate([one.finish, renumber[other.finish]]),
        person=np.concatenate([one.person, other.person]),
        light=np.concatenate([one.light, other.light]),
        finishes=(*one.finishes, *new),
    )


def alike(one: Tables, other: Tables) -> bool:
    """Whether two tables hold the same triangles, numbers and very finishes."""
    return one is other or (
        len(one.finishes) == len(other.finishes)
        and all(a.name == b.name for a, b in zip(one.finishes, other.finishes, strict=True))
        and all(
            np.array_equal(getattr(one, name), getattr(other, name))
            for name in ("vertices", "normals", "faces", "finish", "person", "light")
        )
    )


def bodies(emitters: tuple[Emitter, ...]) -> list[Piece]:
    """Each light's black body."""
    black = Finish(_BLACK, flat(0.0))
    lit = [Piece(emitter_mesh(e), black, light=k) for k, e in enumerate(emitters)]
    return [*lit, *(Piece(emitter_mesh(deflector(e)), black) for e in emitters if e.hole > 0)]


def assemble(
    pieces: Iterable[Piece],
    emitters: tuple[Emitter, ...],
    daylight: Daylight | None = None,
    portals: tuple[Portal, ...] = (),
    haze: Air | None = None,
    box: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None,
) -> Scene:
    """One scene of pieces and lights, each light with its black body; `box` bounds the haze. Place frame [m]."""
    return lit(tables([*pieces, *bodies(emitters)]), emitters, daylight, portals, haze, box)


def lit(
    solids: Tables,
    emitters: tuple[Emitter, ...],
    daylight: Daylight | None = None,
    portals: tuple[Portal, ...] = (),
    haze: Air | None = None,
    box: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None,
) -> Scene:
    """A scene of triangles, the lights' bodies among them, with what shines and what hangs in the air."""
    low, high = box if box is not None else (np.zeros(3), np.zeros(3))
    plume = haze.plume if haze is not None else None
    return Scene(
        solids=solids,
        emitters=emitters,
        daylight=daylight,
        portals=portals,
        haze=haze if haze is not None and (haze.extinction > 0 or plume is not None) else None,
        puffs=puffs_of(plume, low, high) if plume is not None else None,
        low=np.asarray(low, float),
        high=np.asarray(high, float),
    )


def sheet_piece(sheet: Sheet) -> Piece:
    """A panel or scrim as a piece with its own finish, grey unless it is given."""
    finish = sheet.finish or Finish(
        f"sheet {sheet.reflectance:g} {sheet.diffuse:g} {sheet.straight:g}",
        flat(sheet.reflectance),
        straight=sheet.straight,
        diffuse=sheet.diffuse,
    )
    return Piece(panel_mesh(np.array(sheet.at), np.array(sheet.axis), np.array(sheet.up), sheet.size), finish)


def thing_piece(thing: Thing, finish: Finish, person: int = NOBODY) -> Piece:
    """A thing of the place or of a person with its finish looked up."""
    return Piece(thing.mesh, finish, person)


def _shaded(
    mesh: Mesh,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Vertices, normals, faces, faces' normals: averaged over neighbours when smooth, else a flat face each."""
    corners = mesh.vertices[mesh.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    square = _unit(cross)
    if not mesh.smooth:
        return (
            corners.reshape(-1, 3),
            np.repeat(square, 3, axis=0),
            np.arange(3 * len(mesh.faces)).reshape(-1, 3),
            square,
        )
    around = mesh.faces.ravel()
    sums = [np.bincount(around, np.repeat(cross[:, k], 3), minlength=len(mesh.vertices)) for k in range(3)]
    summed = np.stack(sums, axis=1).astype(np.float64)
    return mesh.vertices, _unit(summed), mesh.faces, square


def _unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    size = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(size > 1e-20, vectors / np.maximum(size, 1e-20), np.array([0.0, 0.0, 1.0]))
