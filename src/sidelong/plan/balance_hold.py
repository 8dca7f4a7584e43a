"""One strobe at one power in every shot: what it costs the wishes is shared as evenly as can be.

With the held power given the shots have nothing more to do with one another, so each of its marks is tried and every
shot solved for it: exact, for one strobe.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from sidelong.errors import InputFault
from sidelong.light.balance_obstacles import HALF_A_STEP
from sidelong.light.balance_solver import solve_balance
from sidelong.light.balance_wish import Means, settable_powers
from sidelong.plan.predict import plan_shot
from sidelong.plan.values import BalancePlan, ShotPlan
from sidelong.shoot.values import Shoot, Shot


def held(shoot: Shoot, plans: Sequence[ShotPlan], strobe: str) -> list[ShotPlan]:
    """The plans with a strobe at the one power that serves all its shots best: the least worst miss of all, then the
    least energy of all. Gels and places stay as they were found.

    Raises
    ------
    InputFault
        No shot leaves the power of that strobe to be found.
    """
    free = {one.id: _heads(one, strobe) for one in shoot.shots}
    those = [plan for plan in plans if free[plan.shot.id]]
    if not those:
        names = sorted({light.strobe.id for one in shoot.shots for light in one.lights if light.power is None})
        raise InputFault(
            f'--hold: found no shot that leaves the power of "{strobe}" to be found; '
            f"expected one of {', '.join(names) or 'none: every power is given'}"
        )
    first = those[0].shot
    marks = settable_powers(first.lights[free[first.id][0]].strobe)
    best = min(marks, key=lambda mark: _cost(those, free, mark))
    return [
        plan_shot(shoot, _at_power(plan.shot, shoot, free[plan.shot.id], best)) if plan in those else plan
        for plan in plans
    ]


def _heads(shot: Shot, strobe: str) -> list[int]:
    return [k for k, light in enumerate(shot.lights) if light.strobe.id == strobe and light.power is None]


def _cost(plans: Sequence[ShotPlan], free: dict[str, list[int]], mark: float) -> tuple[float, float]:
    """Worst miss over all shots, none under half a step counted, and the energy of a frame of each."""
    worst, energy = 0.0, 0.0
    for plan in plans:
        found = plan.light.balance
        assert found is not None
        answer = solve_balance(found.lit, found.asked, _held_means(found, free[plan.shot.id], mark), offered=0)
        worst, energy = max(worst, answer.worst), energy + answer.settings.energy
    return (round(max(worst, HALF_A_STEP), 3) if math.isfinite(worst) else worst), energy


def _held_means(found: BalancePlan, heads: Sequence[int], mark: float) -> Means:
    powers = tuple((mark,) if k in heads else some for k, some in enumerate(found.means.powers))
    return replace(found.means, powers=powers)


def _at_power(settled: Shot, shoot: Shoot, heads: Sequence[int], mark: float) -> Shot:
    """The shot as drawn, its heads where and as they were found, the held ones at their power."""
    drawn = next(one for one in shoot.shots if one.id == settled.id)
    lights = tuple(
        replace(light, at=found.at, gels=found.gels, reach=None, power=mark if k in heads else light.power)
        for k, (light, found) in enumerate(zip(drawn.lights, settled.lights, strict=True))
    )
    return replace(drawn, lights=lights)
