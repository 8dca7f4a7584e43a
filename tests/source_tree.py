"""The project's files as the policy tests read them."""

from __future__ import annotations

import ast
import os
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "src" / "sidelong"
_LEFT_OUT = {".git", ".venv", ".sidelong", "__pycache__", "out", "dist", "build", "node_modules", ".hypothesis"}


@dataclass(frozen=True)
class Function:
    """A function or method with where it stands; `public` if neither it nor what holds it starts with _."""

    file: Path
    name: str
    node: ast.FunctionDef | ast.AsyncFunctionDef
    public: bool

    @property
    def where(self) -> str:
        return f"{self.file.relative_to(ROOT)}:{self.node.lineno} {self.name}"


@cache
def modules() -> tuple[Path, ...]:
    """Every Python file of the package."""
    return tuple(sorted(PACKAGE.rglob("*.py")))


@cache
def parsed(file: Path) -> ast.Module:
    return ast.parse(file.read_text(encoding="utf-8"), filename=str(file))


@cache
def functions() -> tuple[Function, ...]:
    """Every function and method of the package; not those nested in functions."""
    return tuple(found for file in modules() for found in _in_body(file, parsed(file).body, "", True))


def _in_body(file: Path, body: list[ast.stmt], inside: str, public: bool) -> Iterator[Function]:
    for node in body:
        if isinstance(node, ast.ClassDef):
            yield from _in_body(file, node.body, f"{inside}{node.name}.", public and not node.name.startswith("_"))
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield Function(file, inside + node.name, node, public and not node.name.startswith("_"))


@cache
def tracked() -> tuple[Path, ...]:
    """Every file under version control, and new ones not ignored; without git, every file that is no output."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    try:
        listed = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout.decode()
        names = [ROOT / name for name in listed.split("\0") if name]
    except (OSError, subprocess.CalledProcessError):
        names = [Path(folder) / name for folder, _, files in _walk() for name in files]
    return tuple(sorted(name for name in names if name.is_file()))


def _walk() -> Iterator[tuple[str, list[str], list[str]]]:
    for folder, inside, files in os.walk(ROOT):
        inside[:] = [name for name in inside if name not in _LEFT_OUT]
        yield folder, inside, files


@cache
def text_of(file: Path) -> str:
    """The file's text; empty if it is not text."""
    data = file.read_bytes()
    return "" if b"\0" in data[:8192] else data.decode("utf-8", errors="replace")


def report(faults: list[str], advice: str) -> str:
    """A failed check's message: every fault on its line, then what to do."""
    return "\n" + "\n".join(faults) + "\n" + advice
