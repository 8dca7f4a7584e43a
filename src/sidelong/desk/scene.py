"""The place and its people as the page draws them: the very meshes that a picture is traced from, with their colours.

What does not change while somebody drags: one binary glTF a shoot, made once for the same place and people. Large
flat faces come in small pieces, so that light worked out at their corners follows them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.colour.adapt import balance_matrix, spectrum_xyz
from sidelong.colour.encode import XYZ_TO_RGB
from sidelong.desk.scene_gltf import Paint, Part, Skin, glb
from sidelong.geometry.mesh import Thing
from sidelong.people import cloth
from sidelong.people.eyes import eyes
from sidelong.people.figure import figure
from sidelong.place.openings import opening_frame
from sidelong.place.shell import things
from sidelong.place.values import Room
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.values import Shoot
from sidelong.spectra import finishes
from sidelong.spectra.grids import on_grid
from sidelong.spectra.illuminants import by_temperature
from sidelong.spectra.values import Finish, Spectrum
from sidelong.trace.kept import Kept
from sidelong.trace.scene import sheet_piece, tables, thing_piece
from sidelong.trace.values import Sheet

Array = NDArray[np.float64]

EDGE = 0.4
"""Faces of the place are cut until no edge is longer, [m]"""
OUTER_EDGE = 1.6
"""Those outside of every room, where there are rooms: seen through a door at most. [m]"""
_MOST_CUTS = 32
_AT_HAND = 0.02
"""How far from the middle of an opening what hangs in it may be. [m]"""
_NEAR = 30.0
"""Faces farther than this from every room and person stay whole. [m]"""
_KEPT: Kept[object, tuple[Part, ...]] = Kept()
_FILES: Kept[object, bytes] = Kept()


def scene_glb(shoot: Shoot, balance: float = 5500.0) -> bytes:
    """Place and people of a shoot as one .glb; nodes named as in the shoot, base colours linear sRGB of each
    finish's reflectance under a `balance` [K]. y is up: (x, y, z) of the place is (x, z, -y).

    A node's extras: `kind` ("person", "block", "mesh", "room", "opening", "cover", "ground"), and for people `eyes`
    (3,) place frame [m]. A primitive's: `first`, where its vertices begin in `scene_shade`.

    Raises
    ------
    InputFault, FileFault
        A finish or kind is not known; a mesh cannot be read.
    """
    parts = scene_parts(shoot, balance)
    return _FILES.of((parts,), lambda: glb(parts, shoot.title))


def scene_parts(shoot: Shoot, balance: float = 5500.0) -> tuple[Part, ...]:
    """What stands in the place, then the people: the same value as long as the shoot's place and people are."""
    key = (shoot.place, shoot.people, balance, _changed(shoot), _hung(shoot))
    return _KEPT.of(key, lambda: tuple(_parts(shoot, balance)), lambda one, other: bool(one == other))


def covers(shoot: Shoot) -> dict[str, Sheet]:
    """The scrims and gels that hang in openings, by the name of the opening."""
    found = {}
    for shot in shoot.shots[:1]:
        hung = stage_at_full_power(shoot, shot).sheets
        for room in shoot.place.rooms:
            for opening in room.openings:
                middle = np.array(opening_frame(room, opening)[0])
                near = [s for s in hung if opening.cover and np.linalg.norm(np.array(s.at) - middle) < _AT_HAND]
                if near:
                    found[opening.name] = near[0]
    return found


def base_colour(finish: Finish, balance: float) -> tuple[float, float, float]:
    """Linear sRGB of a surface lit by the light that a balance [K] turns neutral, within 0..1. [-]"""
    light = by_temperature(balance)
    seen = Spectrum(light.wavelengths, on_grid(light) * np.interp(
        light.wavelengths, finish.reflectance.wavelengths, finish.reflectance.values
    ))  # fmt: skip
    # a light of one lumen: a white surface has Y = 1
    red, green, blue = np.clip(XYZ_TO_RGB @ balance_matrix(balance) @ spectrum_xyz(seen), 0.0, 1.0)
    return float(red), float(green), float(blue)


def _hung(shoot: Shoot) -> tuple[object, ...]:
    """What tells the covers of one shoot from those of another."""
    return tuple((name, sheet.reflectance, sheet.diffuse, sheet.straight) for name, sheet in covers(shoot).items())


def _changed(shoot: Shoot) -> tuple[tuple[str, int, int], ...]:
    """Size and time of every mesh file, so that one edited meanwhile is read again."""
    found = []
    for mesh in shoot.place.meshes:
        path = Path(mesh.path)
        if path.exists():
            found.append((mesh.path, path.stat().st_size, path.stat().st_mtime_ns))
    return tuple(found)


