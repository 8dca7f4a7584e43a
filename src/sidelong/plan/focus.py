"""A shot's focus: the lens as it must be set, and what that makes of everyone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible, OutOfReach
from sidelong.frames_of_reference import BodyFrame, camera_frame
from sidelong.lens.blur import Blur, blur
from sidelong.lens.coverage import in_image_circle, in_picture
from sidelong.lens.diffraction import airy_of, pixel_pitch
from sidelong.lens.falloff import bellows_stops, falloff_stops
from sidelong.lens.geometry import LensGeometry, geometry_of
from sidelong.lens.live import follow
from sidelong.lens.plane import hinge_distance, hinge_line, plane_of_focus
from sidelong.lens.ring import check_ring, engraved_ring, extension_for
from sidelong.lens.solve import Found, solve_movement, stops_that_do
from sidelong.lens.stop import stop_needed
from sidelong.lens.values import Movement, Setting
from sidelong.lens.wish import Answer, Framing, Wish
from sidelong.plan.bodies import asked
from sidelong.plan.chance import ShotChance, plan_chance
from sidelong.plan.limits import check_limits
from sidelong.plan.order import order_of_work
from sidelong.plan.values import FocusPlan, PartFocus, PointFocus, WishReached
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_marks

Points = NDArray[np.float64]
Wanted = Literal["sharp", "soft", "free"]
NO_CHANCE = ShotChance({}, None, None, None, "")
"""Where chances are not worked out."""


@dataclass(frozen=True)
class _Solved:
    setting: Setting
    focus_on: str
    widest_f: float | None
    widest_f_proved: float | None
    soft_least: float | None
    soft_least_proved: float | None
    found_here: bool


def plan_focus(shoot: Shoot, shot: Shot) -> FocusPlan:
    """The focus of a shot: given movements are used, what is left out is solved.

    Raises
    ------
    OutOfReach
        A point to focus on lies behind the camera, nearer than the ring goes, or past the ring's infinity.
    BeyondMovement
        More movement or shift is stated than the lens has.
    Impossible
        No stop of the lens keeps all the sharp ones within the blur limit, or one is stated that it does not have.
    """
    check_limits(shot)
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    solved = _solve(shoot, shot, frame)
    told = _told(shoot, shot, frame, solved, plan_chance(shoot, frame, solved.setting, shot))
    return _with_order(shoot, shot, told)


def plan_focus_live(shoot: Shoot, shot: Shot) -> FocusPlan:
    """The focus of a shot while somebody drags: as plan_focus, without proofs, chances and order of work. Raises as
    that."""
    check_limits(shot)
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    return _told(shoot, shot, frame, _solve(shoot, shot, frame, prove=False), NO_CHANCE)


def plan_focus_following(shoot: Shoot, shot: Shot, last: Found | None) -> tuple[FocusPlan, Found | None]:
    """plan_focus_live from the movement found a moment ago on, and what to follow next; within lens.live's tolerance.

    `last` is what the answer before gave, of this shot; None to start afresh, and None back where no movement is
    looked for. Raises as plan_focus.
    """
    check_limits(shot)
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    if shot.movement is not None or not shot.sharp:
        return _told(shoot, shot, frame, _solve(shoot, shot, frame, prove=False), NO_CHANCE), None
    _in_body(shoot, frame, (*shot.sharp, *shot.soft))  # nobody of them behind the camera
    wish = wish_of(shoot, shot, frame)
    found = follow(wish, last)
    return _told(shoot, shot, frame, _as_solved(shoot, shot, frame, wish, found.answer), NO_CHANCE), found


def check_focus(shoot: Shoot, shot: Shot) -> None:
    """Nothing if plan_focus will have an answer, found more quickly; else plan_focus's errors."""
    check_limits(shot)
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    if shot.movement is None and shot.sharp:
        wish = wish_of(shoot, shot, frame)
        if shot.least or shot.camera.framing is not None:
            solve_movement(wish, prove=False)
        else:
            stops_that_do(wish)
    else:
        _solve(shoot, shot, frame)


