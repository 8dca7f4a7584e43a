"""A drag goes on from the answer before it, and says what the full plan says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from desk_on_air import SMALL
from sidelong.desk.live import Followed, Live
from sidelong.desk.messages import LiveRequest
from sidelong.desk.store import ShootStore
from sidelong.lens.solve import Found
from sidelong.plan.focus import plan_focus_following, plan_focus_live
from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot, Shot

FOUND = (
    SMALL.replace('sharp = ["Ada"]', 'sharp = ["Ada", "far wall"]', 1)
    .replace('[shots.movement]\nswing = 3\ntilt = 0\nfocus_on = "Ada"\n', "", 1)
    .replace("aperture = 4\n", "", 1)
)
ALONG = [(0.012 * k, 0.007 * k) for k in range(12)]
"""Ada's steps in a drag, from where she stands. [m]"""


@pytest.fixture
def found(tmp_path: Path) -> tuple[Shoot, Shot]:
    """A shot whose movement and stop are found, with somebody to be soft."""
    (tmp_path / "shoot.toml").write_text(FOUND)
    shoot = load(tmp_path)
    shot = shoot.shots[0]
    assert (shot.movement, shot.sharp, shot.soft) == (None, ("Ada", "far wall"), ("Bo",)), shot
    return shoot, shot


def moved(shoot: Shoot, step: tuple[float, float]) -> Shoot:
    ada, *others = shoot.people
    x, y, z = ada.at
    return replace(shoot, people=(replace(ada, at=(x + step[0], y + step[1], z)), *others))


def test_every_step_of_a_drag_is_the_full_answer_within_a_ten_thousandth(found: tuple[Shoot, Shot]) -> None:
    """lens.live's tolerance, and a tenth of it more for the sum of both."""
    shoot, shot = found
    last: Found | None = None
    for step in ALONG:
        now = moved(shoot, step)
        planned, last = plan_focus_following(now, shot, last)
        full = plan_focus_live(now, shot)
        assert last is not None
        wider = 0.98 * shot.lens.widest  # stops wider than the lens opens are only told to be so
        assert max(planned.widest_f, wider) == pytest.approx(max(full.widest_f, wider), rel=1.1e-4)
        assert planned.soft_least == pytest.approx(full.soft_least, rel=1.1e-4)
        assert planned.setting.f_number == full.setting.f_number
        sharp = [p.blur_major or 0.0 for p in planned.points if p.wanted == "sharp"]
        assert max(sharp) <= planned.blur_limit * (1 + 1e-6)


def test_a_movement_that_is_given_leaves_nothing_to_follow(found: tuple[Shoot, Shot], tmp_path: Path) -> None:
    given = tmp_path / "given"
    given.mkdir()
    (given / "shoot.toml").write_text(SMALL)
    other = load(given)
    _, last = plan_focus_following(*found, None)
    assert last is not None
    planned, kept = plan_focus_following(other, other.shots[0], last)
    assert kept is None
    assert planned.setting == plan_focus_live(other, other.shots[0]).setting


def put(path: list[Any], value: Any) -> dict[str, Any]:
    return {"op": "set", "path": path, "value": value}


def test_what_was_followed_is_let_go_with_the_next_version(tmp_path: Path) -> None:
    (tmp_path / "shoot.toml").write_text(FOUND)
    store = ShootStore(tmp_path)
    live, followed = Live(lambda: store.good() or store.now()), Followed()
    asked = LiveRequest.model_validate(
        {"seq": 1, "shot": "both", "edits": [put(["people", {"is": "Ada"}, "at"], [3.05, 2.45])]}
    )
    assert live.answer(asked, followed)["focus"]
    revision = store.now().revision
    kept = followed.last(revision, "both")
    assert kept is not None
    assert followed.last(revision, "another") is None
    again = live.answer(asked, followed)
    assert again["focus"]["lens"]["swing_deg"] == pytest.approx(
        live.answer(asked)["focus"]["lens"]["swing_deg"], abs=0.01
    )
    assert followed.last(revision + 1, "both") is None
