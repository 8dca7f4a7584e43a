"""Habits that are refused: catch-all names, swallowed errors, hidden imports."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from source_tree import ROOT, functions, modules, parsed, report

CATCH_ALL_NAMES = {"util", "utils", "helper", "helpers", "common", "manager", "managers", "misc", "shared", "stuff"}
LATE = "# late: slow import"


def at(file: Path, node: ast.AST) -> str:
    return f"{file.relative_to(ROOT)}:{getattr(node, 'lineno', 0)}"


def test_modules_are_named_for_an_idea() -> None:
    faults = [
        str(file.relative_to(ROOT))
        for file in modules()
        if {part.lower().removesuffix(".py") for part in file.relative_to(ROOT).parts} & CATCH_ALL_NAMES
    ]
    assert not faults, report(faults, "Name the module for the one idea that it holds.")


def carries_on(handler: ast.ExceptHandler) -> bool:
    """Whether a handler of everything goes on as if nothing had happened."""
    names = [n.id for n in ast.walk(handler.type) if isinstance(n, ast.Name)] if handler.type else ["BaseException"]
    if not {"Exception", "BaseException"} & set(names):
        return False
    return not any(isinstance(node, ast.Raise | ast.Return) for node in ast.walk(handler))


def test_no_error_is_swallowed() -> None:
    faults = [
        at(file, node)
        for file in modules()
        for node in ast.walk(parsed(file))
        if isinstance(node, ast.ExceptHandler) and carries_on(node)
    ]
    assert not faults, report(faults, "Catch the errors that you expect, by name, or raise one of ours from it.")


def late_imports() -> Iterator[tuple[Path, ast.stmt]]:
    for file in modules():
        for outer in ast.walk(parsed(file)):
            if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef):
                for node in ast.walk(outer):
                    if isinstance(node, ast.Import | ast.ImportFrom):
                        yield file, node


def test_late_imports_say_why() -> None:
    faults = []
    for file, node in late_imports():
        line = file.read_text(encoding="utf-8").splitlines()[node.lineno - 1]
        if LATE not in line:
            faults.append(f"{at(file, node)} {line.strip()}")
    assert not faults, report(faults, f"Import at the top; or, if the import is slow, mark the line: {LATE}")


def passes_through(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether the function hands on its own **keywords, whatever they are."""
    if node.args.kwarg is None:
        return False
    calls = [inner for inner in ast.walk(node) if isinstance(inner, ast.Call)]
    blind = [word.value for call in calls for word in call.keywords if word.arg is None]
    return any(isinstance(value, ast.Name) and value.id == node.args.kwarg.arg for value in blind)


def test_no_keywords_are_passed_through_blindly() -> None:
    faults = [f.where for f in functions() if passes_through(f.node)]
    assert not faults, report(faults, "Name the keywords that the function takes instead of handing on **keywords.")


def test_names_do_not_differ_by_case_alone() -> None:
    """Two functions, or two classes; a function may give a value of the class of its name (blur, Blur)."""
    faults = []
    for file in modules():
        seen: dict[tuple[type, str], str] = {}
        for node in parsed(file).body:
            name = getattr(node, "name", None)
            if name and seen.setdefault((type(node), name.lower()), name) != name:
                faults.append(f"{at(file, node)} {name} and {seen[type(node), name.lower()]}")
    assert not faults, report(faults, "Give one of the two another name.")
