"""What everyone should mind on this shoot, each with the reason it is printed. Reminders, never advice.

Published limits are printed as such, with their source; the venue, the local authority, local codes and licensed
practice decide. Rules without a source key are common practice.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sidelong.day.loads import loads
from sidelong.plan.cables import cables
from sidelong.plan.floor_way import is_way_out
from sidelong.plan.haze import haze_words
from sidelong.plan.values import ShotPlan
from sidelong.shoot.values import Shoot
from sidelong.units import metres_in_words

DEFERENCE = "Local codes, the venue and licensed practice decide."

_TIGHT = 25.0
"""Floor area for a crew, stands and sitters under which a room counts as cramped; our own figure. [m2]"""
_LONG_LENS = 0.085
"""From this focal length on the sun's image in a finder is counted as dangerous to the eye; our own figure. [m]"""


@dataclass(frozen=True)
class Caution:
    """One thing to mind: `why` says what of this shoot makes it apply; `sources` are keys of sidelong.sources."""

    title: str
    text: str
    why: str
    sources: tuple[str, ...] = ()


def cautions(shoot: Shoot, plans: Sequence[ShotPlan] = ()) -> tuple[Caution, ...]:
    """The cautions that apply to a shoot, the most general last. `plans` tell whether the sun is up."""
    found = [caution for rule in _RULES if (caution := rule(shoot, plans)) is not None]
    return tuple(found)


