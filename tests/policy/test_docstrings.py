"""Docstrings answer: what it gives, shapes, units, frames, which error, which source."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator

from sidelong import errors, sources
from source_tree import ROOT, Function, functions, modules, parsed, report

ERRORS = {
    name
    for name, value in vars(errors).items()
    if inspect.isclass(value) and issubclass(value, errors.SidelongError) and value is not errors.SidelongError
}
KEY = re.compile(r"(?<![\w./-])([a-z][a-z_]+[0-9]+[a-z]?)(?![\w./-]*\()(?![\w-])")
SECTION = re.compile(r"(?m)^\s*(Parameters|Returns|Raises|Source)\n\s*-{3,}\n")


def docstrings() -> Iterator[tuple[str, str]]:
    """Where each docstring stands, and its text: of modules, classes, functions, and those under attributes."""
    for file in modules():
        for node in ast.walk(parsed(file)):
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                text = ast.get_docstring(node)
                if text:
                    yield f"{file.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}", text


def sections(text: str) -> dict[str, str]:
    """The sections of a docstring by name; "Source: ..." in running text counts as one."""
    parts = SECTION.split(inspect.cleandoc(text))
    found = dict(zip(parts[1::2], parts[2::2], strict=True))
    for line in re.findall(r"Source: (.*(?:\n(?!\n).*)*)", text):
        found["Source"] = found.get("Source", "") + "\n" + line
    return found


def entries(section: str) -> list[tuple[str, str]]:
    """(head, rest) of each `name : type` entry of a Parameters or Returns section."""
    blocks = re.split(r"(?m)^(?=\S)", section)
    return [(b.partition("\n")[0], b.partition("\n")[2]) for b in blocks if " : " in b.partition("\n")[0]]


def raised(function: Function) -> set[str]:
    """Typed errors that the function raises itself."""
    names = set()
    for node in ast.walk(function.node):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            called = node.exc.func
            name = called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")
            names |= {name} & ERRORS
    return names


def test_public_functions_have_docstrings() -> None:
    faults = [
        f.where for f in functions() if f.public and not f.name.endswith("__") and not ast.get_docstring(f.node)
    ]
    assert not faults, report(faults, "Say what it gives, in what shapes, units and frame, and when it fails.")


def test_modules_have_docstrings() -> None:
    faults = [str(file.relative_to(ROOT)) for file in modules() if not ast.get_docstring(parsed(file))]
    assert not faults, report(faults, "Open the file with one sentence on its one idea.")


def test_raised_errors_are_told() -> None:
    faults = []
    for function in functions():
        text = ast.get_docstring(function.node) or ""
        untold = sorted(name for name in raised(function) if name not in text)
        if function.public and untold:
            faults.append(f"{function.where} raises {', '.join(untold)}")
    assert not faults, report(faults, "Name the error in the docstring and say when it comes.")


def test_cited_sources_exist() -> None:
    faults = []
    for where, text in docstrings():
        unknown = sorted(set(KEY.findall(sections(text).get("Source", ""))) - set(sources.SOURCES))
        faults += [f"{where} cites {key}" for key in unknown]
    assert not faults, report(faults, "Add the key with its one-line citation to src/sidelong/sources.py.")


def test_sources_are_cited_somewhere() -> None:
    text = "\n".join(
        f.read_text(encoding="utf-8") for f in [*modules(), *ROOT.glob("tests/**/*.py"), *ROOT.glob("docs/**/*.md")]
    )
    idle = [key for key in sources.SOURCES if len(re.findall(rf"\b{key}\b", text)) < 2]
    assert not idle, report(idle, "Cite the source where it is used, or take it off the list.")


def test_quantities_carry_units_and_arrays_their_shape() -> None:
    faults = []
    for where, text in docstrings():
        found = sections(text)
        for head, rest in entries(found.get("Parameters", "")) + entries(found.get("Returns", "")):
            kind = head.partition(" : ")[2]
            if "float" in kind and "str" not in kind and "[" not in head + rest:
                faults.append(f"{where} {head}: no unit in brackets ([-] where it has none)")
            if "array" in kind and not re.search(r"\([^)]*\)", kind):
                faults.append(f"{where} {head}: no shape")
    assert not faults, report(faults, "Give the unit as [m], the shape as (N, 3).")
