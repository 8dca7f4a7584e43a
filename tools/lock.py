#!/usr/bin/env python3
"""Remakes requirements/run.lock and requirements/test.lock from the .in files beside them.

    python3 tools/lock.py            keeps the pins that still fit
    python3 tools/lock.py --upgrade  takes the newest that fit

Needs `uv` (python3 -m pip install uv). The locks hold for every platform, carry a hash for every file and name no
host, so that any index or mirror serves them. test.lock is made under run.lock's pins: one environment fits both.
"""

import shutil
import subprocess
import sys
from pathlib import Path

REQUIREMENTS = Path(__file__).resolve().parents[1] / "requirements"
OPTIONS = ["--universal", "--generate-hashes", "--no-header", "--no-annotate", "--no-emit-index-url"]
OPTIONS += ["--python-version", "3.11", "--quiet"]


def main(arguments: list[str]) -> int:
    uv = shutil.which("uv") or str(Path(sys.executable).with_name("uv"))
    if not Path(uv).exists():
        print("tools/lock.py needs uv: python3 -m pip install uv", file=sys.stderr)
        return 1
    for name, pins in (("run", []), ("test", ["--constraint", "run.lock"])):
        command = [uv, "pip", "compile", *OPTIONS, *pins, *arguments, f"{name}.in", "--output-file", f"{name}.lock"]
        done = subprocess.run(command, cwd=REQUIREMENTS)
        if done.returncode:
            return done.returncode
        print(f"requirements/{name}.lock", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
