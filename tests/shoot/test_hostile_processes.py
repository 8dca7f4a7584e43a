"""Hostile shoots in a process of their own: two seconds of work and 500 MB at most, and no traceback.

Time is the processor's, so that a busy machine does not fail the test.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

SECONDS, MEGABYTES = 2.0, 500.0

pytestmark = pytest.mark.skipif(not os.path.exists("/proc/self/status"), reason="reads its own highest memory there")


def write(text: str) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(text.encode("utf-8", "surrogateescape"))  # type: ignore[return-value]


def hundred_megabytes(path: Path) -> None:
    with open(path, "wb") as file:
        for _ in range(100):
            file.write(b'title = "' + b"x" * 999_989 + b'"\n')


HOSTILE: dict[str, Callable[[Path], None]] = {
    "100 MB": hundred_megabytes,
    "a key of 200 MB, sparse": lambda p: os.truncate(os.open(p, os.O_CREAT | os.O_WRONLY), 200_000_000),
    "brackets": write("sidelong = 1\na = " + "[" * 250_000),
    "numbers": write("sidelong = 1\nbrief = [" + "1," * 125_000 + "]\n"),
    "tables": write("sidelong = 1\n" + "[[people]]\n" * 23_000),
    "inline tables": write("sidelong = 1\npeople = [" + "{a=1}," * 42_000 + "]\n"),
    "dotted keys": write("sidelong = 1\n" + "".join(f"a.b.c.d.k{i}.e = 1\n" for i in range(11_000))),
    "many names": write("sidelong = 1\n[[shots]]\ncamera = {at = [0,0,1]}\nsharp = [" + "'b'," * 60_000 + "]\n"),
    "escapes": write('sidelong = 1\ntitle = "' + "\\u0041" * 42_000 + '"\n'),
    "unended strings": write('sidelong = 1\ntitle = """' + '\\"""' * 60_000),
    "broken UTF-8 at the end": write("sidelong = 1\n" + "# x\n" * 60_000 + "\udcff"),
    "a pipe": os.mkfifo if hasattr(os, "mkfifo") else os.mkdir,
}


TOLD_AT_THE_END = """
import sys
from sidelong.cli import main
code = main(sys.argv[1:])
with open("/proc/self/status") as status:
    most = next(line for line in status if line.startswith("VmHWM"))
sys.stdout.flush()
sys.stderr.flush()
print(most.strip())
sys.exit(code)
"""
"""A process's own highest memory. What wait4 tells also counts the moment in which the child was still a copy of the
test's process, which may be large by then."""


def run(arguments: list[str]) -> tuple[int, str, float, float]:
    """Exit code, all that was said, processor time [s] and most memory [MB] of one command."""
    reader, writer = os.pipe()
    process = subprocess.Popen([sys.executable, "-c", TOLD_AT_THE_END, *arguments], stdout=writer, stderr=writer)
    os.close(writer)
    with open(reader, encoding="utf-8") as file:
        said = file.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    said, _, most = said.rpartition("VmHWM:")
    return process.returncode, said, usage.ru_utime + usage.ru_stime, float(most.split()[0]) / 1e3


@pytest.mark.parametrize("make", HOSTILE.values(), ids=HOSTILE.keys())
def test_bounded(tmp_path: Path, make: Callable[[Path], None]) -> None:
    make(tmp_path / "shoot.toml")
    before = os.listdir(tmp_path)
    code, said, seconds, megabytes = run(["check", str(tmp_path)])
    assert code == 2, said[:2000]
    assert "Traceback" not in said
    assert "found" in said
    assert len(said) < 20_000
    assert seconds < SECONDS
    assert megabytes < MEGABYTES
    assert os.listdir(tmp_path) == before
