"""The exact search behind the balance: every shutter, ISO, stop and ND by branch and bound over the heads' powers.

Lights add, so each wish bounds a sum of powers from both sides. A box holds a range of marks for each head at one
exposure. Boxes are squeezed (what one wish leaves to one head, the others at their ends), dropped when empty, halved
otherwise, thousands at a time; what is left open bounds the miss from below.

Source
------
land_doig1960 (branch and bound), davis1987 (narrowing of ranges); tests hold it against plain enumeration
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.light.balance_wish import LightWish, LitPoints, Means, Settings
from sidelong.light.exposure import card_stops, flash_loss_above_sync

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

KEPT = 0.02
"""A miss that no meter shows: settings within it are as good as each other, and less energy is then worth more."""
_FINER = 1e-6
"""A better answer must be better by this. [stops]"""
_FARTHEST = 60.0
_AT_ONCE = 2048
_ROUNDS = 6
BOXES = 400_000
"""After so many boxes the search ends, and the gap says so."""


@dataclass(frozen=True)
class Problem:
    """The wishes as sums: `by_head` (W, H) and `by_steady` (W,) light at full power and in a second; `wanted` (W,)
    as exposure over middle grey's; `weight`, `at_most`, `at_least` (W,). Exposures (C,): `gain` over lux seconds,
    `seconds`, what each head's light counts there by (`caught` (C, H): the share of a flash that such a shutter lets
    through, a lamp's seconds), and which `chosen` (C, 3) of ISO, stop, ND.
    `marks` (H, M) powers ascending, padded with the last; `count` (H,)."""

    by_head: Array
    by_steady: Array
    wanted: Array
    weight: Array
    at_most: Flags
    at_least: Flags
    gain: Array
    seconds: Array
    caught: Array
    chosen: Array
    marks: Array
    count: Index
    energy: Array


@dataclass(frozen=True)
class Found:
    """A best point of a search: its exposure's index, its marks (H,), `value` reached and `bound` proved."""

    exposure: int
    marks: Index
    value: float
    bound: float


@dataclass(frozen=True)
class _Boxes:
    """B boxes: exposure (B,), lowest and highest mark (B, H), and the bound of what is in them (B,)."""

    exposure: Index
    low: Index
    high: Index
    bound: Array

    def __len__(self) -> int:
        return len(self.exposure)

    def at(self, which: Flags | Index) -> _Boxes:
        return _Boxes(self.exposure[which], self.low[which], self.high[which], self.bound[which])

    def beside(self, other: _Boxes) -> _Boxes:
        return _Boxes(
            np.concatenate([self.exposure, other.exposure]),
            np.concatenate([self.low, other.low]),
            np.concatenate([self.high, other.high]),
            np.concatenate([self.bound, other.bound]),
        )


def problem_of(lit: LitPoints, wishes: tuple[LightWish, ...], means: Means) -> Problem:
    """The arrays of a checked balance; exposures that come to the same are taken once, the lowest ISO first."""
    by_head = np.zeros((len(wishes), len(lit.heads)))
    by_steady = np.zeros(len(wishes))
    for row, wish in enumerate(wishes):
        by_head[row] = np.where(lit.heads_of(wish), lit.flash[wish.point], 0.0)
        by_steady[row] = float(np.where(lit.steady_of(wish), lit.steady[wish.point], 0.0).sum())
    chosen, seconds = _exposures(means, bool(np.any(by_steady > 0) or np.any(by_head[:, lit.lamps] > 0)))
    share = np.array([2.0 ** -flash_loss_above_sync(float(t), means.sync) for t in seconds])
    # one lux second at f/1, ISO 1
    gain = 2.0 ** card_stops(1.0, 1.0, 1.0, 1.0, means.bellows) * _relative_gain(*chosen.T)
    marks = [sorted(set(powers)) for powers in means.powers]
    most = max((len(m) for m in marks), default=1)
    return Problem(
        by_head,
        by_steady,
        2.0 ** np.array([w.stops for w in wishes], float),
        np.array([w.weight for w in wishes], float),
        np.array([w.at_most for w in wishes], bool),
        np.array([w.at_least for w in wishes], bool),
        gain,
        seconds,
        np.where(lit.lamps, seconds[:, None], share[:, None]),
        chosen,
        np.array([m + [m[-1]] * (most - len(m)) for m in marks], float).reshape(len(marks), most),
        np.array([len(m) for m in marks], np.int64),
        np.array(means.energy, float),
    )


