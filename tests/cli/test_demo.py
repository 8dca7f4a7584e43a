"""The demo verb: which shoot it takes, and how large its pictures may be."""

from __future__ import annotations

from pathlib import Path

import pytest

from sidelong.cli.demo import NAME, demo_shoot, fitting_width
from sidelong.errors import InputFault
from sidelong.shoot.check import check

ROOT = Path(__file__).resolve().parents[2]


def test_a_checkout_shows_its_own_shoot() -> None:
    assert demo_shoot(None) == ROOT / "demo" / NAME


def test_a_named_folder_gets_a_copy_that_has_no_fault(tmp_path: Path) -> None:
    placed = demo_shoot(tmp_path / "mine")
    assert placed == tmp_path / "mine"
    assert not check(placed).faults
    assert not (placed / "out").exists()
    (placed / "shoot.toml").write_text("changed")
    assert demo_shoot(placed) == placed
    assert (placed / "shoot.toml").read_text() == "changed"


def test_a_folder_that_holds_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(InputFault, match="holds something else"):
        demo_shoot(tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(
    ("took", "left", "pictures", "width"),
    [
        (60.0, 270.0, 3, 1200),  # fits
        (90.0, 250.0, 3, 1200),  # just short of it: a tenth over is let be
        (120.0, 90.0, 3, 600),  # a quarter of the time: half the width
        (600.0, -5.0, 2, 480),  # nothing left: drafts
        (0.0, 300.0, 1, 1200),
    ],
)
def test_pictures_fit_the_time(took: float, left: float, pictures: int, width: int) -> None:
    assert fitting_width(1200, took, left, pictures) == width


def test_drafts_stay_drafts() -> None:
    assert fitting_width(480, 500.0, 1.0, 3) == 480
