"""The installed command answers, and soon."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sidelong import __version__
from sidelong.cli.app import VERBS


def command() -> Path:
    return Path(sys.executable).with_name("sidelong.exe" if sys.platform == "win32" else "sidelong")


def processor_time() -> float:
    """What programs that were run from here, and have ended, took of a processor. [s]"""
    times = os.times()
    return times.children_user + times.children_system


@pytest.mark.skipif(os.name == "nt", reason="this system does not add up the time of programs that were run")
def test_help_takes_less_than_a_second() -> None:
    """Of a processor's time: a busy machine may take longer on the clock, the work in it may not."""
    began = processor_time()
    done = subprocess.run([command(), "--help"], capture_output=True, text=True)
    spent = processor_time() - began
    assert done.returncode == 0, done.stderr
    assert all(verb in done.stdout for verb in VERBS)
    assert 0.0 < spent < 1.0, f"help took {spent:.2f} s: something slow is imported at the top"


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
