"""Faces, figures and least blurs asked for in the shoot file, through `sidelong focus --json`."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from desk_on_air import SMALL
from sidelong.cli import main
from sidelong.shoot.edit_values import SetEdit
from sidelong.shoot.edits import apply_edits

FOUND = SMALL.replace('[shots.movement]\nswing = 3\ntilt = 0\nfocus_on = "Ada"\n', "", 1).replace(
    "aperture = 4\n", ""
)
EYES = 'sharp = ["Ada"]'


def focus_of(folder: Path, text: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any], str]:
    """Exit code, the one shot's answer ({} without), and what went to standard error."""
    (folder / "shoot.toml").write_text(text, encoding="utf-8")
    capsys.readouterr()
    code = main(["focus", str(folder), "--json"])
    out, err = capsys.readouterr()
    return code, (json.loads(out)["shots"][0] if out.strip() else {}), err


def test_a_part_is_held_whole_and_never_opens_the_stop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    widest = []
    for part in ("eyes", "face", "figure"):
        text = FOUND.replace(EYES, f'sharp = [{{ who = "Ada", part = "{part}" }}]')
        code, shot, _ = focus_of(tmp_path, text, capsys)
        assert code == 0
        widest.append(shot["bound"]["widest_f"])
        ada = next(w for w in shot["wishes"] if w["name"] == "Ada")
        assert (ada["wanted"], ada["part"], ada["met"], ada["short_um"]) == ("sharp", part, True, 0.0)
        assert ada["asked_um"] == pytest.approx(shot["blur_limit_um"])
        blurs = [p["blur_major_um"] for p in shot["parts"] if p["name"] == "Ada"]
        assert len(blurs) == {"eyes": 0, "face": 5}.get(part, len(blurs))
        if blurs:
            assert max(blurs) == pytest.approx(ada["reached_um"], rel=1e-6)
            assert max(blurs) <= shot["blur_limit_um"] * (1 + 1e-6)
    assert widest[0] <= widest[1] * (1 + 1e-6)
    assert widest[1] <= widest[2] * (1 + 1e-6)
    assert widest[2] > 2.8  # a figure is deeper than a face: this lens has to be stopped down


def test_a_least_blur_is_reached_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, shot, _ = focus_of(tmp_path, FOUND.replace('soft = ["Bo"]', 'soft = [{ who = "Bo", least = 60 }]'), capsys)
    assert code == 0
    bo = next(w for w in shot["wishes"] if w["name"] == "Bo")
    assert (bo["wanted"], bo["met"]) == ("soft", True)
    assert bo["asked_um"] == pytest.approx(60.0)
    assert bo["reached_um"] >= 60.0 * (1 - 1e-6)
    assert bo["reached_um"] == pytest.approx(
        next(p["blur_major_um"] for p in shot["points"] if p["name"] == "Bo"), rel=1e-6
    )


def test_what_comes_of_as_soft_as_can_be_can_be_asked_as_a_least(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, free, _ = focus_of(tmp_path, FOUND, capsys)
    assert code == 0
    for share in (0.8, 0.9, 0.97):
        least = share * free["bound"]["soft_least_um"]
        text = FOUND.replace('soft = ["Bo"]', f'soft = [{{ who = "Bo", least = {least:.3f} }}]')
        code, shot, said = focus_of(tmp_path, text, capsys)
        assert code == 0, said
        assert all(wish["met"] for wish in shot["wishes"])


def test_the_ways_out_of_a_least_blur_beyond_reach_work(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = FOUND.replace(EYES, 'sharp = [{ who = "Ada", part = "face" }, "far wall"]')
    text = text.replace('soft = ["Bo"]', 'soft = [{ who = "Bo", least = 30000 }]')
    code, shot, said = focus_of(tmp_path, text, capsys)
    assert code == 3
    assert "least blur" in said
    assert any("soft" in way["change"] for way in shot["ways_out"])
    for way in shot["ways_out"]:
        data = tomllib.loads(text)
        edits = [SetEdit(path=["shots", 0, *key.split(".")], value=value) for key, value in way["change"].items()]
        mended, _, _ = focus_of(tmp_path, apply_edits(text, data, edits).text, capsys)
        assert mended == 0, way


@pytest.mark.parametrize(
    ("sharp", "found"),
    [
        ('[{ who = "far wall", part = "face" }]', "far wall"),
        ('["Ada", { who = "Ada", part = "face" }]', "second time"),
        ('[{ who = "Ada", part = "elbow" }]', "elbow"),
        ('[{ who = "Ada", least = 9 }]', "least"),
    ],
)
def test_what_cannot_be_asked_is_a_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], sharp: str, found: str
) -> None:
    code, shot, said = focus_of(tmp_path, FOUND.replace(EYES, f"sharp = {sharp}"), capsys)
    assert (code, shot) == (2, {})
    assert found in said
    assert "shoot.toml:" in said


def test_the_card_says_it_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = FOUND.replace(EYES, 'sharp = [{ who = "Ada", part = "face" }]')
    text = text.replace('soft = ["Bo"]', 'soft = [{ who = "Bo", least = 60 }]')
    (tmp_path / "shoot.toml").write_text(text, encoding="utf-8")
    assert main(["focus", str(tmp_path), "--drawings=no"]) == 0
    card = capsys.readouterr().out
    assert "Ada, the whole face sharp:" in card
    assert "asked 60 µm" in card


def test_a_least_blur_that_first_order_from_the_widest_stop_does_not_promise(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path / "demo")]) == 0
    lines = (tmp_path / "demo" / "shoot.toml").read_text(encoding="utf-8").splitlines(keepends=True)
    text = "".join(line for line in lines if not line.startswith("aperture = 2.8"))
    text = text.replace('soft = ["Rui"]', 'soft = [{ who = "Rui", least = 1900 }]')
    code, shot, said = focus_of(tmp_path / "demo", text, capsys)
    assert code == 0, said
    assert all(wish["met"] for wish in shot["wishes"])
