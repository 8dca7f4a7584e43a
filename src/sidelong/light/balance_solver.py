"""The balance, solved: from what is wanted of the lights and what the kit can do to the marked settings.

First the least worst miss, then the least energy. Where a wish has to be missed by more than half a step, the others
are still met as nearly as that leaves them, one after the other; and it is said which wishes stand against which
limits, and what would help.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sidelong.errors import InputFault
from sidelong.light.balance_obstacles import HALF_A_STEP, OFFERED, obstacles_of, ways_out_of
from sidelong.light.balance_search import (
    KEPT,
    Found,
    Problem,
    least_energy,
    least_miss,
    misses_of,
    problem_of,
    settings_of,
)
from sidelong.light.balance_wish import (
    Balance,
    LightWish,
    LitPoints,
    Means,
    check_balance,
    settings_in_words,
    wish_in_words,
)


def solve_balance(lit: LitPoints, wishes: Sequence[LightWish], means: Means, offered: int = OFFERED) -> Balance:
    """The marked settings that serve the wishes best, with a bound that no other beats.

    `offered`: how many ways out are named at most; with 0 neither they nor the obstacles are looked for, which is
    quick.

    Raises
    ------
    InputFault
        What is given does not fit together, or there is no wish.
    """
    wishes = tuple(wishes)
    check_balance(lit, wishes, means)
    if not wishes:
        raise InputFault("a balance needs one wish or more")
    hopeless = [k for k, wish in enumerate(wishes) if not wish.at_most and not _reaches(lit, wish, means)]
    able = tuple(w for k, w in enumerate(wishes) if k not in hopeless)
    answer = _solved(lit, able, means)
    if not answer.met and offered:
        stuck, limits = obstacles_of(lit, able, means)
        words = (*(wish_in_words(lit, wish) for wish in stuck), *limits)
        ways = ways_out_of(lit, able, means, stuck)[:offered]
        answer = replace(answer, obstacles=words, ways_out=ways, stuck=stuck, limits=limits)
    if hopeless:
        answer = _with_hopeless(answer, hopeless, lit, wishes)
    return replace(answer, sentence=_sentence(answer, lit, wishes))


def _solved(lit: LitPoints, wishes: tuple[LightWish, ...], means: Means) -> Balance:
    problem = problem_of(lit, wishes, means)
    caps = np.full(len(wishes), np.inf)
    first: Found | None = None
    level = 0.0
    while True:
        found = least_miss(problem, caps, KEPT)
        if found is None:
            break
        first, last, level = first or found, found, found.value
        if level <= HALF_A_STEP or not np.isinf(caps).any():
            break
        weighted = np.abs(misses_of(problem, found)) * problem.weight
        worst = np.isinf(caps) & (weighted >= level - 1e-6)
        # by so much as no meter shows the worst may give way to the others
        caps = np.where(worst, (level + KEPT) / problem.weight, caps)
        if not np.isinf(caps).any():
            break
    assert first is not None
    caps = np.where(np.isinf(caps), (max(level, KEPT) + 1e-7) / problem.weight, caps)
    chosen = least_energy(problem, caps, last)
    return _answer(problem, chosen, first)


def _answer(problem: Problem, chosen: Found, first: Found) -> Balance:
    misses = misses_of(problem, chosen)
    worst = float(np.max(np.abs(misses) * problem.weight, initial=0.0))
    bound = min(first.bound, worst)
    return Balance(settings_of(problem, chosen), misses, worst, bound, worst - bound, worst <= HALF_A_STEP, "")


def _reaches(lit: LitPoints, wish: LightWish, means: Means) -> bool:
    """Whether anything of the light that a wish names can arrive at its point."""
    most = np.array([max(marks) for marks in means.powers])
    heads = float((lit.flash[wish.point] * most)[lit.heads_of(wish)].sum())
    return heads + float(lit.steady[wish.point, lit.steady_of(wish)].sum()) > 0


def _with_hopeless(
    answer: Balance, hopeless: Sequence[int], lit: LitPoints, wishes: tuple[LightWish, ...]
) -> Balance:
    misses = np.full(len(wishes), -np.inf)
    misses[[k for k in range(len(wishes)) if k not in hopeless]] = answer.misses
    names = tuple(
        f"{wish_in_words(lit, wishes[k])} (nothing of it arrives there: it is blocked, turned away or off)"
        for k in hopeless
    )
    whole = replace(answer, misses=misses, worst=math.inf, bound=math.inf, gap=0.0, met=False, ways_out=())
    return replace(whole, obstacles=names + answer.obstacles)


def _sentence(answer: Balance, lit: LitPoints, wishes: tuple[LightWish, ...]) -> str:
    """The answer in one sentence, or two."""
    how = settings_in_words(lit, answer.settings)
    if answer.met:
        return (
            f"{how}: every wish is met within {answer.worst:.2f} stop, {answer.settings.energy:.0f} J a frame; no "
            f"marked setting comes nearer than {answer.bound:.2f}"
        )
    misses = np.abs(answer.misses) * [wish.weight for wish in wishes]
    worst = int(np.argmax(misses))
    off = answer.misses[worst]
    amount = "nothing" if np.isinf(off) else f"{abs(off):.1f} stops {'over' if off > 0 else 'under'}"
    against = f": {'; against '.join(answer.obstacles)}" if answer.obstacles else ""
    text = f"cannot be met{against}. Nearest: {how}, with {amount} for {wish_in_words(lit, wishes[worst])}"
    if answer.ways_out:
        text += f". It can be met: {'; or '.join(way.words for way in answer.ways_out)}"
    return text
