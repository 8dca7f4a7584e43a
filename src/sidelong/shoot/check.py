"""Checking a shoot file: every fault and every doubt at once, and the shoot itself when nothing is at fault."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sidelong.errors import Fault, ShootFault
from sidelong.shoot.document import Document, open_document
from sidelong.shoot.report import Doubt, Report
from sidelong.shoot.upgrade import version_fault

if TYPE_CHECKING:
    from sidelong.shoot.model import ShootFile
    from sidelong.shoot.values import Shoot


LONG = 100_000
"""A file with more characters, whose structure is at fault, is not searched for faults of names as well."""


@dataclass(frozen=True)
class Checked:
    """What a check found; `shoot` is there when there is no fault, `asked` too when every fault is of what is well
    written but beyond the kit or the optics. `model` is of the tables that either was composed from."""

    faults: tuple[Fault, ...]
    doubts: tuple[Doubt, ...]
    shoot: Shoot | None
    document: Document | None
    asked: Shoot | None = None
    model: ShootFile | None = None


def check(shoot: str | Path) -> Checked:
    """Read and check the shoot of a folder or file; never raises for what the file holds."""
    try:
        document = open_document(shoot)
    except ShootFault as fault:
        return Checked(fault.faults, (), None, None)
    return check_document(document)


def check_document(document: Document) -> Checked:
    """Check a shoot file that has been read; never raises for what it holds."""
    version = version_fault(document)
    if version is not None:
        return Checked((version,), (), None, document)
    # what cannot be read never waits for these
    from sidelong.shoot.structure import validate  # late: slow import

    model, faults = validate(document)
    if model is None:
        elsewhere = _faults_elsewhere(document) if len(document.text) <= LONG else []
        return Checked(_in_order([*faults, *elsewhere]), (), None, document)
    return _check_model(document, model)


def _check_model(document: Document, model: ShootFile) -> Checked:
    from sidelong.shoot.compose import compose  # late: slow import
    from sidelong.shoot.doubts import find_doubts  # late: slow import
    from sidelong.shoot.feasible import check_feasible  # late: slow import
    from sidelong.shoot.references import check_references  # late: slow import

    report = Report(document)
    check_references(model, report)
    composed = compose(model, document.folder, report.shots_at_fault(), report.luminaires)
    check_feasible(model, composed, report)
    if report.faults:
        asked = composed if all(fault.beyond for fault in report.faults) else None
        return Checked(_in_order(report.faults), (), None, document, asked, None if asked is None else model)
    find_doubts(model, composed, report)
    doubts = sorted(report.doubts, key=lambda d: (d.line, d.column))
    return Checked((), tuple(doubts), composed, document, composed, model)


def _faults_elsewhere(document: Document) -> list[Fault]:
    """Faults between the tables of a document whose structure is at fault, away from what is at fault there."""
    from sidelong.shoot.patch import patched, spoken_names  # late: slow import
    from sidelong.shoot.references import check_references  # late: slow import

    model, patches = patched(document)
    if model is None:
        return []
    report = Report(document)
    check_references(model, report, spoken_names(document))
    near = {patch[:length] for patch in patches for length in range(1, len(patch) + 1)}
    return [
        fault
        for path, fault in zip(report.fault_paths, report.faults, strict=True)
        if path not in near and not any(path[:length] in patches for length in range(1, len(path)))
    ]


def _in_order(faults: list[Fault]) -> tuple[Fault, ...]:
    return tuple(sorted(faults, key=lambda f: (f.line == 0, f.line, f.column)))


def load(shoot: str | Path) -> Shoot:
    """The shoot of a folder or file, composed.

    Raises
    ------
    ShootFault
        With every fault of the file.
    """
    checked = check(shoot)
    if checked.shoot is None:
        raise ShootFault(checked.faults)
    return checked.shoot
