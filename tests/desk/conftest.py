"""A running desk for the tests of a module."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest

from desk_on_air import DeskOnAir, desk_on_air


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DeskOnAir]:
    """A desk of the small shoot, one for all tests of a module."""
    with desk_on_air(tmp_path_factory.mktemp("desk") / "ropewalk") as running:
        yield running


@pytest.fixture(scope="module")
def inside(desk: DeskOnAir) -> Iterator[httpx.Client]:
    """A client that has come in."""
    with closing(desk.browser()) as client:
        yield client


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "ropewalk"