def _parts(shoot: Shoot, balance: float) -> Iterator[Part]:
    kinds = _kinds(shoot)
    first = 0
    standing: dict[str, list[Thing]] = {}
    for thing in things(shoot.place):
        standing.setdefault(thing.owner or thing.name, []).append(thing)
    for name, own in standing.items():
        worn = [(t, finishes.finish(t.finish)) for t in own]
        part = _part(name, worn, {"kind": kinds.get(name, "block")}, first, (balance, shoot.place.rooms))
        first += sum(len(s.vertices) for s in part.skins)
        yield part
    for name, sheet in covers(shoot).items():
        part = _cover(name, sheet, first)
        first += sum(len(s.vertices) for s in part.skins)
        yield part
    for person in shoot.people:
        extras = {"kind": "person", "eyes": [float(v) for v in eyes(person)]}
        dressed = [(t, cloth.finish(t.finish)) for t in figure(person)]
        part = _part(person.name, dressed, extras, first, (balance, shoot.place.rooms))
        first += sum(len(s.vertices) for s in part.skins)
        yield part


def _cover(name: str, sheet: Sheet, first: int) -> Part:
    piece = sheet_piece(sheet)
    made = tables([piece])
    paint = Paint(f"cover of {name}", base_colour(piece.finish, 5500.0), max(0.0, 1.0 - sheet.straight))
    vertices, normals, faces = _cut(
        made.vertices.astype(float), made.normals.astype(float), made.faces.astype(np.int64)
    )
    return Part(f"cover of {name}", (Skin(vertices, normals, faces, paint, first),), {"kind": "cover"})


def _kinds(shoot: Shoot) -> dict[str, str]:
    place = shoot.place
    kinds = {o.name: "opening" for room in place.rooms for o in room.openings}
    kinds |= {room.name: "room" for room in place.rooms}
    kinds |= {mesh.name: "mesh" for mesh in place.meshes}
    return kinds | {"ground": "ground"}


def _part(
    name: str,
    own: list[tuple[Thing, Finish]],
    extras: Mapping[str, Any],
    first: int,
    seen: tuple[float, tuple[Room, ...]],
) -> Part:
    """One node: the things of one owner, those of one finish together; `seen` under a balance [K], in these rooms."""
    balance, rooms = seen
    together: dict[str, list[tuple[Thing, Finish]]] = {}
    for thing, finish in own:
        together.setdefault(finish.name, []).append((thing, finish))
    skins = []
    for group in together.values():
        made = tables(thing_piece(thing, finish) for thing, finish in group)
        if len(made.faces) == 0:
            continue
        finish = group[0][1]
        vertices, normals, faces = _cut(
            made.vertices.astype(float), made.normals.astype(float), made.faces.astype(np.int64), rooms
        )
        covers = max(0.0, 1.0 - finish.straight)
        skins.append(Skin(vertices, normals, faces, Paint(finish.name, base_colour(finish, balance), covers), first))
        first += len(vertices)
    return Part(name, tuple(skins), extras)


def _cut(
    vertices: Array, normals: Array, faces: NDArray[np.int64], rooms: tuple[Room, ...] = ()
) -> tuple[Array, Array, NDArray[np.int64]]:
    """Triangles without edges longer than EDGE, outside of every room OUTER_EDGE, halved across their longest edge
    until that is so: where two meet along an edge, both are cut at the same points of it. [m]"""
    corners = vertices[faces]
    longest = _edges(vertices, faces).max(axis=1, initial=0.0)
    limit = np.where(_within(corners.mean(axis=1), rooms), EDGE, OUTER_EDGE)
    limit = np.where(longest > 2 * _NEAR, np.inf, np.maximum(limit, longest / _MOST_CUTS))
    done: list[NDArray[np.int64]] = []
    while len(faces):
        edges = _edges(vertices, faces)
        long = edges.max(axis=1) > limit
        done.append(faces[~long])
        faces, limit, worst = faces[long], limit[long], edges[long].argmax(axis=1)
        one, other, third = (np.take_along_axis(faces, ((worst + k) % 3)[:, None], 1)[:, 0] for k in range(3))
        ends, number = np.unique(np.sort(np.stack([one, other], axis=1), axis=1), axis=0, return_inverse=True)
        middle = len(vertices) + number.reshape(-1)
        vertices = np.concatenate([vertices, vertices[ends].mean(axis=1)])
        normals = np.concatenate([normals, normals[ends].mean(axis=1)])
        faces = np.concatenate([np.stack([one, middle, third], axis=1), np.stack([middle, other, third], axis=1)])
        limit = np.concatenate([limit, limit])
    return vertices, normals, np.concatenate(done) if done else faces


def _edges(vertices: Array, faces: NDArray[np.int64]) -> Array:
    """Lengths (F, 3) of the edges that begin at each corner. [m]"""
    corners = vertices[faces]
    return np.asarray(np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2))


def _within(points: Array, rooms: tuple[Room, ...]) -> NDArray[np.bool_]:
    """Whether points (N, 3) lie in a room or on its faces; all do where there is none."""
    found = np.full(len(points), not rooms)
    for room in rooms:
        low = np.array(room.at) - _AT_HAND
        high = np.array(room.at) + np.array(room.size) + _AT_HAND
        found |= ((points >= low) & (points <= high)).all(axis=1)
    return found
