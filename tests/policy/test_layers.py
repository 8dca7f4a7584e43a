"""Who may import what: the floor plan's layers, and one room for each outside library."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from source_tree import PACKAGE, ROOT, modules, parsed, report

ROOMS = {
    "mitsuba": {"trace"},
    "drjit": {"trace"},
    "typst": {"sheet"},
    "pvlib": set(),
    "pandas": set(),
    "colour": set(),
    "tomlkit": {"shoot"},
    "pydantic": {"shoot", "desk"},
    "pydantic_core": {"shoot"},
    "fastapi": {"desk"},
    "starlette": {"desk"},
    "uvicorn": {"desk"},
    "watchfiles": {"desk"},
    "segno": {"desk"},
    "pyoidn": {"picture"},
    "OpenEXR": {"picture"},
    "trimesh": {"place", "people"},
    "cyclopts": {"cli"},
    "rich": {"cli"},
}
"""The packages of src/sidelong in which each library may be imported; with none, it is for tools and tests."""

IMPORTED_AS = {"colour-science": "colour", "openexr": "OpenEXR", "pillow": "PIL"}
NEVER_IMPORTED = {
    "websockets": "uvicorn speaks through it",
    "karellen-llvm-core": "its library is loaded by path in trace",
    "tzdata": "zoneinfo reads it",
    "editables": "the editable install needs it",
    "hatchling": "the build needs it",
}


def outside_imports() -> Iterator[tuple[Path, int, str]]:
    for file in modules():
        for node in ast.walk(parsed(file)):
            if isinstance(node, ast.Import):
                yield from ((file, node.lineno, name.name.split(".")[0]) for name in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                yield file, node.lineno, node.module.split(".")[0]


def test_layers_import_only_from_below() -> None:
    program = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([program, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, report([done.stdout], "Move what is shared to a lower layer, or pass it in.")


def test_each_library_has_its_room() -> None:
    faults = [
        f"{file.relative_to(ROOT)}:{line} imports {library}"
        for file, line, library in outside_imports()
        if library in ROOMS and file.relative_to(PACKAGE).parts[0] not in ROOMS[library]
    ]
    advice = (
        "Each library stays behind the package that ROOMS (in this file) names for it; use what that package gives."
    )
    assert not faults, report(faults, advice)


def test_nothing_comes_from_outside_that_is_not_required() -> None:
    ours = {*sys.stdlib_module_names, "sidelong", "pydantic_core", "starlette"}
    known = ours | {IMPORTED_AS.get(name, name) for name in requirements("run")}
    faults = [
        f"{file.relative_to(ROOT)}:{line} imports {library}"
        for file, line, library in outside_imports()
        if library not in known
    ]
    assert not faults, report(faults, "Add it to requirements/run.in and to pyproject.toml, or do without it.")


@pytest.mark.parametrize("name", ["run"])
def test_every_requirement_is_used(name: str) -> None:
    used = {library for _, _, library in outside_imports()}
    idle = [
        need
        for need in requirements(name)
        if need not in NEVER_IMPORTED and IMPORTED_AS.get(need, need).lower() not in {u.lower() for u in used}
    ]
    advice = "Nothing in src/ imports these: drop them from run.in and pyproject.toml (what tests need: test.in)."
    assert not idle, report(idle, advice)


def test_pyproject_asks_for_what_the_lock_brings() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = {_bare(line) for line in project["dependencies"]}
    brought = set(requirements("run")) - {"editables", "hatchling"}
    advice = "requirements/run.in and [project] dependencies must name the same packages."
    assert asked == brought, report(sorted(asked ^ brought), advice)


def requirements(name: str) -> list[str]:
    lines = (ROOT / "requirements" / f"{name}.in").read_text().splitlines()
    return [_bare(line) for line in lines if line.strip() and line[0] not in "#-"]


def _bare(requirement: str) -> str:
    for sign in "=<>!~;[ ":
        requirement = requirement.split(sign)[0]
    return requirement.strip().lower()
