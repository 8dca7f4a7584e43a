"""What would make an impossible focus possible: each way is tried before it is offered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible
from sidelong.frames_of_reference import camera_frame
from sidelong.plan.asking_less import as_written, eyes_alone, less_blur_for_soft
from sidelong.plan.focus import check_focus
from sidelong.plan.lenses import obstacle_at
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark, f_marks, metres_in_words

STEPS = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0)
"""How far the camera is tried to the side and back. [m]"""
PARTS = (0.75, 0.5, 0.25, 0.0)
"""What part of a stated movement is tried. [-]"""
_LEFT_OUT = {f"movement.{key}": None for key in ("swing", "tilt", "movement", "rotation")}
_UNSTATED = {f"movement.{key}": None for key in ("movement", "rotation")}


@dataclass(frozen=True)
class WayOut:
    """One way: what to do in `words`, and the same as changes to the shot's keys in the shoot file, None for a key to
    be left out."""

    words: str
    change: dict[str, Any]


Trial = tuple[Shot, WayOut]


def ways_out(shoot: Shoot, shot: Shot, most: int = 4) -> tuple[WayOut, ...]:
    """The ways, least trouble first: a stop, less movement or shift, another lens, a turn of the camera, a step, less
    asked of soft ones and of parts, more blur allowed, fewer sharp; several together where none does it alone.

    Each has been planned and found to work. Empty when none of those tried does.
    """
    found: list[WayOut] = []
    kinds: set[tuple[str, ...]] = set()
    for trial, way in _trials(shoot, shot):
        kind = (*sorted(way.change), *([way.words.split()[-1]] if "camera.at" in way.change else []))
        if kind in kinds or not _works(shoot, trial):
            continue
        kinds.add(kind)
        found.append(way)
        if len(found) == most:
            return tuple(found)
    return tuple(found) or tuple(_together(shoot, shot))


def _works(shoot: Shoot, trial: Shot) -> bool:
    try:
        check_focus(shoot, trial)
    except Impossible:
        return False
    return True


def _trials(shoot: Shoot, shot: Shot) -> Iterator[Trial]:
    yield from _stop_it_has(shoot, shot)
    yield from _shift_it_has(shoot, shot)
    yield from _less_shift(shot)
    yield from _smaller_stops(shot)
    yield from _less_movement(shoot, shot)
    yield from _other_lenses(shoot, shot)
    yield from _turned(shoot, shot)
    yield from _steps(shoot, shot)
    yield from _asking_less(shot)
    yield from _more_blur(shot)
    yield from _fewer(shot)


def _together(shoot: Shoot, shot: Shot) -> Iterator[WayOut]:
    """For shots that more than one thing forbids: one remedy on top of another until one more thing does it."""
    words: list[str] = []
    change: dict[str, Any] = {}
    for remedy in (_stop_it_has, _shift_it_has, _unmoved, _turned, _back):
        tried = next(remedy(shoot, shot), None)
        if tried is None:
            continue
        shot = tried[0]
        words.append(tried[1].words)
        change |= tried[1].change
        for then, more in ((shot, WayOut("", {})), *_trials(shoot, shot)):
            if _works(shoot, then):
                yield WayOut(" and ".join([*words, more.words] if more.words else words), {**change, **more.change})
                return


def _stop_it_has(_: Shoot, shot: Shot) -> Iterator[Trial]:
    """A stop beyond the lens's range, taken to its end."""
    if shot.f_number is None:
        return
    stop = min(max(shot.f_number, shot.lens.widest), shot.lens.smallest)
    if stop != shot.f_number:
        said = "open to" if stop < shot.f_number else "stop down to"
        yield replace(shot, f_number=stop), WayOut(f"{said} f/{f_mark(stop)}", {"aperture": _mark(stop)})


def _shift_it_has(_: Shoot, shot: Shot) -> Iterator[Trial]:
    """Rise and shift beyond the lens's reach, taken to its edge."""
    lens, (rise, shift) = shot.lens, shot.rise_shift
    asked = math.hypot(rise, shift)
    if asked <= lens.shift + 1e-9:
        return
    share = lens.shift / asked
    up, aside = (math.copysign(math.floor(abs(v) * share * 1e5) / 1e2, v) for v in (rise, shift))
    less = (up * 1e-3, aside * 1e-3)
    movement = None if shot.movement is None else replace(shot.movement, rise=less[0], shift=less[1])
    said = f"shift no more than {lens.shift * 1e3:.1f} mm" if lens.shift else "leave rise and shift out"
    change = {"camera.rise": up, "camera.shift": aside}
    yield replace(shot, rise_shift=less, movement=movement), WayOut(said, change)


def _less_shift(shot: Shot) -> Iterator[Trial]:
    """Less rise and shift, where the image circle may end short of somebody."""
    rise, shift = shot.rise_shift
    if shot.lens.image_circle is None or math.hypot(rise, shift) == 0.0:
        return
    for part in PARTS:
        up, aside = (round(v * part * 1e3, 2) for v in (rise, shift))
        less = (up * 1e-3, aside * 1e-3)
        movement = None if shot.movement is None else replace(shot.movement, rise=less[0], shift=less[1])
        words = f"rise and shift {part:.0%} as far" if part else "leave rise and shift out"
        change = {"camera.rise": up, "camera.shift": aside}
        yield replace(shot, rise_shift=less, movement=movement), WayOut(words, change)


def _smaller_stops(shot: Shot) -> Iterator[Trial]:
    if shot.f_number is None:
        return
    for n in f_marks(shot.lens.widest, shot.lens.smallest):
        if n > shot.f_number * 1.001:
            yield replace(shot, f_number=n), WayOut(f"stop down to f/{f_mark(n)}", {"aperture": _mark(n)})


