"""The page's types are made from what the server really says."""

from __future__ import annotations

import json

from sidelong.desk.app import schema
from source_tree import ROOT, report

API = ROOT / "web" / "src" / "api"


def test_the_committed_schema_is_the_servers() -> None:
    committed = json.loads((API / "schema.json").read_text(encoding="utf-8"))
    same = committed == json.loads(json.dumps(schema()))
    assert same, report(["web/src/api/schema.json"], "python tools/desk_schema.py, then npm run types in web/.")


def test_the_types_know_every_route_and_message() -> None:
    committed = json.loads((API / "schema.json").read_text(encoding="utf-8"))
    types = (API / "schema.d.ts").read_text(encoding="utf-8")
    names = [f'"{path}"' for path in committed["paths"]] + [f"{n}: " for n in committed["components"]["schemas"]]
    missing = [name for name in names if name not in types]
    assert not missing, report(missing, "npm run types in web/, and commit schema.d.ts with schema.json.")
