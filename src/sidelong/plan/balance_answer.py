"""What a shot's wishes, sync and motion say to machines: plain figures, whose keys carry their units."""

from __future__ import annotations

from typing import Any

from sidelong.plan.motion import Burning, Motion, burning_of, motions_of
from sidelong.plan.values import BalancePlan, FocusPlan, LightPlan
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Shoot, Shot


def wishes_in_words(balance: BalancePlan | None) -> tuple[str, ...]:
    """A sentence for each wish: ``key +0.0 at Ana comes out +0.1``; those that are missed say so."""
    if balance is None:
        return ()
    said = [
        f"wished: {wish.words}; comes out {stops_in_words(wish.got)}{'' if wish.met else ', missed'}"
        for wish in balance.wishes
    ]
    for colour in balance.colours:
        gels = " + ".join(gel.id for gel in colour.gels) or "no gel"
        missed = "" if colour.met else ", missed"
        said.append(f"wished: {colour.light} at {colour.wanted:.0f} K; comes out {colour.got:.0f} K, {gels}{missed}")
    return (*said, *balance.changes)


def facts_answer(shoot: Shoot, shot: Shot, focus: FocusPlan, light: LightPlan) -> dict[str, Any]:
    """Sync, flash durations and everyone who moves, as keys of a shot's answer."""
    return {
        "nd_stops": light.nd,
        "sync_s": shot.body.sync,
        "flashes": [_burning(flash) for flash in burning_of(shot, light)],
        "motion": [_motion(motion) for motion in motions_of(shoot, shot, focus, light)],
    }


def _burning(flash: Burning) -> dict[str, Any]:
    return {
        "name": flash.name,
        "t01_s": flash.t01,
        "cut_by_shutter_stops": flash.cut_stops,
        "recycle_s": flash.recycle,
    }


def _motion(motion: Motion) -> dict[str, Any]:
    return {
        "name": motion.name,
        "speed_m_s": motion.speed,
        "frozen_mm": None if motion.frozen is None else motion.frozen * 1e3,
        "frozen_um": None if motion.frozen_on_film is None else motion.frozen_on_film * 1e6,
        "ghost_mm": motion.ghost * 1e3,
        "ghost_um": motion.ghost_on_film * 1e6,
        "ghost_against_flash_stops": motion.ghost_stops,
        "ghost_seen": motion.shows,
    }


def wishes_answer(balance: BalancePlan | None) -> dict[str, Any]:
    """The wishes of a shot as keys of its answer."""
    if balance is None:
        return {"wishes": [], "colour_wishes": []}
    return {
        "wishes": [
            {
                "who": wish.who,
                "light": wish.light,
                "bound": wish.bound,
                "wanted_stops": wish.wanted,
                "got_stops": wish.got,
                "miss_stops": wish.miss,
                "error_stops": wish.error,
                "within_stops": wish.within,
                "met": wish.met,
                "words": wish.words,
            }
            for wish in balance.wishes
        ],
        "colour_wishes": [
            {
                "light": colour.light,
                "wanted_K": colour.wanted,
                "got_K": colour.got,
                "off_mired": colour.off,
                "within_mired": colour.within,
                "gels": [gel.id for gel in colour.gels],
                "met": colour.met,
            }
            for colour in balance.colours
        ],
    }
