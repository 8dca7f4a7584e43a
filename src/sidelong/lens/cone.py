"""The one narrow door to the cone-programme solver (Clarabel)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import clarabel
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

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
    rows = [below[0], *(c for c, _ in cones)]
    right = [below[1], *(r for _, r in cones)]
    a, b = np.vstack(rows), np.concatenate(right)
    kinds = [clarabel.NonnegativeConeT(len(below[1])), *(clarabel.SecondOrderConeT(len(r)) for _, r in cones)]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-11
    n = len(cost)
    solver = clarabel.DefaultSolver(sparse.csc_matrix((n, n)), cost, sparse.csc_matrix(a), b, kinds, settings)
    found = solver.solve()
    if found.status not in (clarabel.SolverStatus.Solved, clarabel.SolverStatus.AlmostSolved):
        return None
    return ConeSolution(np.asarray(found.x), float(found.obj_val), float(found.obj_val_dual))
