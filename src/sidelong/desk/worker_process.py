"""The desk's end of a worker: begun when first needed, one job at a time, ended at once when a job is no longer
wanted."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from threading import Lock
from typing import Any

Hear = Callable[[dict[str, Any]], None]


class Stopped(Exception):
    """The job was ended before it was done."""


class Failed(Exception):
    """The job could not be done; str() says why."""


class WorkerProcess:
    """One process that does jobs."""

    def __init__(self) -> None:
        self._running: subprocess.Popen[str] | None = None
        self._lock = Lock()
        self._stopping = False

    def run(self, job: dict[str, Any], hear: Hear, wanted: Callable[[], bool] = lambda: True) -> Any:
        """What a job gives; waits for it. `hear` gets what is told on the way.

        Whoever lets a job go makes `wanted` say so and then calls `stop`: so it ends even where it was just about to
        begin.

        Raises
        ------
        Stopped
            It is not wanted, or `stop` was called meanwhile.
        Failed
            It cannot be done, or the process has died.
        """
        with self._lock:
            if not wanted():
                raise Stopped
            self._stopping = False
            process = self._ready()
        with suppress(BrokenPipeError):
            assert process.stdin is not None
            process.stdin.write(json.dumps(job) + "\n")
            process.stdin.flush()
        assert process.stdout is not None
        for line in process.stdout:
            message = json.loads(line)
            if "done" in message:
                return message["done"]
            if "failed" in message:
                raise Failed(message["failed"])
            hear(message)
        with self._lock:
            stopped, self._running = self._stopping, None
        process.wait()
        if stopped:
            raise Stopped
        raise Failed("the process that traces light has died (out of memory?); ask again")

    def stop(self) -> None:
        """End the job that is running, and its process with it."""
        with self._lock:
            self._stopping = True
            if self._running is not None:
                self._running.kill()

    def _ready(self) -> subprocess.Popen[str]:
        if self._running is None or self._running.poll() is not None:
            self._running = subprocess.Popen(
                [sys.executable, "-m", "sidelong.desk.worker"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                encoding="utf-8",
                start_new_session=True,
            )
        return self._running
