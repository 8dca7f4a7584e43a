"""The focus of shots, each found once for as long as what it rests on stays."""

from __future__ import annotations

from typing import Any

from sidelong.desk.cuts import Sight, bounds_of, cuts_of, widened
from sidelong.desk.kept import Kept
from sidelong.desk.messages import WayOutOf
from sidelong.desk.refused import ShotRefused
from sidelong.errors import Impossible
from sidelong.lens.geometry import geometry_of
from sidelong.plan.alternatives import plan_alternatives
from sidelong.plan.focus import plan_focus
from sidelong.plan.focus_answer import focus_answer
from sidelong.plan.sureness import plan_sureness
from sidelong.plan.values import FocusPlan
from sidelong.plan.ways_out import ways_out
from sidelong.shoot.values import Shoot, Shot


class FocusRoom:
    """Plans and answers by what they rest on. Every method may be called from any thread."""

    def __init__(self) -> None:
        self._plans: Kept[FocusPlan | ShotRefused] = Kept(64)
        self._answers: Kept[dict[str, Any]] = Kept(64)

    def plan(self, shoot: Shoot, shot: Shot, key: str) -> FocusPlan:
        """The focus of a shot; `key` names what it rests on.

        Raises
        ------
        ShotRefused
            It cannot be had; with the ways out that were tried and work.
        """
        found = self._plans.of(key, lambda: _planned(shoot, shot))
        if isinstance(found, ShotRefused):
            raise ShotRefused(found.refusal.words, found.refusal.ways_out)
        return found

    def answer(self, shoot: Shoot, shot: Shot, key: str) -> dict[str, Any]:
        """A shot of `sidelong focus --json`, with its cuts. Raises ShotRefused."""
        planned = self.plan(shoot, shot, key)
        return self._answers.of(key, lambda: _answered(shoot, shot, planned))


def _planned(shoot: Shoot, shot: Shot) -> FocusPlan | ShotRefused:
    try:
        return plan_focus(shoot, shot)
    except Impossible as error:
        return refused(shoot, shot, error)


def refused(shoot: Shoot, shot: Shot, error: Impossible) -> ShotRefused:
    """Why a shot cannot be had, and what would do: every way out is planned, which takes a moment."""
    ways = [WayOutOf(words=way.words, change=way.change) for way in ways_out(shoot, shot)]
    return ShotRefused(str(error), ways)


def _answered(shoot: Shoot, shot: Shot, planned: FocusPlan) -> dict[str, Any]:
    sure = plan_sureness(shoot, shot, planned)
    others = plan_alternatives(shoot, shot, planned, sure.chance.together)
    return {**focus_answer(shot, planned, sure, others), "cuts": cuts(shoot, shot, planned)}


def cuts(shoot: Shoot, shot: Shot, planned: FocusPlan) -> dict[str, Any]:
    """Where a planned focus cuts floor, eyes' height and elevation, as the page gets it."""
    return cuts_within(shoot, shot, planned, bounds_of(shoot))


def cuts_within(shoot: Shoot, shot: Shot, planned: FocusPlan, bounds: Any) -> dict[str, Any]:
    """The same, clipped to bounds (2, 3) and to where the camera and everyone stands. [m]"""
    glass = geometry_of(planned.setting)
    sight = Sight(planned.frame, glass, shot.body.film, shot.blur_limit, planned.plane_normal, planned.plane_offset)
    sharp = [p for p in planned.points if p.wanted == "sharp"]
    wanted = [p.at[2] for p in sharp if p.kind == "person"] or [p.at[2] for p in sharp]
    wanted = wanted or [p.at[2] for p in planned.points if p.name == planned.focus_on] or [shot.camera.at[2]]
    around = widened(bounds, [shot.camera.at, *(p.at for p in shoot.people)])
    return cuts_of(sight, around, floor_under(shoot, shot), sum(wanted) / len(wanted))


def floor_under(shoot: Shoot, shot: Shot) -> float:
    """Height of the floor that the camera, or the first of the people, stands on. [m]"""
    for x, y in (shot.camera.at[:2], *(p.at[:2] for p in shoot.people)):
        for room in shoot.place.rooms:
            inside = room.at[0] <= x <= room.at[0] + room.size[0] and room.at[1] <= y <= room.at[1] + room.size[1]
            if inside:
                return room.at[2]
    return 0.0
