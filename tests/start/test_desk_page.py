"""Set-up of the desk's page and of a browser for its tests: once, again when a source changed, never fatal."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from source_tree import ROOT


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("start_of_the_page", ROOT / "start.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


start = load()

NPM = """#!{python}
import sys
from pathlib import Path
here = Path.cwd()
with open(here.parent / "calls", "a") as log: log.write(" ".join(sys.argv[1:]) + "\\n")
if (here.parent / "broken").exists(): sys.exit(1)
if sys.argv[1:] == ["run", "build"]:
    page = here.parent / "src/sidelong/desk/page"
    page.mkdir(parents=True, exist_ok=True)
    (page / "index.html").write_text("<html>")
"""


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout with a page's sources, and an npm that notes its calls."""
    (tmp_path / "web" / "src").mkdir(parents=True)
    (tmp_path / "web" / "package.json").write_text("{}")
    (tmp_path / "web" / "src" / "main.ts").write_text("let a = 1")
    npm = tmp_path / "npm"
    npm.write_text(NPM.format(python=sys.executable))
    npm.chmod(0o755)
    monkeypatch.setattr(start, "system_npm", lambda: [str(npm)])
    return tmp_path


def built(checkout: Path) -> list[str]:
    """What npm was asked for in one building."""
    log = checkout / "calls"
    log.unlink(missing_ok=True)
    start.build_page(start.Checkout(checkout))
    return log.read_text().splitlines() if log.exists() else []


BOTH = ["ci --ignore-scripts --no-audit --no-fund", "run build"]


def test_page_is_built_once(checkout: Path) -> None:
    assert built(checkout) == BOTH
    assert built(checkout) == []


def test_changed_source_builds_again(checkout: Path) -> None:
    built(checkout)
    (checkout / "web" / "src" / "main.ts").write_text("let a = 2")
    assert built(checkout) == BOTH


def test_fetched_packages_are_no_source(checkout: Path) -> None:
    built(checkout)
    (checkout / "web" / "node_modules").mkdir()
    (checkout / "web" / "node_modules" / "x.js").write_text("x")
    assert built(checkout) == []


def test_lost_page_is_built_again(checkout: Path) -> None:
    built(checkout)
    (checkout / "src/sidelong/desk/page/index.html").unlink()
    assert built(checkout) == BOTH


def test_failed_building_is_told_and_tried_again(checkout: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (checkout / "broken").touch()
    assert built(checkout) == BOTH[:1]
    assert "every other command works" in capfd.readouterr().err
    (checkout / "broken").unlink()
    assert built(checkout) == BOTH


def test_no_node_at_all_is_told(
    checkout: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "system_npm", lambda: None)
    monkeypatch.setattr(start, "packaged_npm", lambda *_: (None, ""))
    assert built(checkout) == []
    assert "Node 20.19" in capfd.readouterr().err


def test_page_without_sources_is_not_missed(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    start.build_page(start.Checkout(tmp_path))
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize(("said", "fits"), [("v20.19.0", True), ("v20.18.9", False), ("v24.1.0", True), ("?", False)])
def test_old_node_is_passed_over(said: str, fits: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("node", "npm"):
        (tmp_path / name).write_text(f"#!/bin/sh\necho '{said}'\n")
        (tmp_path / name).chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert (start.system_npm() is not None) is fits


def test_missing_browser_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("SIDELONG_BROWSER", raising=False)
    start.provide_browser(start.Checkout(tmp_path))
    assert "SIDELONG_BROWSER" in capfd.readouterr().err
    monkeypatch.setenv("SIDELONG_BROWSER", "anything")
    start.provide_browser(start.Checkout(tmp_path))
    assert capfd.readouterr().err == ""