def _mark(f_number: float) -> float:
    return float(f_mark(f_number))


def _less_movement(shoot: Shoot, shot: Shot) -> Iterator[Trial]:
    yield from _unmoved(shoot, shot)
    if shot.movement is None:
        return
    lens, stated = shot.lens, shot.movement
    largest = math.acos(math.cos(stated.swing) * math.cos(stated.tilt))
    parts = [part for part in (lens.movement / largest, *PARTS) if part < 1.0] if largest else []
    for part in parts:
        swing, tilt = (math.floor(math.degrees(abs(v)) * part * 100) / 100 for v in (stated.swing, stated.tilt))
        swing, tilt = math.copysign(swing, stated.swing), math.copysign(tilt, stated.tilt)
        moved = replace(stated, swing=math.radians(swing), tilt=math.radians(tilt))
        words = f"move the lens {part:.0%} as far" if part else "leave the lens straight"
        yield (
            replace(shot, movement=moved),
            WayOut(words, {"movement.swing": swing, "movement.tilt": tilt, **_UNSTATED}),
        )


def _unmoved(_: Shoot, shot: Shot) -> Iterator[Trial]:
    if shot.movement is not None:
        yield replace(shot, movement=None), WayOut("leave the movement out, to be found", _LEFT_OUT)


def _other_lenses(shoot: Shoot, shot: Shot) -> Iterator[Trial]:
    for lens in sorted(shoot.kit.lenses.values(), key=lambda x: abs(x.focal_length - shot.lens.focal_length)):
        if lens.id == shot.lens.id:
            continue
        stop = None if shot.f_number is None else min(max(shot.f_number, lens.widest), lens.smallest)
        same = stop == shot.f_number
        change: dict[str, Any] = {"lens": lens.id} if same else {"lens": lens.id, "aperture": _mark(stop or 0.0)}
        words = f"use {lens.id}" if same else f"use {lens.id} at f/{f_mark(stop or 1.0)}"
        yield replace(shot, lens=lens, f_number=stop), WayOut(words, change)


def _turned(shoot: Shoot, shot: Shot) -> Iterator[Trial]:
    """The camera aimed at the middle of those who shall be sharp, where one of them is not in front of it."""
    points = _sharp(shoot, shot)
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    if np.all(frame.to_body(points)[:, 2] > shot.lens.focal_length):
        return
    aim = tuple(round(float(v), 3) for v in points.mean(axis=0))
    if math.dist(aim[:2], shot.camera.at[:2]) > 1e-2:
        camera = replace(shot.camera, aim=(aim[0], aim[1], aim[2]))
        words = "turn the camera to the middle of those who shall be sharp"
        yield replace(shot, camera=camera), WayOut(words, {"camera.aim": list(aim)})


def _sharp(shoot: Shoot, shot: Shot) -> NDArray[np.float64]:
    """Where those who shall be sharp are (N, 3), place frame; the aim when there is nobody. [m]"""
    named = [point_of(shoot, name) for name in shot.sharp] or [shot.camera.aim]
    return np.array(named, float)


def _back(shoot: Shoot, shot: Shot) -> Iterator[Trial]:
    """A step back that puts everyone who shall be sharp well in front of the camera."""
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    nearest = float(np.min(frame.to_body(_sharp(shoot, shot))[:, 2]))
    for away in (1.0, 2.0, 4.0):
        if nearest < away:
            yield from _stepped(shoot, shot, away - nearest, "back")


def _steps(shoot: Shoot, shot: Shot) -> Iterator[Trial]:
    for step in STEPS:
        for way in ("back", "to the left", "to the right"):
            yield from _stepped(shoot, shot, step, way)


def _stepped(shoot: Shoot, shot: Shot, step: float, words: str) -> Iterator[Trial]:
    """The camera carried along the floor, its aim kept; nothing where it cannot stand."""
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    level = frame.forward * np.array([1.0, 1.0, 0.0])
    way = {"back": -level / np.linalg.norm(level), "to the left": -frame.right, "to the right": frame.right}[words]
    at = [round(float(v), 4) for v in np.array(shot.camera.at) + step * way]
    stand = (at[0], at[1], at[2])
    if obstacle_at(shoot, stand, _sharp(shoot, shot)[0]):
        return
    said = f"step the camera {metres_in_words(step, shoot.imperial)} {words}"
    yield replace(shot, camera=replace(shot.camera, at=stand)), WayOut(said, {"camera.at": at})


def _asking_less(shot: Shot) -> Iterator[Trial]:
    for asked, words, change in (*less_blur_for_soft(shot), *eyes_alone(shot)):
        yield asked, WayOut(words, change)


def _more_blur(shot: Shot) -> Iterator[Trial]:
    for factor in (1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0):
        limit = round(shot.blur_limit * factor * 1e6, 3)
        yield (
            replace(shot, blur_limit=limit * 1e-6),
            WayOut(f"allow {limit:.0f} micrometres of blur", {"blur_limit": limit}),
        )


def _fewer(shot: Shot) -> Iterator[Trial]:
    for name in reversed(shot.sharp) if len(shot.sharp) > 1 else ():
        rest = tuple(n for n in shot.sharp if n != name)
        focus_on = shot.focus_on if shot.focus_stated else rest[0]
        yield (
            replace(shot, sharp=rest, focus_on=focus_on),
            WayOut(f"let {name} go soft", {"sharp": as_written(shot, rest)}),
        )
