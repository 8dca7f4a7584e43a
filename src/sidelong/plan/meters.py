"""What a spot meter at the camera reads of everyone, the contrast of each face and how soft its shadows are."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.light.meters import penumbra
from sidelong.plan.metered import SPOT, direction, held_at
from sidelong.plan.precision import CHEEK_ERROR, METER_ERROR, error_of_sums
from sidelong.plan.scrimmed import lit_by, lit_by_sun, scrim_before
from sidelong.plan.values import PointLight, ShotPlan
from sidelong.trace.meter import meter
from sidelong.trace.quality import MOST_SAMPLES
from sidelong.trace.stand_ins import emitter_mesh
from sidelong.trace.values import Metered, Receptor

Array = NDArray[np.float64]

NOSE = 0.02
"""How far the nose stands out from the cheek; our own figure. [m]"""
CHEEK = 0.05, 0.04
"""A cheek from the middle of the eyes, sideways and down; our own figure. [m]"""
OUTWARD = math.radians(45.0)
"""How far a cheek is turned outward from where the face looks; our own figure. [rad]"""
LEAST_TOLD = 0.01
"""No statistical error is told as less: what rounds to nothing is not nothing. [stops]"""
SUN_WIDTH = math.radians(0.533)
"""The sun's disc across. [rad]"""


@dataclass(frozen=True)
class Amount:
    """Steady light and flash, [cd/m2] and [cd s/m2] or [lx] and [lx s], with one-sigma errors."""

    steady: float
    flash: float
    steady_error: float
    flash_error: float

    def exposed(self, seconds: float) -> float:
        """Both over a shutter time [s]."""
        return self.steady * seconds + self.flash

    def error(self, seconds: float) -> float:
        """Standard error of both over a shutter time; 0 in the dark. [s in, stops]"""
        light = self.exposed(seconds)
        return math.hypot(self.steady_error * seconds, self.flash_error) / light / math.log(2.0) if light > 0 else 0.0


@dataclass(frozen=True)
class Face:
    """A person's left and right cheek (their own left), and the nose's penumbra by each light, None: no edge. [m]"""

    left: Amount
    right: Amount
    softness: tuple[tuple[str, float | None], ...]

    def contrast(self, seconds: float) -> float:
        """Left over right; positive where the left is brighter. [stops]"""
        left, right = self.left.exposed(seconds), self.right.exposed(seconds)
        if left <= 0 or right <= 0:
            return math.nan if left == right else math.copysign(math.inf, left - right)
        return math.log2(left / right)

    def contrast_error(self, seconds: float) -> float:
        """Standard error of the contrast. [s in, stops]"""
        return math.hypot(self.left.error(seconds), self.right.error(seconds))


@dataclass(frozen=True)
class SpotReading:
    """A spot meter's luminance of a person's face or of what is seen at a mark; a person's `face`."""

    name: str
    luminance: Amount
    face: Face | None


def spot_readings(plan: ShotPlan, most_paths: int = MOST_SAMPLES, seed: int = 0) -> tuple[SpotReading, ...]:
    """Everyone and every mark of a planned shot, heads at the powers that were found.

    The spot meter, one degree wide, is at the camera and looks at a person's eyes, the person being there; cheeks
    are flat receptors without the person, CHEEK from the eyes, turned OUTWARD. Each is followed until it is known to
    METER_ERROR, a cheek to CHEEK_ERROR, along `most_paths` at most.
    """
    shoot, shot, stage = plan.shoot, plan.shot, plan.stage
    camera = np.array(shot.camera.at)
    names = [*(p.name for p in shoot.people), *(m.name for m in shoot.marks)]
    places = [np.array(held_at(shoot, shot, stage, name)) for name in names]
    receptors = [Receptor(shot.camera.at, direction(at - camera), spot=SPOT) for at in places]
    for person, eyes in zip(shoot.people, places, strict=False):
        receptors += [cheek(eyes, person.facing, side, person.name) for side in (1, -1)]
    goals = np.where(np.arange(len(receptors)) < len(names), METER_ERROR, CHEEK_ERROR)

    def excess(few: Metered) -> Array:
        return error_of_sums(few.value, few.error, few.flash, plan.light.shutter) / goals

    metered = meter(stage, receptors, most_paths, seed, excess=excess)
    flash = np.array(metered.flash, bool)
    amounts = [_amount(v, e, flash) for v, e in zip(metered.value, metered.error, strict=True)]
    cheeks = amounts[len(names) :]
    faces = [
        Face(cheeks[2 * k], cheeks[2 * k + 1], softness(plan, places[k], metered.names))
        for k in range(len(shoot.people))
    ]
    return tuple(SpotReading(name, amounts[k], faces[k] if k < len(faces) else None) for k, name in enumerate(names))


def dome_of(point: PointLight) -> Amount:
    """What a dome turned to the camera gets of all lights at a point; their errors are taken for independent."""
    steady = [at for at in point.lights if not at.flash]
    flash = [at for at in point.lights if at.flash]
    return Amount(
        math.fsum(at.dome for at in steady),
        math.fsum(at.dome for at in flash),
        math.hypot(*(at.dome_error for at in steady)),
        math.hypot(*(at.dome_error for at in flash)),
    )


def cheek(eyes: Array, facing: float, side: int, without: str | None = None) -> Receptor:
    """A flat receptor at the cheek on the person's left (`side` 1) or right (-1); eyes (3,) place frame [m]."""
    left = np.array([-math.sin(facing), math.cos(facing), 0.0])
    x, y, z = eyes + side * CHEEK[0] * left - np.array([0.0, 0.0, CHEEK[1]])
    turned = facing + side * OUTWARD
    return Receptor((float(x), float(y), float(z)), (math.cos(turned), math.sin(turned), 0.0), False, without)


def softness(plan: ShotPlan, eyes: Array, lights: tuple[str, ...]) -> tuple[tuple[str, float | None], ...]:
    """Penumbra of an upright nose by each light, or by the scrim before it; None for the sky and for heads turned at
    a surface. [m]"""
    return tuple((name, _nose_shadow(plan, eyes, name)) for name in lights)


def _nose_shadow(plan: ShotPlan, eyes: Array, name: str) -> float | None:
    stage, day = plan.stage, plan.stage.daylight
    upright = np.array([0.0, 0.0, 1.0])
    if name == "sun" and day is not None:
        scrim = scrim_before(stage, eyes, np.array(day.to_sun) / np.linalg.norm(day.to_sun), math.inf)
        if scrim is None:
            return NOSE * 2 * math.tan(SUN_WIDTH / 2)
        return penumbra(lit_by_sun(scrim), eyes, upright, NOSE)
    emitters = [e for e in stage.emitters if e.name == name]
    if not emitters or any(e.bounced or e.inward for e in emitters):
        return None
    outline = np.concatenate([emitter_mesh(e).vertices for e in emitters])
    way = outline.mean(axis=0) - eyes
    reach = float(np.linalg.norm(way))
    scrim = scrim_before(stage, eyes, way / reach, reach)
    return penumbra(outline if scrim is None else lit_by(scrim, emitters), eyes, upright, NOSE)


def _amount(value: Array, error: Array, flash: NDArray[np.bool_]) -> Amount:
    return Amount(
        float(value[~flash].sum()),
        float(value[flash].sum()),
        float(np.linalg.norm(error[~flash])),
        float(np.linalg.norm(error[flash])),
    )
