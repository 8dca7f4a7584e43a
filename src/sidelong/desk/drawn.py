"""From a composed shoot to what the page draws."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sidelong.desk.drawn_kit import drawn_kit
from sidelong.desk.drawn_shot import drawn_shot
from sidelong.desk.messages_drawn import (
    Drawn,
    DrawnBlock,
    DrawnMark,
    DrawnOpening,
    DrawnPerson,
    DrawnPlace,
    DrawnRoom,
)
from sidelong.desk.swatch import cloth_colour, finish_colour
from sidelong.people.eyes import eyes
from sidelong.people.outfits import OUTFITS
from sidelong.people.stand_in import pick
from sidelong.people.values import Person
from sidelong.place.cells import WALLS, opening_box
from sidelong.place.values import Block, MeshFile, Opening, Place, Room, Sky, Vector
from sidelong.sheet.cut import convex_outline, plan_cut
from sidelong.sheet.drawing import Circle, Polygon
from sidelong.sheet.symbols import person_from_above
from sidelong.sheet.walls import block_corners, mesh_corners
from sidelong.shoot.model import ShootFile
from sidelong.shoot.values import Shoot


def drawn(shoot: Shoot, model: ShootFile) -> Drawn:
    """The whole shoot as the page draws it; `model` tells which camera is aimed at somebody by name."""
    return Drawn(
        title=shoot.title,
        client=shoot.client,
        brief=shoot.brief,
        imperial=shoot.imperial,
        place=_place(shoot.place),
        people=[drawn_person(p) for p in shoot.people],
        marks=[DrawnMark(name=m.name, at=m.at) for m in shoot.marks],
        shots=[drawn_shot(shoot, shot, table) for shot, table in zip(shoot.shots, model.shots, strict=True)],
        kit=drawn_kit(shoot),
    )


def _place(place: Place) -> DrawnPlace:
    return DrawnPlace(
        latitude=math.degrees(place.latitude),
        longitude=math.degrees(place.longitude),
        timezone=place.timezone,
        north_deg=math.degrees(place.north),
        sky=_sky(place.sky),
        rooms=[_room(room) for room in place.rooms],
        blocks=[_block(block) for block in place.blocks],
        meshes=[_mesh(mesh) for mesh in place.meshes],
    )


def _sky(sky: Sky) -> str:
    return sky.kind if sky.kind != "clear" else f"clear, turbidity {sky.turbidity:g}"


def _room(room: Room) -> DrawnRoom:
    return DrawnRoom(
        name=room.name,
        at=room.at,
        size=room.size,
        thickness=room.thickness,
        openings=[_opening(room, opening) for opening in room.openings],
    )


def _opening(room: Room, opening: Opening) -> DrawnOpening:
    axis, _ = WALLS[opening.wall]
    box = opening_box(room, opening)
    first, second = (k for k in range(3) if k != axis)
    corners = []
    for i, j in ((0, 0), (1, 0), (1, 1), (0, 1)):
        corner = box[0].copy()
        corner[first], corner[second] = box[i, first], box[j, second]
        corners.append((float(corner[0]), float(corner[1]), float(corner[2])))
    return DrawnOpening(name=opening.name, wall=opening.wall, kind=opening.kind, corners=corners)


def _block(block: Block) -> DrawnBlock:
    return _standing(block, block.kind, block.size, block_corners(block))


@lru_cache(maxsize=256)
def _mesh(mesh: MeshFile) -> DrawnBlock:
    # what is wrong with its file is told by the check, the picture and the book; here it is a point
    corners = mesh_corners(mesh)
    corners = np.array([mesh.at], float) if corners is None else corners
    c, s = math.cos(mesh.turn), math.sin(mesh.turn)
    own = (corners - np.array(mesh.at)) @ np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    across, deep, high = (float(v) for v in np.ptp(own, axis=0))
    return _standing(mesh, "mesh", (across, deep, high), corners)


def _standing(thing: Block | MeshFile, kind: str, size: Vector, corners: NDArray[np.float64]) -> DrawnBlock:
    return DrawnBlock(
        name=thing.name,
        kind=kind,
        at=thing.at,
        size=size,
        turn_deg=math.degrees(thing.turn),
        outline=list(convex_outline(plan_cut(0.0).project_all(corners))),
        bottom=float(corners[:, 2].min()),
        top=float(corners[:, 2].max()),
        colour=finish_colour(thing.finish),
    )


def drawn_person(person: Person) -> DrawnPerson:
    """Somebody as the page draws them."""
    outfit = OUTFITS.get(person.clothes, OUTFITS["workwear"])
    worn = outfit.apron or outfit.top_cloth
    cloth = worn[pick(person.name, len(worn), "apron" if outfit.apron else "top")]
    return DrawnPerson(
        name=person.name,
        at=person.at,
        eyes=eyes(person),
        facing_deg=math.degrees(math.pi / 2 - person.facing) % 360.0,
        pose=person.pose,
        height=person.height,
        outline=_outline(person),
        skin=cloth_colour(f"skin {person.skin}"),
        clothes=cloth_colour(cloth),
    )


def _outline(person: Person) -> list[tuple[float, float]]:
    """The hull of body and head from above. [m]"""
    points: list[tuple[float, float]] = []
    for shape in person_from_above(person, "person"):
        if isinstance(shape, Polygon):
            points += shape.points
        elif isinstance(shape, Circle):
            turns = np.linspace(0, 2 * math.pi, 16, endpoint=False)
            (x, y), r = shape.centre, shape.radius
            points += [(x + r * math.cos(t), y + r * math.sin(t)) for t in turns]
    return list(convex_outline(points))
