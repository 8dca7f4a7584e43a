"""A process that traces light for the desk: jobs come in as lines of JSON, what goes on goes out as lines of JSON.

It ends when the desk ends, however that ends: its input closes, and it is gone within a moment.
"""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from queue import SimpleQueue
from typing import Any, TextIO

from sidelong.errors import SidelongError
from sidelong.shoot.check import check_document
from sidelong.shoot.document import parse
from sidelong.shoot.values import Shoot, Shot

Tell = Callable[[dict[str, Any]], None]
NICER = 8
"""How far the process stands back behind the server that drags are answered from."""


def main() -> None:
    """Do jobs until the input closes."""
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # what libraries print goes with the talk, not between the answers
    if hasattr(os, "nice"):
        os.nice(NICER)
    for job in _jobs(sys.stdin):

        def tell(message: dict[str, Any]) -> None:
            out.write(json.dumps(message, allow_nan=False) + "\n")
            out.flush()

        tell(_done(job, tell))


def _jobs(lines: TextIO) -> Iterator[dict[str, Any]]:
    """Jobs as they come; the process ends at once when no more can come, whatever it is at."""
    waiting: SimpleQueue[dict[str, Any]] = SimpleQueue()

    def listen() -> None:
        for line in lines:
            waiting.put(json.loads(line))
        os._exit(0)

    threading.Thread(target=listen, daemon=True).start()
    while True:
        yield waiting.get()


def _done(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    from sidelong.desk.worker_jobs import JOBS  # late: slow import

    try:
        shoot, shot = _opened(job)
        return {"done": JOBS[job["what"]](shoot, shot, job, tell)}
    except SidelongError as error:
        return {"failed": str(error)}
    except Exception as error:
        return {"failed": f"the desk failed, and the fault is ours: {type(error).__name__}: {str(error)[:300]}"}


def _opened(job: dict[str, Any]) -> tuple[Shoot, Shot]:
    path = Path(job["path"])
    shoot = check_document(parse(path, job["text"])).asked
    assert shoot is not None
    found = [shot for shot in shoot.shots if shot.id == job["shot"]] or list(shoot.shots[:1])
    return shoot, found[0]


if __name__ == "__main__":
    main()
