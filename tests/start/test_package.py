"""The package that plain pip installs is whole: modules, tables, fonts, figures, demo shoots, the command."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from source_tree import PACKAGE, ROOT, tracked


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return next(folder.glob("*.whl"))


def test_wheel_holds_every_file_of_the_package(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    wanted = {f"sidelong/{file.relative_to(PACKAGE).as_posix()}" for file in tracked() if PACKAGE in file.parents}
    assert wanted - held == set()


def test_wheel_holds_the_demo_shoots_and_nothing_made_from_them(wheel: Path) -> None:
    held = zipfile.ZipFile(wheel).namelist()
    assert "sidelong/demo/net-loft/shoot.toml" in held
    assert not [name for name in held if "/out/" in name or name.endswith((".pyc", ".lock", ".part"))]


def test_installed_package_runs_away_from_the_checkout(wheel: Path, tmp_path: Path) -> None:
    target = tmp_path / "site"
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", str(target)]
    done = subprocess.run([*pip, str(wheel)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    say = "import sidelong, sidelong.cli, sys; print(sidelong.__file__); sys.exit(sidelong.cli.main(sys.argv[1:]))"
    command = [sys.executable, "-c", say, "check", str(target / "sidelong" / "demo" / "net-loft")]
    path = {**os.environ, "PYTHONPATH": str(target)}
    ran = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, env=path)
    assert Path(ran.stdout.splitlines()[0]).is_relative_to(target), ran.stderr
    assert ran.returncode == 0, ran.stderr
    assert (target / "bin" / "sidelong").exists() or (target / "Scripts").exists() or sys.platform == "win32"