def plan_setting(shoot: Shoot, shot: Shot, setting: Setting) -> FocusPlan:
    """What a setting found elsewhere makes of a shot; focused, in words, on the sharpest of the sharp ones."""
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    all_points = asked(shoot, shot, frame)
    sharp, soft = all_points.sharp, all_points.soft
    glass = geometry_of(setting)
    widest_f = stop_needed(setting, sharp, shot.blur_limit) if len(sharp) else None
    focus_on = _sharpest(shot, glass, _in_body(shoot, frame, shot.sharp))
    solved = _Solved(setting, focus_on, widest_f, None, _least(glass, soft), None, True)
    return _with_order(shoot, shot, _told(shoot, shot, frame, solved, plan_chance(shoot, frame, setting, shot)))


def _with_order(shoot: Shoot, shot: Shot, told: FocusPlan) -> FocusPlan:
    return replace(told, order=order_of_work(shoot, shot, told.setting, told.focus_on, told.points))


def _told(shoot: Shoot, shot: Shot, frame: BodyFrame, solved: _Solved, chances: ShotChance) -> FocusPlan:
    glass = geometry_of(solved.setting)
    target = _target(shoot, shot, frame, solved.focus_on)
    normal, offset = _plane_in_place(glass, frame, target)
    line = hinge_line(glass, target)
    points = _points(shoot, shot, frame, glass, chances.keep)
    reached, parts = _reached(shoot, shot, frame, glass)
    return FocusPlan(
        frame=frame,
        setting=solved.setting,
        axis=glass.axis,
        principal_point=glass.principal,
        film_distance=glass.film_distance,
        ring=engraved_ring(solved.setting),
        plane_normal=normal,
        plane_offset=offset,
        hinge=hinge_distance(glass, target),
        hinge_line=None if line is None else (frame.to_place(line[0]), frame.direction_to_place(line[1])),
        focus_on=solved.focus_on,
        points=points,
        blur_limit=shot.blur_limit,
        bellows_stops=bellows_stops(glass),
        airy=airy_of(glass),
        pixel=pixel_pitch(shot.body.film),
        widest_f=solved.widest_f,
        widest_f_proved=solved.widest_f_proved,
        soft_least=solved.soft_least,
        soft_least_proved=solved.soft_least_proved,
        chance=chances,
        solved=solved.found_here,
        order=(),
        reached=reached,
        parts=parts,
    )


def _solve(shoot: Shoot, shot: Shot, frame: BodyFrame, prove: bool = True) -> _Solved:
    _in_body(shoot, frame, (*shot.sharp, *shot.soft))  # nobody of them behind the camera
    all_points = asked(shoot, shot, frame)
    sharp, soft = all_points.sharp, all_points.soft
    if shot.movement is None and len(sharp):
        return _find_movement(shoot, shot, frame, prove)
    movement = shot.movement or Movement(0.0, 0.0, *shot.rise_shift)
    focus_on = shot.focus_on or (shot.sharp[0] if shot.sharp else "")
    target = _target(shoot, shot, frame, focus_on)
    extension = extension_for(shot.lens, movement, target)
    check_ring(shot.lens, extension)
    first = Setting(shot.lens, movement, extension, shot.f_number or shot.lens.widest)
    widest_f = stop_needed(first, sharp, shot.blur_limit) if len(sharp) else None
    setting = first if shot.f_number else replace(first, f_number=_mark_for(shot, widest_f))
    return _Solved(setting, focus_on, widest_f, None, _least(geometry_of(setting), soft), None, False)


def _target(shoot: Shoot, shot: Shot, frame: BodyFrame, focus_on: str) -> Points:
    """The point (3,) focused on, body frame: a name's, or else where the camera is aimed. [m]"""
    return _in_body(shoot, frame, (focus_on,))[0] if focus_on else frame.to_body(np.array(shot.camera.aim))


def _find_movement(shoot: Shoot, shot: Shot, frame: BodyFrame, prove: bool) -> _Solved:
    wish = wish_of(shoot, shot, frame)
    return _as_solved(shoot, shot, frame, wish, solve_movement(wish, prove))


