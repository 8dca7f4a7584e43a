"""What the timings share."""

from pathlib import Path

import pytest

from sidelong.shoot.check import load


@pytest.fixture(scope="session")
def loft():
    """The net loft of the demo, composed."""
    return load(Path(__file__).resolve().parents[1] / "demo" / "net-loft")
