"""What stands in one shot alone, for the live view: the fronts of its lights, its panels, scrims, nets and flags.

The very meshes that a picture is traced from. What hangs in openings is in the scene of the place, where it is the
same in every shot.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sidelong.desk.scene import base_colour, covers
from sidelong.desk.scene_gltf import Paint, Part, Skin, glb
from sidelong.geometry.mesh import Mesh
from sidelong.light.patterns import is_ball
from sidelong.light.values import Emitter, Vector
from sidelong.place.containment import room_at
from sidelong.place.values import Place
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.scene import Piece, bodies, sheet_piece, tables
from sidelong.trace.stand_ins import emitter_mesh
from sidelong.trace.values import Sheet

_DARKEST = 1e-3


def shot_glb(shoot: Shoot, shot: Shot, balance: float = 5500.0) -> bytes:
    """Lights and sheets of a shot as one .glb, in the frame and the form of `scene_glb`.

    A node's extras: `kind` ("front", "sheet"), and `open`, the shares of sky and ground that it sees: those of open
    ground, nought in a room. A front is named "front of" its light.
    """
    return glb(tuple(_parts(shoot, shot, balance)), f"{shoot.title}: {shot.id}")


def front_name(light: str) -> str:
    """The name of the part of the scene that is a light's front."""
    return f"front of {light}"


def front_area(emitter: Emitter) -> float:
    """What a light shows of itself, seen along its axis. [m2]"""
    if is_ball(emitter):
        return float(np.pi * (emitter.size[0] / 2) ** 2)
    return _area(emitter_mesh(emitter))


def _area(mesh: Mesh) -> float:
    corners = mesh.vertices[mesh.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return float(np.linalg.norm(cross, axis=1).sum() / 2)


def _parts(shoot: Shoot, shot: Shot, balance: float) -> Iterator[Part]:
    stage = stage_at_full_power(shoot, shot)
    for emitter in stage.emitters:
        paint = Paint("light's body", (_DARKEST,) * 3)
        skins = tuple(_skin(piece, paint) for piece in bodies((emitter,)))
        yield Part(front_name(emitter.name), skins, _extras(shoot.place, "front", emitter.at))
    hung = list(covers(shoot).values())
    count: dict[str, int] = {}
    for sheet in stage.sheets:
        if any(np.allclose(sheet.at, other.at) for other in hung):
            continue
        count[sheet.name] = count.get(sheet.name, 0) + 1
        name = sheet.name if count[sheet.name] == 1 else f"{sheet.name} {count[sheet.name]}"
        piece = sheet_piece(sheet)
        paint = _paint(name, sheet, base_colour(piece.finish, balance))
        yield Part(name, (_skin(piece, paint),), _extras(shoot.place, "sheet", sheet.at))


def _paint(name: str, sheet: Sheet, colour: tuple[float, float, float]) -> Paint:
    """What is seen of a sheet, what it holds back, and what it gives on from behind, over what it gives back."""
    seen = max(*colour, _DARKEST)
    lifted = tuple(max(c, _DARKEST) for c in colour)
    return Paint(
        name, (lifted[0], lifted[1], lifted[2]), max(0.0, 1.0 - sheet.straight),
        max(0.0, 1.0 - sheet.straight - sheet.diffuse), sheet.diffuse / seen,
    )  # fmt: skip


def _skin(piece: Piece, paint: Paint) -> Skin:
    made = tables([piece])
    return Skin(made.vertices.astype(float), made.normals.astype(float), made.faces.astype(np.int64), paint, 0)


def _extras(place: Place, kind: str, at: Vector) -> dict[str, object]:
    indoors = room_at(place, at) is not None
    return {"kind": kind, "open": [0.0, 0.0] if indoors else [0.5, 0.5]}
