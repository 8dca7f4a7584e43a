"""The one narrow door to the cone-programme solver (Clarabel)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ConeSolution:
    """`x` (n,) the variables; `value` the objective; `bound` the dual's value, which no feasible x undercuts."""

    x: Array
    value: float
    bound: float


def minimise(cost: Array, below: tuple[Array, Array], cones: Sequence[tuple[Array, Array]]) -> ConeSolution | None:
    """Least cost . x subject to A x <= b (rows `below` = (A (k, n), b (k,))) and to each cone (C (m, n), c (m,)):
    (c - C x)[0] >= | (c - C x)[1:] |. None where no x satisfies them all.

    Source: clarabel2024 (interior-point solver); a second-order cone programme.
    """
    import clarabel  # late: slow import

    rows = [below[0], *(c for c, _ in cones)]
    right = [below[1], *(r for _, r in cones)]
    a, b = np.vstack(rows), np.concatenate(right)
    kinds = [clarabel.NonnegativeConeT(len(below[1])), *(clarabel.SecondOrderConeT(len(r)) for _, r in cones)]
    solver = clarabel.DefaultSolver(_nothing(len(cost)), cost, _columns(a), b, kinds, _settings())
    found = solver.solve()
    if found.status not in (clarabel.SolverStatus.Solved, clarabel.SolverStatus.AlmostSolved):
        return None
    return ConeSolution(np.asarray(found.x), float(found.obj_val), float(found.obj_val_dual))


@lru_cache(maxsize=1)
def _settings() -> Any:
    import clarabel  # late: slow import

    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-11
    return settings


@lru_cache(maxsize=8)
def _nothing(n: int) -> Any:
    """No quadratic part."""
    from scipy import sparse  # late: slow import

    return sparse.csc_matrix((n, n))


def _columns(dense: Array) -> Any:
    """A small dense matrix by columns, every entry kept: much quicker than a search for its zeros."""
    from scipy import sparse  # late: slow import

    m, n = dense.shape
    data = np.ascontiguousarray(dense.T).ravel()
    return sparse.csc_matrix((data, _places(m, n), np.arange(0, m * n + 1, m)), shape=(m, n))


@lru_cache(maxsize=256)
def _places(m: int, n: int) -> NDArray[np.int64]:
    return np.tile(np.arange(m), n)
