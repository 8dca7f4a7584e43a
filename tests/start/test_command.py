"""The installed command answers, and soon."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from sidelong import __version__
from sidelong.cli.app import VERBS


def command() -> Path:
    return Path(sys.executable).with_name("sidelong.exe" if sys.platform == "win32" else "sidelong")


def test_help_comes_within_a_second() -> None:
    """The best of up to five: a start may have to share the machine, the work in it may not take a second."""
    spent = []
    while len(spent) < 5 and not (spent and min(spent) < 1.0):
        began = time.perf_counter()
        done = subprocess.run([command(), "--help"], capture_output=True, text=True)
        spent.append(time.perf_counter() - began)
        assert done.returncode == 0, done.stderr
        assert all(verb in done.stdout for verb in VERBS)
    assert min(spent) < 1.0, f"help took {min(spent):.2f} s at best: something slow is imported at the top"


def test_version() -> None:
    done = subprocess.run([command(), "--version"], capture_output=True, text=True)
    assert done.returncode == 0
    assert __version__ in done.stdout


def test_help_imports_nothing_slow() -> None:
    slow = {"mitsuba", "drjit", "pvlib", "colour", "trimesh", "typst", "pandas", "scipy", "numpy", "pydantic"}
    code = "import sys; from sidelong.cli import main; main(['--help']); print(*sys.modules, file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert not slow & set(done.stderr.split())


def test_stray_word_is_an_input_fault() -> None:
    done = subprocess.run([command(), "dance"], capture_output=True, text=True)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
