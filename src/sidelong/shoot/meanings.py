"""What every key of the shoot file means, read from the sentences under the keys of the models."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from sidelong.shoot import model, model_kit, model_place, model_shot
from sidelong.shoot.model_base import Table

_SENTENCE = re.compile(r"^(?P<text>.*?)\s*\[(?P<unit>[^;\]]*); (?P<usual>[^\]]*)\]$", re.DOTALL)


@dataclass(frozen=True)
class Meaning:
    """A key in words: what it means, in which unit a bare value counts, what is taken when it is left out."""

    text: str
    unit: str
    usual: str


def meanings() -> dict[str, dict[str, Meaning]]:
    """Table's class name -> key -> meaning, inherited keys included."""
    own: dict[str, dict[str, Meaning]] = {}
    parents: dict[str, list[str]] = {}
    for module in (model, model_place, model_kit, model_shot):
        for node in ast.parse(inspect.getsource(module)).body:
            if isinstance(node, ast.ClassDef):
                own[node.name] = dict(_sentences(node))
                parents[node.name] = [base.id for base in node.bases if isinstance(base, ast.Name)]
    return {name: {**_inherited(name, own, parents), **keys} for name, keys in own.items()}


def _inherited(name: str, own: dict[str, dict[str, Meaning]], parents: dict[str, list[str]]) -> dict[str, Meaning]:
    found: dict[str, Meaning] = {}
    for parent in parents.get(name, []):
        found |= _inherited(parent, own, parents) | own.get(parent, {})
    return found


def _sentences(node: ast.ClassDef) -> Iterator[tuple[str, Meaning]]:
    for key, sentence in zip(node.body, node.body[1:], strict=False):
        if not (isinstance(key, ast.AnnAssign) and isinstance(key.target, ast.Name)):
            continue
        if isinstance(sentence, ast.Expr) and isinstance(sentence.value, ast.Constant):
            parts = _SENTENCE.match(inspect.cleandoc(str(sentence.value.value)).replace("\n", " "))
            if parts is not None:
                yield key.target.id, Meaning(parts["text"], parts["unit"], parts["usual"])


def tables() -> dict[str, type[Table]]:
    """Every table of the shoot file, by its class name, from the whole file inwards."""
    found: dict[str, type[Table]] = {}

    def visit(kind: type[Table]) -> None:
        found.setdefault(kind.__name__, kind)
        for field in kind.model_fields.values():
            for inner in _tables_in(field.annotation):
                if inner.__name__ not in found:
                    visit(inner)

    visit(model.ShootFile)
    return found


def _tables_in(annotation: object) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for inner in get_args(annotation):
        yield from _tables_in(inner)
