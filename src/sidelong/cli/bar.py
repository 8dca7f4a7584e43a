"""A bar for work that takes over two seconds, on standard error."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sidelong.trace.values import Progress


@contextmanager
def bar(what: str) -> Iterator[Progress]:
    """A bar on standard error that a fraction done, 0 to 1, moves; it goes away when the work is done."""
    from rich.console import Console  # late: slow import
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeElapsedColumn  # late: slow import
    from rich.progress import Progress as Bars  # late: slow import

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TaskProgressColumn(),
        TimeElapsedColumn(),
    )
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task(what, total=1.0)
        yield lambda done: bars.update(task, completed=done)