def _as_solved(shoot: Shoot, shot: Shot, frame: BodyFrame, wish: Wish, answer: Answer) -> _Solved:
    setting = answer.setting
    focus_on = _sharpest(shot, geometry_of(setting), _in_body(shoot, frame, shot.sharp))
    if shot.focus_stated and shot.focus_on and wish.framing is None:
        refocused = _ring_on(shot, setting, _in_body(shoot, frame, (shot.focus_on,))[0])
        if refocused and _keeps(wish, refocused):
            setting, focus_on = refocused, shot.focus_on
    plain = wish.soft[wish.least_blurs <= 0.0] if np.any(wish.least_blurs <= 0.0) else wish.soft
    return _Solved(
        setting,
        focus_on,
        answer.widest_f,
        answer.widest_f_proved,
        _least(geometry_of(setting), plain),
        answer.soft_least_proved,
        True,
    )


def _keeps(wish: Wish, setting: Setting) -> bool:
    """Whether a setting keeps the sharp ones within the limit and the soft ones at their least blurs."""
    glass = geometry_of(setting)
    soft = blur(glass, wish.soft).major
    return bool(
        np.max(blur(glass, wish.sharp).major) <= wish.blur_limit * (1 + 1e-6)
        and np.all(soft >= wish.least_blurs * (1 - 1e-6))
    )


def wish_of(shoot: Shoot, shot: Shot, frame: BodyFrame) -> Wish:
    """What a shot asks of its lens. Those of the sharp ones whom the picture holds must stay in the image circle."""
    points = asked(shoot, shot, frame)
    marks = f_marks(shot.lens.widest, shot.lens.smallest)
    straight = Setting(shot.lens, Movement(0.0, 0.0, *shot.rise_shift), 0.0, shot.lens.widest)
    seen = in_picture(shot.body.film, blur(geometry_of(straight), points.sharp).image)
    return Wish(
        shot.lens,
        points.sharp,
        points.soft,
        shot.blur_limit,
        marks,
        shot.f_number,
        *shot.rise_shift,
        least=points.least,
        bodies=points.bodies,
        framing=_framing(shoot, shot, frame, straight),
        lit=points.sharp[seen],
    )


def _framing(shoot: Shoot, shot: Shot, frame: BodyFrame, straight: Setting) -> Framing | None:
    """The images of the aim and of everyone named, as the straight lens shows them, focused as the shot says."""
    if shot.camera.framing is None:
        return None
    named = _in_body(shoot, frame, tuple(dict.fromkeys((*shot.sharp, *shot.soft))))
    points = np.concatenate([frame.to_body(np.array(shot.camera.aim))[None], named])
    focus = _in_body(shoot, frame, (shot.focus_on,))[0] if shot.focus_on else points[0]
    images = blur(geometry_of(_ring_on(shot, straight, focus) or straight), points).image
    return Framing(points, images, shot.camera.framing * shot.body.film.width)


def _reached(
    shoot: Shoot, shot: Shot, frame: BodyFrame, glass: LensGeometry
) -> tuple[tuple[WishReached, ...], tuple[PartFocus, ...]]:
    """How far each name's wish is met, and the blur of every point of theirs beside the eyes."""
    points = asked(shoot, shot, frame)
    wishes: list[WishReached] = []
    parts: list[PartFocus] = []
    sides: tuple[tuple[Literal["sharp", "soft"], Points, tuple[tuple[str, str], ...]], ...] = (
        ("sharp", points.sharp, points.sharp_of),
        ("soft", points.soft, points.soft_of),
    )
    for wanted, at, of in sides:
        majors = [float(v) for v in blur(glass, at).major]
        parts += [
            PartFocus(name, where, wanted, major)
            for (name, where), major in zip(of, majors, strict=True)
            if where not in ("eyes", "mark")
        ]
        for name in dict.fromkeys(name for name, _ in of):
            own = [major for (who, _), major in zip(of, majors, strict=True) if who == name]
            limit = shot.blur_limit if wanted == "sharp" else shot.least.get(name)
            reached = max(own) if wanted == "sharp" else min(own)
            part = shot.parts.get(name, of[[who for who, _ in of].index(name)][1])
            wishes.append(WishReached(name, wanted, part, limit, reached))
    return tuple(wishes), tuple(parts)


