"""The command line: one verb per question of a shoot.

A verb is one file, `cli/<verb>.py`, with one function of the verb's name, and one line in `app.VERBS`. The function
takes typed arguments (cyclopts makes the command line of them), computes through the layers below, and prints
through `answer`: data on standard output, talk on standard error. It raises errors of `sidelong.errors` and never
ends the process itself; `answer.ending` alone turns errors into words and exit codes.
"""

from __future__ import annotations

from sidelong.cli.app import main

__all__ = ["main"]
