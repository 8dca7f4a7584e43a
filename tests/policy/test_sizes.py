"""Files and functions stay small enough to be read in one go."""

from __future__ import annotations

import ast

from source_tree import ROOT, functions, modules, report

LONGEST_FILE = 400
LONGEST_FUNCTION = 60
MOST_ARGUMENTS = 7


def lines_without_docstring(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    assert node.end_lineno is not None
    length = node.end_lineno - node.lineno + 1
    first = node.body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str):
        assert first.end_lineno is not None
        length -= first.end_lineno - first.lineno + 1
    return length


def argument_names(node: ast.FunctionDef | ast.AsyncFunctionDef) -> list[str]:
    a = node.args
    return [arg.arg for arg in (*a.posonlyargs, *a.args, *a.kwonlyargs) if arg.arg not in ("self", "cls")]


def test_files_are_short() -> None:
    lengths = {file: len(file.read_text(encoding="utf-8").splitlines()) for file in modules()}
    faults = [f"{file.relative_to(ROOT)}: {n} lines" for file, n in lengths.items() if n > LONGEST_FILE]
    assert not faults, report(faults, f"At most {LONGEST_FILE} lines: split by idea, one file each.")


def test_functions_are_short() -> None:
    lengths = [(f.where, lines_without_docstring(f.node)) for f in functions()]
    faults = [f"{where}: {n} lines" for where, n in lengths if n > LONGEST_FUNCTION]
    assert not faults, report(faults, f"At most {LONGEST_FUNCTION} lines (docstring not counted): name its parts.")


def test_functions_take_few_arguments() -> None:
    counts = [(f.where, len(argument_names(f.node))) for f in functions()]
    faults = [f"{where}: {n} arguments" for where, n in counts if n > MOST_ARGUMENTS]
    assert not faults, report(faults, f"At most {MOST_ARGUMENTS}: gather what belongs together in a dataclass.")
