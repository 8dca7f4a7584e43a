"""The JSON Schema of the shoot file."""

from __future__ import annotations

from typing import Any

from sidelong.shoot.meanings import Meaning, meanings
from sidelong.shoot.model import ShootFile


def json_schema() -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) that the models make: for editors, and for whoever writes a shoot by program.

    It describes the written form: lengths bare or with units, marks as marked. Source: jsonschema2020.
    """
    schema = ShootFile.model_json_schema(mode="validation")
    known = meanings()
    for name, table in schema["$defs"].items():
        _describe(table, known.get(name, {}))
    _describe(schema, known[ShootFile.__name__])
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Sidelong shoot file, version 1",
    }


def _describe(table: dict[str, Any], known: dict[str, Meaning]) -> None:
    """Put the meaning of each key beside its type; the models' defaults, in SI, would mislead and are left out."""
    for key, part in table.get("properties", {}).items():
        meaning = known[key]
        part.pop("title", None)
        part.pop("default", None)
        part["description"] = f"{meaning.text} [{meaning.unit}; {meaning.usual}]"
