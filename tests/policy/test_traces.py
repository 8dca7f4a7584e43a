"""Nothing in the repository tells on which machine, or with which index, it was made; and what it names exists."""

from __future__ import annotations

import re

from source_tree import ROOT, report, text_of, tracked

# put together from pieces, so that this file does not hold what it looks for
HOSTS = [
    "py" + "pi.org",
    "python" + "hosted.org",
    "registry.npm" + "js.org",
    "registry.yarn" + "pkg.com",
    "ana" + "conda.org",
]
PLACES = ["/wo" + "rk/", "/ro" + "ot/", "/t" + "mp/", "/ho" + "me/", "/Us" + "ers/", r"[A-Z]:\\Us" + "ers"]
DOCUMENT = re.compile(r"(?<![\w/.-])((?:\.\./)*(?:[\w-]+/)*[\w.-]+\.md)\b")


def matches(pattern: str) -> list[str]:
    found = []
    for file in tracked():
        for number, line in enumerate(text_of(file).splitlines(), 1):
            if re.search(pattern, line):
                found.append(f"{file.relative_to(ROOT)}:{number} {line.strip()[:120]}")
    return found


def test_no_registry_is_named() -> None:
    faults = matches("|".join(re.escape(host) for host in HOSTS))
    assert not faults, report(faults, "Name the package, not the place that it came from.")


def test_no_path_of_a_machine() -> None:
    faults = matches(r"(?<![\w.])(?:" + "|".join(PLACES) + ")")
    assert not faults, report(faults, "Use a path from the checkout's root, or the test's own temporary folder.")


def test_documents_that_are_named_exist() -> None:
    faults = []
    for file in tracked():
        if file.suffix not in (".md", ".py", ".toml") or "reference" in file.name:
            continue
        for name in DOCUMENT.findall(text_of(file)):
            here = [ROOT / name, file.parent / name, ROOT / "docs" / name]
            if not any(place.exists() for place in here) and not list(ROOT.glob(f"src/**/{name}")):
                faults.append(f"{file.relative_to(ROOT)} names {name}")
    assert not faults, report(faults, "Name a document that is in this repository, by its path from the root.")
