"""What `light` and `balance` both tell in words: settings, wishes, sync, motion, cautions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from sidelong.day.cautions import Caution
from sidelong.plan.motion import motion_in_words, motions_of, sync_in_words
from sidelong.plan.values import BalancePlan, ColourOutcome, FocusPlan, LightPlan, WishOutcome
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark, iso_mark, shutter_mark

ON_THE_SPOT = ("Haze", "Mains and stored charge", "Circuits", "Battery", "Generator", "Stands and sandbags")
"""The cautions that are told with the light; the book has all of them."""


def settings_in_words(f_number: float, light: LightPlan) -> str:
    """The exposure of a shot as it is set: ``f/5.6, 1/200 s, ISO 100, ND 3 stops``."""
    nd = f", ND {light.nd:g} stops" if light.nd else ""
    return f"f/{f_mark(f_number)}, {shutter_mark(light.shutter)} s, ISO {iso_mark(light.iso)}{nd}"


def facts_in_words(shoot: Shoot, shot: Shot, focus: FocusPlan, light: LightPlan) -> list[str]:
    """Sync, flash durations and everyone who moves, a line each."""
    moving = [motion_in_words(motion, light.shutter) for motion in motions_of(shoot, shot, focus, light)]
    return [*sync_in_words(shot, light), *moving]


def wish_rows(balance: BalancePlan) -> list[tuple[str, ...]]:
    """A row for each wish: what is wished, what comes of it, by how much it is off, what it may be, the verdict."""
    rows = [_wish_row(wish) for wish in balance.wishes]
    return rows + [_colour_row(colour) for colour in balance.colours]


def _wish_row(wish: WishOutcome) -> tuple[str, ...]:
    miss = "kept" if wish.miss == 0 and wish.bound != "at" else stops_in_words(wish.miss)
    doubt = f" ±{wish.error:.1f}" if wish.error >= 0.05 and math.isfinite(wish.got) else ""
    return wish.words, stops_in_words(wish.got) + doubt, miss, f"{wish.within:.2f}", "met" if wish.met else "missed"


def _colour_row(colour: ColourOutcome) -> tuple[str, ...]:
    gels = " + ".join(gel.id for gel in colour.gels) or "no gel"
    words = f"{colour.light} at {colour.wanted:.0f} K"
    got = f"{colour.got:.0f} K, {gels}"
    return words, got, f"{colour.off:.0f} mired", f"{colour.within:.0f} mired", "met" if colour.met else "missed"


def missed_in_words(shot: Shot, balance: BalancePlan) -> str:
    """The wishes that a shot misses, in a line."""
    missed = []
    for wish in balance.wishes:
        got = f"comes out {stops_in_words(wish.got)}" if math.isfinite(wish.got) else "gets nothing"
        missed += [] if wish.met else [f"{wish.words} {got}"]
    missed += [f"{c.light} comes out {c.got:.0f} K, not {c.wanted:.0f} K" for c in balance.colours if not c.met]
    return f"{shot.id}: {'; '.join(missed)}"


def cautions_on_the_spot(found: Sequence[Caution]) -> list[str]:
    """A line for each caution that bears on lights, power and haze: its title, and why it is told."""
    return [f"mind: {c.title}. {c.why}" for c in found if c.title in ON_THE_SPOT]


def cautions_for_machines(found: Sequence[Caution]) -> dict[str, Any]:
    """All cautions of a shoot, beside its shots."""
    return {"cautions": [{"title": c.title, "text": c.text, "why": c.why} for c in found]}