def least_miss(problem: Problem, caps: Array, enough: float, most: float = math.inf) -> Found | None:
    """The setting with the least worst miss [stops], weighted, over the wishes whose `caps` (W,) are inf; the others
    must keep theirs. Ends early at a miss of `enough`; None if none is at most `most`, or keeps the caps."""
    free = np.isinf(caps)
    best: tuple[int, Index] | None = None
    value, seen = most + _FINER, 0

    def limits() -> Array:
        return np.where(free, min(value - _FINER, _FARTHEST) / problem.weight, caps)

    boxes = _everything(problem)
    boxes = replace(boxes, bound=_least_possible(problem, boxes, free))
    while len(boxes) and seen < BOXES and value > enough:
        boxes = boxes.at(np.asarray(boxes.bound < value - _FINER))
        taken, boxes = _first(boxes)
        taken = _squeezed(problem, taken, limits())
        seen += len(taken)
        for tried in (taken.low, taken.high, (taken.low + taken.high) // 2):
            miss = _misses(problem, taken.exposure, tried)
            kept = np.asarray((miss <= caps).all(1))
            miss = np.where(kept, _worst(problem, miss, free), np.inf)
            if len(miss) and float(miss.min()) < value:
                first = int(miss.argmin())
                best, value = (int(taken.exposure[first]), tried[first]), float(miss[first])
        split = _halved(problem, taken.at(np.asarray((taken.low < taken.high).any(1))))
        split = replace(split, bound=np.maximum(split.bound, _least_possible(problem, split, free)))
        boxes = boxes.beside(split)
    if best is None:
        return None
    proved = value if not len(boxes) else min(value, float(boxes.bound.min()))
    return Found(best[0], best[1], value, max(0.0, proved - _FINER))


def least_energy(problem: Problem, caps: Array, known: Found) -> Found:
    """The setting of least energy [J] of all that keep every cap (W,) [stops]; `known` is one that does."""
    best, value = (known.exposure, known.marks), _energy(problem, known.marks[None])[0]
    boxes, seen = _everything(problem), 0
    boxes = _squeezed(problem, boxes, caps)
    boxes = replace(boxes, bound=_least_energy_in(problem, boxes, caps))
    while len(boxes) and seen < BOXES:
        boxes = boxes.at(np.asarray(boxes.bound < value * (1 - 1e-9)))
        taken, boxes = _first(boxes)
        taken = _squeezed(problem, taken, caps)
        seen += len(taken)
        settled = np.zeros(len(taken), bool)
        for tried in (taken.low, (taken.low + taken.high) // 2):
            kept = (_misses(problem, taken.exposure, tried) <= caps + 1e-12).all(1)
            settled |= kept & (tried == taken.low).all(1)
            energy = np.where(kept, _energy(problem, tried), np.inf)
            if len(energy) and float(energy.min()) < value:
                first = int(energy.argmin())
                best, value = (int(taken.exposure[first]), tried[first]), float(energy[first])
        split = _halved(problem, taken.at(np.asarray((taken.low < taken.high).any(1) & ~settled)))
        boxes = boxes.beside(replace(split, bound=_least_energy_in(problem, split, caps)))
    proved = value if not len(boxes) else min(value, float(boxes.bound.min()))
    return Found(best[0], best[1], value, proved)


def misses_of(problem: Problem, found: Found) -> Array:
    """By how many stops each wish (W,) is over (+) or under (-), 0 for a bound that is kept. [stops]"""
    light = _light(problem, np.array([found.exposure]), found.marks[None])[0]
    with np.errstate(divide="ignore"):
        over = np.log2(light / problem.wanted)
    over = np.where(problem.at_most, np.maximum(over, 0.0), over)
    return np.asarray(np.where(problem.at_least, np.minimum(over, 0.0), over))


def settings_of(problem: Problem, found: Found) -> Settings:
    """A point of the search as settings."""
    iso, f_number, nd = (float(v) for v in problem.chosen[found.exposure])
    powers = tuple(float(p) for p in _powers(problem, found.marks[None])[0])
    energy = float(_energy(problem, found.marks[None])[0])
    return Settings(float(problem.seconds[found.exposure]), iso, f_number, nd, powers, energy)


def _relative_gain(iso: Array, f_number: Array, nd: Array) -> Array:
    """What a card's exposure over middle grey's goes with. [-]"""
    return np.asarray(iso / f_number**2 * 2.0**-nd)


def _exposures(means: Means, shutter_counts: bool) -> tuple[Array, Array]:
    """ISO, stop, ND (C, 3) and seconds (C,), one for each pair of gain and seconds."""
    pulsed = [t for t in means.shutters if t < means.sync * (1 - 1e-9)]
    whole = [t for t in means.shutters if t not in pulsed]
    # without steady light every shutter that opens whole is alike, but a pulsed mode's loss still counts
    shutters = sorted(means.shutters if shutter_counts else [*pulsed, *sorted(whole)[:1]])
    rows = itertools.product(sorted(means.isos), sorted(means.nd), sorted(means.f_numbers))
    table = np.array([(iso, f_number, nd) for iso, nd, f_number in rows])
    _, first = np.unique(np.round(1e6 * np.log2(_relative_gain(*table.T))), return_index=True)
    table = table[np.sort(first)]
    return np.repeat(table, len(shutters), axis=0), np.tile(np.array(shutters), len(table))


def _everything(problem: Problem) -> _Boxes:
    count, heads = len(problem.gain), len(problem.count)
    low = np.zeros((count, heads), np.int64)
    return _Boxes(np.arange(count), low, low + problem.count - 1, np.zeros(count))


def _first(boxes: _Boxes) -> tuple[_Boxes, _Boxes]:
    """The most promising boxes, and the rest."""
    if len(boxes) <= _AT_ONCE:
        return boxes, boxes.at(np.zeros(len(boxes), bool))
    order = np.argpartition(boxes.bound, _AT_ONCE)
    return boxes.at(order[:_AT_ONCE]), boxes.at(order[_AT_ONCE:])


def _powers(problem: Problem, marks: Index) -> Array:
    return np.asarray(problem.marks[np.arange(len(problem.count)), marks])


def _light(problem: Problem, exposure: Index, marks: Index) -> Array:
    """Exposure over middle grey's, wish by wish (B, W)."""
    heads = (problem.caught[exposure] * _powers(problem, marks)) @ problem.by_head.T
    lux_seconds = heads + problem.seconds[exposure, None] * problem.by_steady
    return np.asarray(problem.gain[exposure, None] * lux_seconds)


def _by_heads(problem: Problem, exposure: Index) -> Array:
    """Exposure over middle grey's that each head at full power makes, (B, W, H)."""
    return np.asarray((problem.gain[:, None] * problem.caught)[exposure, None, :] * problem.by_head)


def _misses(problem: Problem, exposure: Index, marks: Index) -> Array:
    """Size of each miss (B, W). [stops]"""
    return _miss_between(problem, *(2 * (_light(problem, exposure, marks),)))


def _miss_between(problem: Problem, low: Array, high: Array) -> Array:
    """Least size of each miss (B, W) of exposures between two. [stops]"""
    with np.errstate(divide="ignore"):
        over, under = np.log2(low / problem.wanted), -np.log2(high / problem.wanted)
    over, under = np.where(problem.at_least, -np.inf, over), np.where(problem.at_most, -np.inf, under)
    return np.asarray(np.maximum(np.maximum(over, under), 0.0))


def _worst(problem: Problem, misses: Array, free: Flags) -> Array:
    return np.asarray((misses * problem.weight)[:, free].max(1, initial=0.0))


def _least_possible(problem: Problem, boxes: _Boxes, free: Flags) -> Array:
    low = _light(problem, boxes.exposure, boxes.low)
    return _worst(problem, _miss_between(problem, low, _light(problem, boxes.exposure, boxes.high)), free)


def _energy(problem: Problem, marks: Index) -> Array:
    return np.asarray(_powers(problem, marks) @ problem.energy)


def _least_energy_in(problem: Problem, boxes: _Boxes, caps: Array) -> Array:
    """No point of a box that keeps the caps takes less (B,): the lowest marks, and what the neediest wish still lacks
    from the head that gives it for the least energy. [J]"""
    lacking = _lowest(problem, caps) - _light(problem, boxes.exposure, boxes.low)
    given = _by_heads(problem, boxes.exposure)
    price = np.divide(problem.energy, given, out=np.full(given.shape, np.inf), where=given > 0).min(
        -1, initial=np.inf
    )
    more = np.where(lacking > 0, lacking * np.where(np.isinf(price), 0.0, price), 0.0).max(1, initial=0.0)
    return np.asarray(_energy(problem, boxes.low) + more * (1 - 1e-9))


def _lowest(problem: Problem, caps: Array) -> Array:
    return np.asarray(np.where(problem.at_most, 0.0, problem.wanted * 2.0**-caps))


def _highest(problem: Problem, caps: Array) -> Array:
    return np.asarray(np.where(problem.at_least, np.inf, problem.wanted * 2.0**caps))


def _squeezed(problem: Problem, boxes: _Boxes, caps: Array) -> _Boxes:
    """The boxes narrowed to what the caps (W,) leave, without the empty ones."""
    least, most = _lowest(problem, caps) * (1 - 1e-12), _highest(problem, caps) * (1 + 1e-12)
    for _ in range(_ROUNDS):
        low, high = _light(problem, boxes.exposure, boxes.low), _light(problem, boxes.exposure, boxes.high)
        boxes, low, high = _alive(boxes, low, high, np.asarray((low <= most).all(1) & (high >= least).all(1)))
        given = _by_heads(problem, boxes.exposure)
        new_low, new_high = boxes.low.copy(), boxes.high.copy()
        for head in range(len(problem.count)):
            own = given[:, :, head]
            bottom, top = (problem.marks[head, end[:, head], None] for end in (boxes.low, boxes.high))
            with np.errstate(divide="ignore", invalid="ignore"):
                ceiling = np.where(own > 0, (most - low) / own + bottom, np.inf).min(1, initial=np.inf)
                floor = np.where(own > 0, (least - high) / own + top, 0.0).max(1, initial=0.0)
            marks = problem.marks[head, : problem.count[head]]
            first = np.searchsorted(marks, floor * (1 - 1e-9), "left")
            last = np.searchsorted(marks, ceiling * (1 + 1e-9), "right") - 1
            new_low[:, head] = np.maximum(new_low[:, head], first)
            new_high[:, head] = np.minimum(new_high[:, head], last)
        same = bool((new_low == boxes.low).all() and (new_high == boxes.high).all())
        boxes = replace(boxes, low=new_low, high=new_high)
        boxes = boxes.at(np.asarray((boxes.low <= boxes.high).all(1)))
        if same:
            break
    return boxes


def _alive(boxes: _Boxes, low: Array, high: Array, which: Flags) -> tuple[_Boxes, Array, Array]:
    return boxes.at(which), low[which], high[which]


def _halved(problem: Problem, boxes: _Boxes) -> _Boxes:
    """Each box in two, across the head whose range moves a wish the most."""
    if not len(boxes):
        return boxes
    span = _powers(problem, boxes.high) - _powers(problem, boxes.low)
    pull = (_by_heads(problem, boxes.exposure) / problem.wanted[:, None]).max(1, initial=0.0)
    # a head that no wish sees is settled last, but it is settled
    across = np.where(boxes.low < boxes.high, span * pull + 1e-300 * (span > 0), -1.0).argmax(1)
    rows = np.arange(len(boxes))
    middle = (boxes.low[rows, across] + boxes.high[rows, across]) // 2
    lower, upper = boxes.high.copy(), boxes.low.copy()
    lower[rows, across], upper[rows, across] = middle, middle + 1
    return replace(boxes, high=lower).beside(replace(boxes, low=upper))
