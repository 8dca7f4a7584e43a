"""Doubts: what can be computed, and is probably not what was meant."""

from __future__ import annotations

from sidelong.shoot.model import ShootFile
from sidelong.shoot.report import Report
from sidelong.shoot.values import Shoot


def find_doubts(model: ShootFile, shoot: Shoot, report: Report) -> None:
    """Note every doubt about a shoot that has no fault."""
