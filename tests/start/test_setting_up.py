"""start.py: what is done once, what is done again, and what is said when it cannot be done.

A script stands in for the environment's Python: it notes how it was called, and as "pip" does what the test asks.
"""

from __future__ import annotations

import ast
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.skipif(os.name == "nt", reason="the stand-in is a script with a #! line")

LOCK = "alpha==1.0 \\\n    --hash=sha256:00\nmitsuba==3.9.1 ; python_version > '3' \\\n    --hash=sha256:11\n"

STAND_IN = """#!{python}
import pathlib, sys, time
root = pathlib.Path(__file__).absolute().parents[2]
with open(root / "calls", "a") as calls:
    calls.write(pathlib.Path(__file__).name + " " + " ".join(sys.argv[1:]) + "\\n")
orders = root / "orders"
if orders.exists():
    exec(orders.read_text())
(root / ".venv/bin/sidelong").touch()
"""


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("start", ROOT / "start.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


start = load()


def put_program(checkout: Path, name: str) -> None:
    program = checkout / ".venv" / "bin" / name
    program.parent.mkdir(parents=True, exist_ok=True)
    program.write_text(STAND_IN.format(python=sys.executable))
    program.chmod(0o755)


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A checkout with a .venv that somebody made, whose python is the stand-in."""
    (tmp_path / "requirements").mkdir()
    (tmp_path / "requirements" / "run.lock").write_text(LOCK)
    (tmp_path / "requirements" / "test.lock").write_text(LOCK + "pytest==9.0 \\\n    --hash=sha256:22\n")
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    shutil.copy(ROOT / "start.py", tmp_path)
    put_program(tmp_path, "python")
    (tmp_path / ".venv" / "pyvenv.cfg").write_text("version = 3.11\n")
    return tmp_path


def calls(checkout: Path) -> list[str]:
    """What was called since the last look."""
    log = checkout / "calls"
    found = log.read_text().splitlines() if log.exists() else []
    log.unlink(missing_ok=True)
    return found


def set_up(checkout: Path, lock: str = "run") -> list[str]:
    start.set_up(start.Checkout(checkout), lock)
    return calls(checkout)


def orders(checkout: Path, script: str | None) -> None:
    (checkout / "orders").unlink(missing_ok=True)
    if script is not None:
        (checkout / "orders").write_text(script)


# --- once, and again when something changed ---


def test_second_run_does_nothing(checkout: Path) -> None:
    first = set_up(checkout)
    assert len(first) == 3
    assert first[0] == "python -m pip --version"
    assert first[1].startswith("python -m pip install --require-hashes --no-deps")
    assert first[2] == "python -m pip install --no-deps --no-build-isolation -e ."
    assert set_up(checkout) == []


def test_new_lock_installs_the_packages_only(checkout: Path) -> None:
    set_up(checkout)
    (checkout / "requirements" / "run.lock").write_text(LOCK.replace("1.0", "1.1"))
    again = set_up(checkout)
    assert len(again) == 1
    assert "run.lock" in again[0]


def test_new_pyproject_installs_the_project_only(checkout: Path) -> None:
    set_up(checkout)
    (checkout / "pyproject.toml").write_text("[project]\nname = 'sidelong'\n")
    again = set_up(checkout)
    assert len(again) == 1
    assert again[0].endswith("-e .")


def test_lost_command_is_installed_again(checkout: Path) -> None:
    set_up(checkout)
    (checkout / ".venv" / "bin" / "sidelong").unlink()
    assert len(set_up(checkout)) == 1


def test_tests_environment_serves_the_demo(checkout: Path) -> None:
    assert any("test.lock" in call for call in set_up(checkout, "test"))
    assert set_up(checkout, "run") == []


def test_demo_environment_does_not_serve_the_tests(checkout: Path) -> None:
    set_up(checkout, "run")
    assert any("test.lock" in call for call in set_up(checkout, "test"))


def test_moved_checkout_gets_a_new_environment(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    set_up(checkout)
    moved = checkout.with_name("moved")
    checkout.rename(moved)
    made = []

    def venv(place: object, command: list[str], *_: object, **__: object) -> tuple[int, str]:
        made.append(command)
        return 0, ""

    monkeypatch.setattr(start, "run_logged", venv)
    start.make_environment(start.Checkout(moved))
    assert made[0][1:3] == ["-m", "venv"]


def test_environment_that_was_not_finished_is_made_anew(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (checkout / ".venv" / "unfinished").touch()
    monkeypatch.setattr(start, "run_logged", lambda *_, **__: (0, ""))
    start.make_environment(start.Checkout(checkout))
    assert not (checkout / ".venv" / "bin").exists()
    assert not (checkout / ".venv" / "unfinished").exists()


def test_foreign_environment_without_pip_is_left_alone(checkout: Path) -> None:
    orders(checkout, "sys.exit('No module named pip')")
    with pytest.raises(start.Halt, match="Move it away"):
        set_up(checkout)
    assert (checkout / ".venv" / "bin" / "python").exists()


# --- failures ---


def test_failed_packages_are_tried_again(checkout: Path) -> None:
    orders(checkout, "if 'install' in sys.argv: sys.exit('something broke')")
    with pytest.raises(start.Halt, match="something broke"):
        set_up(checkout)
    calls(checkout)
    orders(checkout, None)
    assert len(set_up(checkout)) == 2


@pytest.mark.parametrize(
    ("said", "advice"),
    [
        ("NewConnectionError: Temporary failure in name resolution", "PIP_FIND_LINKS"),
        ("THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE", "cache purge"),
        ("ERROR: [Errno 28] No space left on device", "disk is full"),
        ("SSLError CERTIFICATE_VERIFY_FAILED", "PIP_CERT"),
        ("ERROR: No matching distribution found for scipy==1.17.1", "no ready-built scipy for this machine"),
        ("one\ntwo\nthree", "    three"),
    ],
)
def test_what_went_wrong_is_explained(said: str, advice: str) -> None:
    assert advice in start.explain(said)


def test_without_pictures_where_the_renderer_cannot_be_had(checkout: Path, capfd: pytest.CaptureFixture[str]) -> None:
    refuse = "if 'install' in sys.argv and '-r' in sys.argv and 'mitsuba' in open(sys.argv[-1]).read():\n"
    orders(checkout, refuse + "    sys.exit('ERROR: No matching distribution found for mitsuba==3.9.1')")
    assert "run-without-pictures.lock" in set_up(checkout)[2]
    reduced = (checkout / ".sidelong" / "run-without-pictures.lock").read_text()
    assert reduced == "alpha==1.0 \\\n    --hash=sha256:00\n"
    capfd.readouterr()
    assert set_up(checkout) == []
    told = capfd.readouterr().err
    assert "no ready-built mitsuba" in told
    assert "still works" in told


def test_missing_libatomic_is_told(
    checkout: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "lacks_libatomic", lambda: True)
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    set_up(checkout)
    assert "sudo apt-get install libatomic1" in capfd.readouterr().err


# --- being stopped ---


def begin(checkout: Path) -> subprocess.Popen[str]:
    """A set-up whose pip takes its time, caught while it does."""
    orders(checkout, "if '-r' in sys.argv: open(root / 'busy', 'w').close(); time.sleep(1.5)")
    command = [sys.executable, str(checkout / "start.py"), "setup"]
    child = subprocess.Popen(command, cwd=checkout, text=True, stderr=subprocess.PIPE)
    deadline = time.monotonic() + 20
    while not (checkout / "busy").exists():
        assert time.monotonic() < deadline
        time.sleep(0.02)
    return child


@pytest.mark.parametrize(("sign", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_stopped_run_ends_cleanly_and_goes_on(checkout: Path, sign: int, code: int) -> None:
    child = begin(checkout)
    child.send_signal(sign)
    said = child.communicate(timeout=20)[1]
    assert child.returncode == code
    assert "Stopped. What was finished is kept" in said
    assert "Traceback" not in said
    assert not (checkout / ".venv" / "stamps" / "run").exists()
    calls(checkout)
    orders(checkout, None)
    assert [("-r" in call, "-e" in call) for call in set_up(checkout)] == [(True, False), (False, True)]


@pytest.mark.skipif(sys.platform != "linux", reason="the lock is handed to pip on Linux")
def test_killed_run_is_waited_for_and_recovered(checkout: Path) -> None:
    child = begin(checkout)
    child.kill()
    child.communicate(timeout=20)
    assert not (checkout / ".venv" / "stamps" / "run").exists()
    orders(checkout, None)
    command = [sys.executable, str(checkout / "start.py"), "setup"]
    again = subprocess.run(command, cwd=checkout, text=True, capture_output=True, timeout=60)
    assert again.returncode == 0, again.stderr
    assert "Another set-up is at work" in again.stderr
    assert (checkout / ".venv" / "stamps" / "project").exists()


def test_half_installed_packages_are_taken_away(checkout: Path) -> None:
    folder = checkout / ".venv" / "lib" / "python3.11" / "site-packages"
    for name in ("whole-1.0.dist-info", "half-1.0.dist-info", "~alf-0.9.dist-info"):
        (folder / name).mkdir(parents=True)
        (folder / name / "METADATA").touch()
    (folder / "whole-1.0.dist-info" / "RECORD").touch()
    start.drop_half_installed(start.Checkout(checkout))
    assert [info.name for info in folder.iterdir()] == ["whole-1.0.dist-info"]


# --- stamps ---


def test_hash_tells_parts_apart(tmp_path: Path) -> None:
    file = tmp_path / "lock"
    hashes = {start.content_hash("ab", "c"), start.content_hash("a", "bc"), start.content_hash(file)}
    file.write_text("")
    hashes |= {start.content_hash(file), start.content_hash("abc")}
    assert len(hashes) == 5
    assert start.content_hash(b"abc") == start.content_hash("abc")


def test_stamp_is_whole_or_absent(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = start.Checkout(checkout)
    start.stamp(place, "run", "old")

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", killed)
    with pytest.raises(KeyboardInterrupt):
        start.stamp(place, "run", "new")
    assert start.is_stamped(place, "run", "old")


# --- the command ---


def test_parses_on_old_pythons_and_needs_the_standard_library_only() -> None:
    tree = ast.parse((ROOT / "start.py").read_text(), feature_version=(3, 7))
    imported = {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    imported |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.split(".")[0] for name in imported} <= set(sys.stdlib_module_names)


def test_old_python_gets_a_sentence(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 1))
    assert start.main(["demo"]) == 2
    assert "needs Python 3.11 or newer" in capsys.readouterr().err


def test_nothing_asked_shows_the_verbs(capsys: pytest.CaptureFixture[str]) -> None:
    assert start.main([]) == 0
    told = capsys.readouterr().out
    assert all(f"start.py {verb}" in told for verb in start.VERBS)


def test_unknown_verb_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert start.main(["dance"]) == 2
    assert "There is no 'dance'" in capsys.readouterr().err


@pytest.mark.parametrize(("broken", "code"), [(None, 0), ("ruff", 1), ("lint-imports", 1), ("python", 3)])
def test_every_check_runs_and_pytest_closes(
    checkout: Path, capfd: pytest.CaptureFixture[str], broken: str | None, code: int
) -> None:
    for name in ("ruff", "mypy", "lint-imports"):
        put_program(checkout, name)
    set_up(checkout, "test")
    fails = {"python": "'pytest' in sys.argv", None: "False"}.get(broken, f"__file__.endswith({broken!r})")
    closing = "if 'pytest' in sys.argv: print('7 passed in 0.1s', flush=True)\n"
    orders(checkout, f"{closing}if {fails}: sys.exit(3)")
    assert start.test(start.Checkout(checkout), ["-k", "focus"]) == code
    names = [" ".join(call.split()[:2]) for call in calls(checkout)]
    assert names == ["ruff check", "ruff format", "mypy", "lint-imports", "python -m"]
    assert capfd.readouterr().out.splitlines()[-1] == "7 passed in 0.1s"
