"""Faults of structure: what pydantic found wrong with the tables, said in the file's own terms."""

from __future__ import annotations

import difflib
import types
from collections.abc import Iterable
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from sidelong.errors import Fault
from sidelong.shoot.document import Document, shown
from sidelong.shoot.lines import Path
from sidelong.shoot.model import ShootFile

MOST_FAULTS = 50
"""Faults listed at once; the rest are counted."""

_EXPECTED = {
    "missing": "{key}",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "float_type": "a number",
    "list_type": "a list in brackets",
    "tuple_type": "a list in brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "extra_forbidden": "a key of the format",
    "invalid_key": "a key of the format",
}


def nearest(word: str, known: Iterable[str]) -> str:
    """A hint naming the known word nearest to one that is unknown, or what there is to choose from; may be empty."""
    choices = sorted(set(known))
    if not choices:
        return ""
    lowered = {c.lower(): c for c in reversed(choices)}
    near = difflib.get_close_matches(word[:100].lower(), lowered, n=1, cutoff=0.6)
    if near:
        return f"did you mean {shown(lowered[near[0]])}?"
    if len(choices) <= 12:
        return f"there is {', '.join(shown(c) for c in choices)}"
    return ""


def validate(document: Document) -> tuple[ShootFile | None, list[Fault]]:
    """The model of a parsed document, or the faults that keep it from being one."""
    try:
        return ShootFile.model_validate(document.data), []
    except ValidationError as error:
        total = error.error_count()
        details = error.errors(include_url=False)[:MOST_FAULTS]
        faults = [_fault(document, detail) for detail in details]
        if total > MOST_FAULTS:
            rest = total - MOST_FAULTS
            faults.append(Fault(document.name, 0, 0, f"{rest} more faults", "none", "mend these first"))
        return None, faults


def _fault(document: Document, detail: Any) -> Fault:
    path: Path = tuple(detail["loc"])
    kind, value, context = detail["type"], detail["input"], detail.get("ctx", {})
    last = str(path[-1]) if path else ""
    if kind == "missing":
        where = ".".join(str(p) for p in path[:-1] if isinstance(p, str)) or "the file"
        return document.fault(path[:-1], f"no {last} in {shown(where)}", f"the key {last}", of_key=True)
    if kind in ("extra_forbidden", "invalid_key"):
        hint = nearest(last, _keys_at(path[:-1]))
        return document.fault(path, f"an unknown key {shown(last)}", "a key of the format", hint, of_key=True)
    if kind == "literal_error":
        choices = _choices_at(path)
        expected = " or ".join(shown(c) for c in choices) or context.get("expected", "")
        return document.fault(path, shown(value), expected, nearest(str(value), map(str, choices)))
    if kind == "sidelong":
        return document.fault(path, shown(value), context["expected"])
    if kind in ("too_long", "too_short"):
        actual, bound = context.get("actual_length"), context.get("max_length", context.get("min_length"))
        found = f"{actual or 'too many'} entries"
        return document.fault(path, found, f"at {'most' if kind == 'too_long' else 'least'} {bound}")
    expected = _EXPECTED.get(kind, detail["msg"][:1].lower() + detail["msg"][1:])
    return document.fault(path, shown(value), expected.removeprefix("input should be "))


def _annotation_at(path: Path) -> Any:
    """The annotation that the model gives to what stands at a path; None where the model has nothing there."""
    here: Any = ShootFile
    for step in path:
        here = _plain(here)
        if isinstance(step, int):
            here = (get_args(here) or (None,))[0]
        elif isinstance(here, type) and issubclass(here, BaseModel) and step in here.model_fields:
            here = here.model_fields[step].annotation
        else:
            return None
    return _plain(here)


def _plain(annotation: Any) -> Any:
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif get_origin(annotation) in (Union, types.UnionType):
            some = [a for a in get_args(annotation) if a is not type(None)]
            if len(some) != 1:
                return annotation
            annotation = some[0]
        else:
            return annotation


def _keys_at(path: Path) -> list[str]:
    model = _annotation_at(path)
    return list(model.model_fields) if isinstance(model, type) and issubclass(model, BaseModel) else []


def _choices_at(path: Path) -> list[Any]:
    annotation = _annotation_at(path)
    return list(get_args(annotation)) if get_origin(annotation) is Literal else []
