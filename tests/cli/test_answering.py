"""How commands answer: exit codes, what goes where, plain JSON, usage."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from sidelong.cli import answer, main
from sidelong.cli.app import VERBS
from sidelong.errors import BeyondMovement, InputFault, Missing
from sidelong.shoot.starter import starter_text


def raising(error: BaseException) -> Callable[[], None]:
    def run() -> None:
        raise error

    return run


ENDINGS = [
    (InputFault("found a, expected b"), 2, "found a, expected b"),
    (BeyondMovement("9 degrees", nearest="8 degrees can be had"), 3, "9 degrees; 8 degrees can be had"),
    (Missing("no library"), 1, "no library"),
    (KeyboardInterrupt(), 130, "stopped"),
    (RuntimeError("odd"), 1, "the fault is ours, not your shoot's: RuntimeError: odd"),
    (SystemExit(2), 2, ""),
    (SystemExit(None), 0, ""),
]


@pytest.mark.parametrize(("error", "code", "said"), ENDINGS, ids=[type(e[0]).__name__ for e in ENDINGS])
def test_endings(error: BaseException, code: int, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert answer.ending(raising(error)) == code
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.out == ""
    assert "Traceback" not in captured.err


def test_a_failure_of_ours_shows_where_when_asked(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(answer.TRACE, "1")
    assert answer.ending(raising(ValueError("odd"))) == 1
    assert "Traceback" in capsys.readouterr().err


def test_json_is_plain(capsys: pytest.CaptureFixture[str]) -> None:
    shot = {
        "a_m": np.float64(0.1),
        "b": np.arange(3),
        "c": float("inf"),
        "d": np.nan,
        "e": (1, None, True),
        "f": datetime(2026, 3, 14, 9, 30, tzinfo=UTC),
        "g": np.float32(0.5),
        "h": np.bool_(True),
        "é": Path("x"),
    }
    answer.json_answer("trial", {"title": "é"}, [shot], {"day": {}})
    said = json.loads(capsys.readouterr().out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert said["format"] == "sidelong.trial/1"
    assert said["day"] == {}
    assert said["shots"] == [
        {
            "a_m": 0.1,
            "b": [0, 1, 2],
            "c": None,
            "d": None,
            "e": [1, None, True],
            "f": "2026-03-14T09:30:00+00:00",
            "g": 0.5,
            "h": True,
            "é": "x",
        }
    ]


def test_tables_take_any_name_as_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    answer.show(answer.table("[bold]title", ["who", "µm"], [["[red]Ada[/red]", "12"]], right=[1]))
    out = capsys.readouterr().out
    assert "[red]Ada[/red]" in out
    assert "[bold]title" in out
    assert "\x1b" not in out


USAGE = [
    (["chek"], 'did you mean "check"?'),
    (["check"], "sidelong --help"),
    (["check", "a", "b"], "sidelong --help"),
    (["check", "a", "--jsn"], "sidelong --help"),
    (["--nothing"], "sidelong --help"),
]


@pytest.mark.parametrize(("words", "said"), USAGE, ids=[" ".join(u[0]) for u in USAGE])
def test_wrong_usage(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.out == ""


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    places = [out.index(f" {verb} ") for verb in VERBS]
    assert places == sorted(places), "the verbs stand in the order of the work"
    assert main(["--version"]) == 0
    assert main([]) == 0


def test_new_then_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "a" / "b"
    assert main(["new", str(folder)]) == 0
    assert capsys.readouterr().out == f"{folder / 'shoot.toml'}\n"
    assert (folder / "shoot.toml").read_text(encoding="utf-8") == starter_text()
    assert main(["check", str(folder)]) == 0
    assert main(["check", str(folder / "shoot.toml")]) == 0
    assert capsys.readouterr().err == ""


def test_the_starter_can_be_planned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", str(tmp_path)]) == 0
    capsys.readouterr()
    assert main(["focus", str(tmp_path), "--json"]) == 0
    (shot,) = json.loads(capsys.readouterr().out)["shots"]
    points = {point["name"]: point for point in shot["points"]}
    assert points["Inês"]["blur_major_um"] < 29 < points["Rui"]["blur_major_um"]
    assert points["Inês"]["in_picture"]
    assert points["Rui"]["in_picture"]


def test_new_overwrites_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shoot.toml").write_text("mine")
    assert main(["new", str(tmp_path)]) == 2
    assert "a shoot already" in capsys.readouterr().err
    assert (tmp_path / "shoot.toml").read_text() == "mine"
    assert main(["new", str(tmp_path / "shoot.toml")]) == 2
    assert main(["new", str(tmp_path / "shoot.toml" / "x")]) == 2
    assert os.listdir(tmp_path) == ["shoot.toml"]


def test_check_answers_machines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shoot.toml").write_text(starter_text().replace("iso = 200", "iso = 12800"), encoding="utf-8")
    assert main(["check", str(tmp_path), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["format"] == "sidelong.check/1"
    assert said["shots"] == [{"id": "potter"}]
    assert said["faults"] == []
    (doubt,) = said["doubts"]
    assert "ISO 12800" in doubt["text"]
    assert doubt["line"] > 100


def test_check_answers_machines_about_faults(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shoot.toml").write_text("sidelong = 1\ntitel = 'x'\n")
    assert main(["check", str(tmp_path), "--json"]) == 2
    captured = capsys.readouterr()
    (fault,) = json.loads(captured.out)["faults"]
    assert (fault["line"], fault["column"], fault["hint"]) == (2, 1, 'did you mean "title"?')
    assert "titel" in captured.err


def test_schema_is_one_and_knows_every_key(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    data = tomllib.loads(starter_text())
    assert set(data) <= set(schema["properties"])
    lens = schema["$defs"]["LensTable"]
    assert set(data["kit"]["lenses"][0]) <= set(lens["properties"])
    assert "degrees" in lens["properties"]["movement"]["description"]
    assert lens["additionalProperties"] is False
    assert set(lens["required"]) == {"id", "focal"}


def test_a_reader_that_leaves_is_no_failure() -> None:
    command = f'"{sys.executable}" -m sidelong schema | head -c 10; S=("${{PIPESTATUS[@]}}"); echo; echo "${{S[0]}}"'
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "0"
    assert done.stderr == ""


def test_any_character_goes_through_a_pipe_that_is_not_utf8(tmp_path: Path) -> None:
    (tmp_path / "shoot.toml").write_text(starter_text().replace("Rui", "Růžena ☂"), encoding="utf-8")
    text = (tmp_path / "shoot.toml").read_text(encoding="utf-8").replace('soft = ["Růžena ☂"]', "")
    (tmp_path / "shoot.toml").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "sidelong", "check", str(tmp_path)]
    surroundings = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run(command, capture_output=True, env=surroundings, check=True)
    assert "Růžena ☂" in done.stdout.decode("utf-8")