def _haze(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    if shoot.place.air.extinction <= 0 and shoot.place.air.plume is None and not shoot.kit.haze:
        return None
    fluids = sorted({h.fluid.lower() for h in shoot.kit.haze.values()})
    known = [_LIMITS[f] for f in fluids if f in _LIMITS]
    limits = known if fluids else list(_LIMITS.values())
    published = "; ".join(words for words, _ in limits)
    return Caution(
        "Haze",
        "Ask the venue before any haze is made: smoke detectors and sprinklers are theirs to isolate and to put "
        "back, with a fire watch where they ask for one. Keep every exit in sight and free. Air the room between "
        "takes; tell all who come in, and let anyone with asthma or a sore throat stay out. Wipe up fluid: floors "
        "turn slippery. "
        + (f"Published limits for what hangs in the air: {published}. " if limits else "")
        + DEFERENCE,
        _haze_words(shoot),
        tuple(dict.fromkeys(key for _, keys in limits for key in keys)),
    )


_LIMITS: dict[str, tuple[str, tuple[str, ...]]] = {
    "glycol": ("glycols 10 mg/m³ over 8 hours, 40 mg/m³ at any moment (ANSI E1.5, at second hand)", ("ansi_e1_5",)),
    "glycerin": ("glycerin 10 mg/m³ over 8 hours, 50 mg/m³ at any moment (ANSI E1.5, from memory)", ("ansi_e1_5",)),
    "oil": ("mineral oil mist 5 mg/m³ over 8 hours (OSHA, NIOSH)", ("osha_oil_mist", "niosh_oil_mist")),
}


def _haze_words(shoot: Shoot) -> str:
    machines = ", ".join(h.id for h in shoot.kit.haze.values())
    parts = [f"the kit has {machines}"] if machines else []
    if shoot.place.air.extinction > 0:
        parts.append(f"the pictures count on haze of {shoot.place.air.extinction:g} per metre")
    if shoot.place.air.plume is not None:
        parts.append("a plume drifts through the pictures")
    times = " ".join(f"{words[0].upper()}{words[1:]}." for words in haze_words(shoot)[1:])
    return "Printed because " + " and ".join(parts) + "." + (f" {times}" if times else "")


def _mains(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    strobes = shoot.kit.strobes.values()
    if not strobes:
        return None
    energy = max(s.energy for s in strobes)
    return Caution(
        "Mains and stored charge",
        "A flash generator's capacitors keep a deadly charge when it is switched off and unplugged: never open "
        "one, and let it dump its charge before a head or cable is changed. Earthed outlets behind a "
        "residual-current breaker; no outlet loaded above what its breaker carries continuously; nothing "
        "electrical in the wet. " + DEFERENCE,
        f"Printed because heads of up to {energy:.0f} J are used.",
    )


def _circuits(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    over = [load for load in loads(shoot, plans) if load.overloaded]
    if not over:
        return None
    said = "; ".join(
        f"{', '.join(load.heads)} draw {load.watts_needed:.0f} W from {load.id}, which gives {load.watts:.0f} W"
        for load in over
    )
    return Caution(
        "Circuits",
        "Spread the heads over circuits of their own, or set them to recycle slowly: all that charge at once add up, "
        "whatever power they are set to, and a breaker that trips takes the room's light with it. " + DEFERENCE,
        f"Printed because {said}.",
    )


def _batteries(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    empty = [load for load in loads(shoot, plans) if load.empty]
    if not empty:
        return None
    said = "; ".join(
        f"{load.frames} frames take {load.watt_hours_needed:.0f} Wh from {load.id}, which holds {load.watt_hours:.0f}"
        for load in empty
    )
    return Caution(
        "Battery",
        "Bring a second battery or charge between shots, keep them warm in the cold, and carry lithium cells with "
        "their contacts covered; airlines limit what may fly. " + DEFERENCE,
        f"Printed because {said}.",
    )


def _stands(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    heights = [light.at[2] for shot in shoot.shots for light in shot.lights]
    if not heights:
        return None
    return Caution(
        "Stands and sandbags",
        "Spread every stand's legs fully, one leg under the load, a sandbag on each; a second one outdoors and "
        "for anything with a large front. Nobody stands under a head that is being raised. Safety wire on what "
        "hangs.",
        f"Printed because lights stand up to {max(heights):.1f} m high. Common practice.",
    )


def _cables(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    if not any(shot.lights for shot in shoot.shots):
        return None
    return Caution(
        "Cables",
        "Along the walls, never across a way out; taped or matted wherever feet cross; unrolled from the drum "
        "before they carry load; a loop at the foot of each stand, so that a snag pulls the loop and not the "
        "stand. Where there is no other way than across a door, a ramp for its whole width. " + DEFERENCE,
        "Printed because lights are used" + _laid(shoot) + ". Common practice.",
    )


def _laid(shoot: Shoot) -> str:
    """What of the cables drawn must be minded: those across a way out, those that do not reach."""
    told: dict[str, None] = {}
    for shot in shoot.shots:
        for cable in cables(shoot, shot):
            whose = f"in shot {shot.id} that from {cable.source} to {cable.head}"
            told |= {f"{whose} crosses the way out at {crossing.opening}": None for crossing in cable.crossings}
            if cable.too_short:
                told[f"{whose} takes {metres_in_words(cable.length, shoot.imperial)}, more than the kit's"] = None
    return "; " + "; ".join(told) if told else ""


def _ways_out(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    cramped = [r for r in shoot.place.rooms if r.size[0] * r.size[1] < _TIGHT or min(r.size[:2]) < 3.5]
    doorless = [r for r in shoot.place.rooms if sum(map(is_way_out, r.openings)) < 2]
    if not cramped and not doorless:
        return None
    reasons = [f"{r.name} measures {r.size[0]:.1f} x {r.size[1]:.1f} m" for r in cramped]
    reasons += [f"{r.name} shows fewer than two ways out" for r in doorless]
    return Caution(
        "Ways out",
        "Agree before the first take who leaves by which way. Keep a clear width of a metre from every place "
        "where people sit to a way out, with stands, crates and bags on the other side of the room; the door "
        "unlocked while anyone is inside; no more people in the room than the venue allows. " + DEFERENCE,
        "Printed because " + "; ".join(reasons) + ".",
    )


def _sun(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    up = [p for p in plans if p.light.daylight is not None and p.light.daylight.elevation > 0]
    for plan in up:
        day = plan.light.daylight
        assert day is not None
        to_sun = plan.focus.frame.direction_to_body(day.to_sun)
        angle = math.acos(max(-1.0, min(1.0, float(to_sun[2]))))
        lens = plan.shot.lens.focal_length
        if angle < math.radians(60) or lens >= _LONG_LENS:
            return Caution(
                "Sun in the finder",
                "Never look at the sun through an optical finder, least of all with a long lens, and do not leave "
                "the lens pointing at it: it burns eyes, shutters and sensors. Frame with the screen, cap between "
                "takes.",
                f"Printed because in shot {plan.shot.id} the sun stands {math.degrees(angle):.0f}° off the camera's "
                f"axis and the lens is {lens * 1e3:.0f} mm long. Common practice.",
            )
    return None


def _generators(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    running = [p.id for p in shoot.kit.power.values() if "generator" in p.kind.lower()]
    if not running:
        return None
    return Caution(
        "Generator",
        "Outdoors only, well away from doors, windows and air intakes, downwind: its exhaust kills without a "
        "smell. Refuel cold and switched off. Earth it as its manual says; flash takes its load in gulps, so "
        "leave headroom. " + DEFERENCE,
        f"Printed because the kit has {', '.join(running)}. Common practice.",
    )


def _warm(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    gelled = sorted({light.strobe.id for s in shoot.shots for light in s.lights if light.gels or light.modifier})
    if not gelled:
        return None
    return Caution(
        "Warm lamps",
        "Modelling lamps heat fronts, gels and cloth: dim or switch them off when metering is done, keep gels off "
        "the tube, leave air around the head, and let it cool before packing. Nets, ropes and paper stay an arm's "
        "length off.",
        f"Printed because {', '.join(gelled)} {'has' if len(gelled) == 1 else 'have'} a front or gel. "
        "Common practice.",
    )


def _wet(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    words = " ".join(
        [shoot.title, shoot.brief, *(b.kind for b in shoot.place.blocks), *(r.name for r in shoot.place.rooms)]
    )
    found = sorted(set(_WATER.findall(words.lower())))
    outdoors = not shoot.place.rooms
    if not found and not outdoors:
        return None
    because = "the place is in the open" if outdoors else f"the shoot speaks of {', '.join(found)}"
    return Caution(
        "Wet places",
        "Connectors off the ground and under cover, residual-current breakers tested that day, nothing on the "
        "mains within reach of standing water, no flash in rain. Boards, slipways and quays are slippery: boots "
        "with a grip, and someone who watches the edge while the camera is at the eye. " + DEFERENCE,
        f"Printed because {because}.",
    )


_WATER = re.compile(
    r"\b(?:harbours?|harbors?|quays?|boats?|sea|rivers?|rain|pools?|piers?|slipways?|docks?|beach|shore)\b"
)


def _always(shoot: Shoot, plans: Sequence[ShotPlan]) -> Caution | None:
    if not shoot.people:
        return None
    return Caution(
        "People",
        "Say beforehand that flash will fire, and ask who must avoid it; say where to stop and whom to tell when "
        "something is wrong. A first-aid kit, a charged telephone and the address of the place, known to all.",
        f"Printed because {len(shoot.people)} {'person comes' if len(shoot.people) == 1 else 'people come'} to be "
        "photographed. Common practice.",
    )


_RULES: tuple[Callable[[Shoot, Sequence[ShotPlan]], Caution | None], ...] = (
    _haze, _ways_out, _mains, _circuits, _batteries, _generators, _wet, _stands, _cables, _warm, _sun, _always,
)  # fmt: skip
