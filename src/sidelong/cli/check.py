"""`sidelong check`: every fault and every doubt of a shoot."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

from sidelong.cli.answer import json_answer, say, shoot_head, talk
from sidelong.errors import ShootFault
from sidelong.shoot import check as checking


def check(shoot: Path, /, *, json: bool = False) -> None:
    """List every fault and every doubt of a shoot; exit code 2 when there is a fault.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    json
        Print one JSON object.

    Raises
    ------
    ShootFault
        With every fault of the file.
    """
    checked = checking.check(shoot)
    if json:
        _print_json(checked)
    elif checked.shoot is not None:
        for doubt in checked.doubts:
            say(f"doubt: {doubt}")
        say(_summary(checked))
    if checked.faults:
        if not json:
            for doubt in checked.doubts:
                talk(f"doubt: {doubt}")
        raise ShootFault(checked.faults)


def _print_json(checked: checking.Checked) -> None:
    head: dict[str, Any] = {} if checked.shoot is None else shoot_head(checked.shoot)
    shots = [{"id": shot.id} for shot in checked.shoot.shots] if checked.shoot else []
    faults = [asdict(fault) for fault in checked.faults]
    doubts = [asdict(doubt) for doubt in checked.doubts]
    json_answer("check", head, shots, {"faults": faults, "doubts": doubts})


def _summary(checked: checking.Checked) -> str:
    assert checked.shoot is not None
    shoot = checked.shoot
    counts = (
        (len(shoot.shots), "shot", "shots"),
        (len(shoot.people), "person", "people"),
        (len(shoot.place.rooms), "room", "rooms"),
        (len(checked.doubts), "doubt", "doubts"),
    )
    return "no fault; " + ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in counts)
