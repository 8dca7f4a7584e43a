"""Write web/src/form/keys.json: every key of the shoot file with its meaning, for the forms of the desk's page.

Run it after a change to a key: python tools/make_desk_keys.py
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sidelong.shoot import words
from sidelong.shoot.meanings import meanings
from sidelong.shoot.schema import json_schema

PAGE = Path(__file__).resolve().parents[1] / "web" / "src" / "form" / "keys.json"
VOCABULARIES = {
    ("PersonTable", "skin"): words.SKIN,
    ("PersonTable", "clothes"): words.CLOTHES,
    ("PersonTable", "build"): words.BUILD,
    ("BlockTable", "kind"): words.BLOCK,
}
"""Keys that take a word of a list that is not closed; every finish takes one of the finishes."""


def keys_page() -> str:
    """The page as text."""
    tables = json_schema()["$defs"] | {"ShootFile": json_schema()}
    meant = meanings()
    keys = {name: _table(name, meant[name], table) for name, table in sorted(tables.items()) if name in meant}
    lists = {"finish": list(words.FINISH.words)}
    return json.dumps({"tables": keys, "words": lists}, ensure_ascii=False, indent=0, sort_keys=False) + "\n"


def _table(name: str, meant: Mapping[str, Any], table: Mapping[str, Any]) -> dict[str, Any]:
    found = {}
    for key, schema in table["properties"].items():
        meaning = meant[key]
        entry = {"means": meaning.text, "unit": meaning.unit, "usual": meaning.usual, **_kind(schema, meaning.unit)}
        if vocabulary := VOCABULARIES.get((name, key)):
            entry |= {"kind": "word", "choices": list(vocabulary.words)}
        found[key] = entry
    return found


def _kind(schema: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """How a key is asked for: the form's kind of field, with its choices or the table it holds."""
    options = [o for o in schema.get("anyOf", [schema]) if o.get("type") != "null"]
    tables = [o["$ref"].rsplit("/", 1)[-1] for o in options if "$ref" in o]
    if tables:
        return {"kind": "table", "table": tables[0]}
    choices = [o["enum"] for o in options if "enum" in o]
    if choices and len(options) == 1:
        return {"kind": "choice", "choices": choices[0]}
    types = {o.get("type", "any") for o in options}
    if types == {"boolean"}:
        return {"kind": "flag"}
    arrays = [o for o in options if o.get("type") == "array"]
    if arrays and "$ref" in arrays[0].get("items", {}):
        return {"kind": "tables", "table": arrays[0]["items"]["$ref"].rsplit("/", 1)[-1]}
    if unit in ("names", "ids"):
        return {"kind": unit}
    if unit == "finish":
        return {"kind": "finish"}
    if unit == "text":
        return {"kind": "text"}
    if arrays and types - {"array"}:
        return {"kind": "aim"}
    if arrays:
        return {"kind": "list"}
    return {"kind": "name" if unit in ("name", "id") else "value"}


if __name__ == "__main__":
    PAGE.write_text(keys_page(), encoding="utf-8")
