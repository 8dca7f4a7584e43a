"""Reading, changing and saving a shoot file."""

from __future__ import annotations

import os
import stat
import tomllib
from pathlib import Path

import pytest

from sidelong.errors import FileFault, ShootFault
from sidelong.shoot.document import PREVIOUS, open_document, save_text, set_value, shown

TEXT = """\
# the shoot of the year
sidelong = 1

[[people]]   # who
name = "Ada" # she
at = [1, 2]

[[shots]]
aperture = 4   # wide
[shots.camera]
at = [0, 0, 1.5]
"""


@pytest.fixture
def shoot(tmp_path: Path) -> Path:
    path = tmp_path / "shoot.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_one_line_changes_and_comments_stay(shoot: Path) -> None:
    set_value(shoot.parent, ("shots", 0, "aperture"), 2.8)
    before, after = TEXT.splitlines(), shoot.read_text().splitlines()
    assert [line for line in after if line not in before] == ["aperture = 2.8   # wide"]
    assert len(before) == len(after)
    assert (shoot.parent / f"shoot.toml{PREVIOUS}").read_text() == TEXT


def test_keys_can_be_added_and_taken_away(shoot: Path) -> None:
    set_value(shoot, ("shots", 0, "camera", "level"), True)
    set_value(shoot, ("people", 0, "at", 1), "8 ft 2 in")
    set_value(shoot, ("shots", 0, "aperture"), None)
    data = tomllib.loads(shoot.read_text())
    assert data["shots"] == [{"camera": {"at": [0, 0, 1.5], "level": True}}]
    assert data["people"][0]["at"] == [1, "8 ft 2 in"]
    assert "# the shoot of the year" in shoot.read_text()


def test_line_ends_and_mode_stay(shoot: Path) -> None:
    shoot.write_bytes(TEXT.replace("\n", "\r\n").encode())
    shoot.chmod(0o640)
    set_value(shoot, ("shots", 0, "aperture"), 8)
    raw = shoot.read_bytes()
    assert raw.count(b"\n") == raw.count(b"\r\n") == TEXT.count("\n")
    assert stat.S_IMODE(shoot.stat().st_mode) == 0o640


@pytest.mark.parametrize("keys", [("shots", 3, "aperture"), ("nobody", "at"), ("shots", 0, "aperture", "x", "y")])
def test_a_path_that_leads_nowhere_changes_nothing(shoot: Path, keys: tuple[str | int, ...]) -> None:
    with pytest.raises(ShootFault, match="no "):
        set_value(shoot, keys, 1)
    assert shoot.read_text() == TEXT
    assert os.listdir(shoot.parent) == ["shoot.toml"]


@pytest.mark.parametrize("raw", [b"sidelong = \xff", b"sidelong = [[[", b"", b"a = nan\n"])
def test_what_could_not_be_read_is_never_written(shoot: Path, raw: bytes) -> None:
    shoot.write_bytes(raw)
    with pytest.raises(ShootFault):
        set_value(shoot, ("title",), "x")
    assert shoot.read_bytes() == raw
    assert os.listdir(shoot.parent) == ["shoot.toml"]


def test_a_value_that_would_spoil_the_file_is_not_written(shoot: Path) -> None:
    with pytest.raises(ShootFault):
        set_value(shoot, ("shots", 0, "aperture"), float("nan"))
    assert shoot.read_text() == TEXT


def test_saving_that_fails_leaves_the_file_and_no_rest(shoot: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileFault, match="No space left"):
        save_text(shoot, "sidelong = 1\n")
    assert shoot.read_text() == TEXT
    assert os.listdir(shoot.parent) == ["shoot.toml"]


def test_a_link_is_followed_when_saving(shoot: Path, tmp_path: Path) -> None:
    link = tmp_path / "by-link.toml"
    link.symlink_to(shoot)
    set_value(link, ("shots", 0, "aperture"), 8)
    assert link.is_symlink()
    assert "aperture = 8" in shoot.read_text()


def test_a_mark_of_byte_order_is_taken(shoot: Path) -> None:
    shoot.write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    assert open_document(shoot.parent).data["sidelong"] == 1


def test_what_is_shown_is_short_and_harmless() -> None:
    assert shown("a\x1b[31m\nb") == '"a\\u001b[31m\\u000ab"'
    assert len(shown("x" * 10_000)) < 100
    assert len(shown([["y" * 1000] * 100] * 100)) < 200
    assert shown(10**4000) == "a whole number of 13288 bits"
    assert shown({"a": 1, "b": 2}) == 'a table with "a", "b"'
    assert shown(True) == "true"
