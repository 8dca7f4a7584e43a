"""Write the description of the desk's routes and messages, from which the page's types are made.

Run it after a change to a message or route, then `npm run types` in web/: python tools/desk_schema.py
"""

from __future__ import annotations

import json
from pathlib import Path

from sidelong.desk.app import schema

PAGE = Path(__file__).resolve().parents[1] / "web" / "src" / "api" / "schema.json"


def schema_text() -> str:
    """The file's text."""
    return json.dumps(schema(), ensure_ascii=False, indent=1, sort_keys=False) + "\n"


if __name__ == "__main__":
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(schema_text(), encoding="utf-8")
