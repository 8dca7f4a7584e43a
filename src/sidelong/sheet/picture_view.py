"""The picture's frame as the lens fills it: everyone's outline, and beside each face the blur ring in true size.

The drawing is in metres on the film, upright, from the film's centre.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.blur import blur
from sidelong.lens.coverage import dark_corners, in_image_circle
from sidelong.lens.geometry import LensGeometry, geometry_of
from sidelong.people.eyes import eyes, face
from sidelong.people.figure import figure
from sidelong.people.values import Person
from sidelong.plan.values import FocusPlan, PointFocus, ShotPlan
from sidelong.sheet.drawing import Drawing, Line, Pen, Point, Polygon, Shape, Text, rectangle
from sidelong.sheet.naming import on_drawing
from sidelong.sheet.silhouette import silhouettes

Points = NDArray[np.float64]

_MARGIN, _NOTE = 0.02, 0.055
"""White around the frame, and the strip for words under it, as shares of the film's width. [-]"""
_LARGE = 0.45
"""A ring of more than this share of the frame's height is drawn about the face, not beside it. [-]"""
_SMALL = 0.012
"""A ring of less than this share of the frame's height gets ticks around it. [-]"""
_FACE_BREADTH = 0.55
"""How far from the eyes a head reaches to the side, over the face's height; drawn only. [-]"""
_FACE = 0.22
"""Height of a face from chin to crown, where the figure does not say; common practice, no source. [m]"""
RING_OF_WANTED: dict[str, Pen] = {"sharp": "sharp ring", "soft": "soft ring", "free": "ring"}


def picture_of_shot(plan: ShotPlan) -> Drawing:
    """The frame with everyone in it as an outline, nearer ones over those behind; blur rings of true size and
    direction beside the faces, with their major axis in micrometres; the image circle where it cuts into the frame.
    [m on the film]"""
    film, focus = plan.shot.body.film, plan.focus
    glass = geometry_of(focus.setting)
    people = {p.name: p for p in plan.shoot.people}
    seen = [p for p in focus.points if p.image is not None and p.in_picture]
    seen.sort(key=lambda p: -float(focus.frame.to_body(np.array(p.at))[2]))
    frame = rectangle(-film.width / 2, -film.height / 2, film.width / 2, film.height / 2, "frame")
    shapes: list[Shape] = []
    rings: list[Shape] = []
    for point in seen:
        person = people.get(point.name)
        if person is not None:
            shapes += _person(focus, glass, person, (film.width, film.height))
        rings += _ring(plan, point, _face_height(glass, focus, person, point))
    shapes += _circle(plan, glass)
    margin = _MARGIN * film.width
    left, bottom = -film.width / 2 - margin, -film.height / 2 - margin - _NOTE * film.width
    note = Text((0.0, bottom + 0.5 * _NOTE * film.width), _missing(plan, seen), "note", fixed=True)
    box = (left, bottom, -left, film.height / 2 + margin)
    return Drawing("The picture, blur rings in true size", (*shapes, frame, *rings, note), box)


def _person(focus: FocusPlan, glass: LensGeometry, person: Person, frame: tuple[float, float]) -> list[Shape]:
    """A figure's outline on the film, made of the rays through the pupil's middle."""
    triangles = []
    for thing in figure(person):
        body = focus.frame.to_body(thing.mesh.vertices)
        image = blur(glass, body).image
        corners = image[thing.mesh.faces]
        ahead = np.all(body[:, 2][thing.mesh.faces] > 2 * glass.focal_length, axis=1)
        inside = np.all(np.isfinite(corners), axis=(1, 2)) & ahead
        triangles.append(corners[inside])
    outlines = silhouettes(np.concatenate(triangles), frame)
    return [Polygon(outline, "outline") for outline in outlines]


def _face_height(glass: LensGeometry, focus: FocusPlan, person: Person | None, point: PointFocus) -> float:
    """Height of a face on the film; nought for a mark. [m]"""
    if person is None:
        return 0.0
    named = face(person)
    top = np.array(eyes(person)) + (np.array(named["forehead"]) - np.array(named["chin"]))
    ends = blur(glass, focus.frame.to_body(np.array([named["chin"], top]))).image
    height = float(np.linalg.norm(ends[1] - ends[0]))
    depth = float(focus.frame.to_body(np.array(point.at))[2])
    return height if math.isfinite(height) else _FACE * glass.film_distance / depth


