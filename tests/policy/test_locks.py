"""The locks: every file hashed, no host named, one environment for running and testing."""

from __future__ import annotations

import re

import pytest

from source_tree import ROOT, report

PIN = re.compile(r"(?m)^([A-Za-z0-9._-]+)==(\S+)(?: ; ([^\\\n]+))?")
REMAKE = "Remake the locks: python3 tools/lock.py"


def lock(name: str) -> str:
    return (ROOT / "requirements" / f"{name}.lock").read_text()


def pins(name: str) -> set[tuple[str, str]]:
    return {(found[1], found[2]) for found in PIN.finditer(lock(name))}


@pytest.mark.parametrize("name", ["run", "test"])
def test_every_pin_has_hashes(name: str) -> None:
    blocks = re.split(r"(?m)^(?=[A-Za-z0-9])", lock(name))
    bare = [block.splitlines()[0] for block in blocks if block.strip() and "--hash=sha256:" not in block]
    assert pins(name)
    assert not bare, report(bare, REMAKE)


@pytest.mark.parametrize("name", ["run", "test"])
def test_no_host_is_named(name: str) -> None:
    hosts = re.findall(r"(?m)^.*(?:://|--index|--find-links|@ ).*$", lock(name))
    assert not hosts, report(hosts, REMAKE)


def test_the_tests_environment_runs_the_product_too() -> None:
    missing = sorted(f"{name}=={version}" for name, version in pins("run") - pins("test"))
    assert not missing, report(missing, REMAKE + " (test.lock must hold every pin of run.lock)")


@pytest.mark.parametrize("name", ["run", "test"])
def test_every_requirement_is_locked(name: str) -> None:
    wanted = re.findall(r"(?m)^([A-Za-z][A-Za-z0-9._-]*)", (ROOT / "requirements" / f"{name}.in").read_text())
    locked = {pin.lower().replace("_", "-") for pin, _ in pins(name)}
    missing = [need for need in wanted if need.lower().replace("_", "-") not in locked]
    assert not missing, report(missing, REMAKE)
