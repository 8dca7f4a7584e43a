"""`sidelong schema`: the JSON Schema of the shoot file."""

from __future__ import annotations

import json

from sidelong.cli.answer import say
from sidelong.shoot.schema import json_schema


def schema() -> None:
    """Print the JSON Schema of the shoot file, for editors that complete and check TOML."""
    say(json.dumps(json_schema(), indent=2, ensure_ascii=False))