def _ring(plan: ShotPlan, point: PointFocus, face_height: float) -> list[Shape]:
    """The blur ellipse and its words. A small one stands beside the face, on the side where there is more room."""
    if point.image is None or point.blur_major is None or point.blur_minor is None:
        return []
    film, (x, y) = plan.shot.body.film, point.image
    major, minor = point.blur_major, point.blur_minor
    pen = RING_OF_WANTED[point.wanted]
    size = f"{major * 1e6:,.0f} µm" if major >= 0.5e-6 else "under 1 µm"
    words = f"{on_drawing(plan.shoot, point.name, point.wanted)} {size}"
    shapes: list[Shape] = []
    if point.kind == "mark":
        arm = 0.006 * film.width
        shapes += [Line(((x - arm, y - arm), (x + arm, y + arm)), "mark")]
        shapes += [Line(((x - arm, y + arm), (x + arm, y - arm)), "mark")]
    centre, large = (x, y), major > _LARGE * film.height
    if not large:
        aside = _FACE_BREADTH * face_height + 0.5 * major + 0.012 * film.width
        centre = (x + aside if x <= 0.3 * film.width else x - aside, y)
    shapes.append(Polygon(ellipse(centre, major, minor, point.blur_angle or 0.0), pen))
    if major < _SMALL * film.height:
        shapes += _ticks(centre, 0.5 * major + 0.004 * film.height, 0.008 * film.height, pen)
    clear = 0.0 if large else 0.5 * major + (0.012 * film.height if major < _SMALL * film.height else 0.0)
    return [*shapes, Text(centre, words, pen, clear=clear, strong=point.wanted == "sharp")]


def _ticks(at: Point, inner: float, length: float, pen: Pen) -> list[Shape]:
    """Four short lines around a ring that is hard to see, so that it is found. [m on the film]"""
    ways = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
    outer = inner + length
    return [
        Line(((at[0] + inner * x, at[1] + inner * y), (at[0] + outer * x, at[1] + outer * y)), pen) for x, y in ways
    ]


def ellipse(centre: Point, major: float, minor: float, angle: float) -> tuple[Point, ...]:
    """Corners of an ellipse of full axes, its major one at an angle from x towards y [rad]."""
    turn = np.linspace(0.0, 2.0 * math.pi, 72, endpoint=False)
    along, across = 0.5 * major * np.cos(turn), 0.5 * minor * np.sin(turn)
    c, s = math.cos(angle), math.sin(angle)
    return tuple(
        (float(u), float(v))
        for u, v in zip(centre[0] + along * c - across * s, centre[1] + along * s + across * c, strict=True)
    )


def _circle(plan: ShotPlan, glass: LensGeometry) -> list[Shape]:
    """The edge of the image circle inside the frame; nothing where the lens states none or the frame lies in it."""
    film, lens = plan.shot.body.film, plan.focus.setting.lens
    if lens.image_circle is None:
        return []
    half = np.array([film.width, film.height]) / 2
    middle = np.zeros(2)
    if not dark_corners(plan.focus.setting, film) or not bool(in_image_circle(lens, glass, middle)):
        return []
    turn = np.linspace(0.0, 2.0 * math.pi, 181)
    ways = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    near, far = np.zeros(len(turn)), np.full(len(turn), 4.0 * film.diagonal)
    for _ in range(40):
        tried = (near + far) / 2
        lit = in_image_circle(lens, glass, ways * tried[:, None])
        near, far = np.where(lit, tried, near), np.where(lit, far, tried)
    edge = ways * near[:, None]
    inside = np.all(np.abs(edge) <= half, axis=1)
    runs = np.split(np.arange(len(edge)), np.flatnonzero(np.diff(inside.astype(int))) + 1)
    drawn = [edge[run] for run in runs if inside[run[0]] and len(run) > 1]
    return [Line(tuple((float(x), float(y)) for x, y in part), "image circle") for part in drawn]


def _missing(plan: ShotPlan, seen: list[PointFocus]) -> str:
    """The film's size and who of those named is not in the picture, in words."""
    film = plan.shot.body.film
    there = {p.name for p in seen}
    out = [p.name for p in plan.focus.points if p.wanted != "free" and p.name not in there]
    size = f"{film.width * 1e3:g} x {film.height * 1e3:g} mm"
    limit = f"limit {plan.focus.blur_limit * 1e6:.0f} µm"
    return f"{size}, {limit}" + (f"; not in the picture: {', '.join(out)}" if out else "")