def _sharpest(shot: Shot, glass: LensGeometry, sharp: Points) -> str:
    """The name of the sharpest of the shot's sharp ones; "" when there is none."""
    return shot.sharp[int(np.argmin(blur(glass, sharp).major))] if len(sharp) else ""


def _least(glass: LensGeometry, soft: Points) -> float | None:
    """Least major axis among the soft points [m]; None when there is none."""
    return float(np.min(blur(glass, soft).major)) if len(soft) else None


def _ring_on(shot: Shot, setting: Setting, point: Points) -> Setting | None:
    """The same movement with the ring on a point (3,), body frame [m]; None where the ring does not reach."""
    try:
        extension = extension_for(shot.lens, setting.movement, point)
        check_ring(shot.lens, extension)
    except OutOfReach:
        return None
    return replace(setting, extension=extension)


def _mark_for(shot: Shot, widest_f: float | None) -> float:
    """The widest mark of the lens at which the sharp ones are within the limit, the movement being given.

    Raises
    ------
    Impossible
        None of them is.
    """
    marks = f_marks(shot.lens.widest, shot.lens.smallest)
    fit = [n for n in marks if widest_f is None or n >= widest_f * (1 - 1e-9)]
    if not fit:
        raise Impossible(
            f"with the movement that is given the sharp ones need f/{widest_f:.3g}, and the lens closes only to "
            f"f/{marks[-1]:.3g}",
            {"widest_f": widest_f or 0.0},
            "leave the movement out, to be found, or ask fewer to be sharp",
        )
    return fit[0]


def _in_body(shoot: Shoot, frame: BodyFrame, names: tuple[str, ...]) -> Points:
    points = np.array([point_of(shoot, name) for name in names], float).reshape(-1, 3)
    inside = frame.to_body(points)
    for name, forward in zip(names, inside[:, 2], strict=True):
        if forward <= 0.0:
            raise OutOfReach(
                f'"{name}" is {-forward:.2f} m behind the camera', {"forward_m": float(forward)}, "turn the camera"
            )
    return inside


def _plane_in_place(glass: LensGeometry, frame: BodyFrame, target: Points) -> tuple[Points, float]:
    normal, offset = plane_of_focus(glass, target)
    turned = frame.direction_to_place(normal)
    return turned, offset + float(turned @ frame.at)


def _points(
    shoot: Shoot, shot: Shot, frame: BodyFrame, glass: LensGeometry, keep: Mapping[str, float]
) -> tuple[PointFocus, ...]:
    named: list[tuple[str, Literal["person", "mark"]]] = [(p.name, "person") for p in shoot.people]
    named += [(m.name, "mark") for m in shoot.marks]
    if not named:
        return ()
    at = np.array([point_of(shoot, name) for name, _ in named], float)
    patch = blur(glass, frame.to_body(at))
    with np.errstate(invalid="ignore"):
        inside = in_picture(shot.body.film, patch.image)
        lit = in_image_circle(shot.lens, glass, patch.image)
        dim = falloff_stops(glass, np.nan_to_num(patch.image))
    made = []
    for i, (name, kind) in enumerate(named):
        where = (float(at[i, 0]), float(at[i, 1]), float(at[i, 2]))
        unseen = PointFocus(
            name, kind, where, _wanted(shot, name), None, None, None, None, None, False, False, None, None
        )
        if patch.in_front[i]:
            made.append(
                replace(
                    _imaged(unseen, patch, i, glass),
                    in_picture=bool(inside[i]),
                    in_circle=bool(lit[i]),
                    falloff_stops=float(dim[i]),
                    keep=keep.get(name),
                )
            )
        else:
            made.append(unseen)
    return tuple(made)


def _wanted(shot: Shot, name: str) -> Wanted:
    return "sharp" if name in shot.sharp else "soft" if name in shot.soft else "free"


def _imaged(point: PointFocus, patch: Blur, i: int, glass: LensGeometry) -> PointFocus:
    major = float(patch.major[i])
    return replace(
        point,
        blur_major=major,
        blur_minor=float(patch.minor[i]),
        blur_angle=float(patch.angle[i]),
        blur_at_subject=major * float(patch.depth[i]) / glass.film_distance,
        image=(float(patch.image[i, 0]), float(patch.image[i, 1])),
    )
