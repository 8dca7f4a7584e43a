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
        part = _part(name, [(t, finishes.finish(t.finish)) for t in own], {"kind": kinds.get(name, "block")}, first,
                     balance)  # fmt: skip
        first += sum(len(s.vertices) for s in part.skins)
        yield part
    for name, sheet in covers(shoot).items():
        part = _cover(name, sheet, first)
        first += sum(len(s.vertices) for s in part.skins)
        yield part
    for person in shoot.people:
        extras = {"kind": "person", "eyes": [float(v) for v in eyes(person)]}
        worn = [(t, cloth.finish(t.finish)) for t in figure(person)]
        part = _part(person.name, worn, extras, first, balance)
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


def _part(name: str, own: list[tuple[Thing, Finish]], extras: Mapping[str, Any], first: int, balance: float) -> Part:
    """One node: the things of one owner, those of one finish together."""
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
            made.vertices.astype(float), made.normals.astype(float), made.faces.astype(np.int64)
        )
        covers = max(0.0, 1.0 - finish.straight)
        skins.append(Skin(vertices, normals, faces, Paint(finish.name, base_colour(finish, balance), covers), first))
        first += len(vertices)
    return Part(name, tuple(skins), extras)


def _cut(vertices: Array, normals: Array, faces: NDArray[np.int64]) -> tuple[Array, Array, NDArray[np.int64]]:
    """Triangles whose edges are longer than EDGE in n x n smaller ones; the others as they are. [m]"""
    corners = vertices[faces]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1, initial=0.0)
    parts = np.clip(np.ceil(longest / EDGE), 1, _MOST_CUTS).astype(int)
    parts[longest > 2 * _NEAR] = 1
    if (parts == 1).all():
        return vertices, normals, faces
    kept = faces[parts == 1]
    used, inverse = np.unique(kept, return_inverse=True)
    out_v, out_n, out_f = [vertices[used]], [normals[used]], [inverse.reshape(-1, 3).astype(np.int64)]
    count = len(used)
    for n in np.unique(parts[parts > 1]):
        share, small = _lattice(int(n))
        some = faces[parts == n]
        out_v.append(np.einsum("kc,fcx->fkx", share, vertices[some]).reshape(-1, 3))
        out_n.append(np.einsum("kc,fcx->fkx", share, normals[some]).reshape(-1, 3))
        start = count + len(share) * np.arange(len(some))[:, None, None]
        out_f.append((small[None] + start).reshape(-1, 3))
        count += len(share) * len(some)
    return np.concatenate(out_v), np.concatenate(out_n), np.concatenate(out_f)


def _lattice(n: int) -> tuple[Array, NDArray[np.int64]]:
    """Barycentric shares (K, 3) of a triangle cut n times along each side, and the n^2 small triangles."""
    points = [(i, j) for i in range(n + 1) for j in range(n + 1 - i)]
    number = {point: k for k, point in enumerate(points)}
    share = np.array([[n - i - j, i, j] for i, j in points], float) / n
    small = []
    for i in range(n):
        for j in range(n - i):
            small.append([number[i, j], number[i + 1, j], number[i, j + 1]])
            if i + j < n - 1:
                small.append([number[i + 1, j], number[i + 1, j + 1], number[i, j + 1]])
    return share, np.array(small, np.int64)
