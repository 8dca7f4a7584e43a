"""The JSON Schema of the shoot file."""

from __future__ import annotations

from typing import Any

from sidelong.shoot.model import ShootFile


def json_schema() -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) that the models make: for editors, and for whoever writes a shoot by program.

    It describes the written form: lengths bare or with units, marks as marked. Source: jsonschema2020.
    """
    schema = ShootFile.model_json_schema(mode="validation")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Sidelong shoot file, version 1",
        **{key: value for key, value in schema.items() if key != "title"},
    }
