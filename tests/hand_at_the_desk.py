"""Somebody at the desk's page who knows what a shoot file shall say, and makes it say so by mouse and keyboard."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from at_the_desk import drag, grip, saved, until
from desk_on_air import DeskOnAir

Table = Mapping[str, Any]
ELSEWHERE = ("lights", "openings", "rooms", "blocks", "meshes", "people", "marks", "shots", "kit", "sidelong")
"""Keys whose tables are things with forms of their own, and the file's version, which nobody types."""


def named(tables: Sequence[Table], name: str) -> Table:
    return next(one for one in tables if name in (one.get("name"), one.get("id")))


class Hand:
    """The page's form and sheet, worked as a person would."""

    def __init__(self, page: Any, desk: DeskOnAir) -> None:
        self.page, self.desk = page, desk

    def file(self) -> dict[str, Any]:
        """What the file says once all is saved."""
        saved(self.page)
        return tomllib.loads(self.desk.file.read_text(encoding="utf-8"))

    def press(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def add(self, what: str) -> None:
        """Put something new down; its form opens."""
        self.press("Add")
        self.page.get_by_role("menuitem", name=what, exact=True).click()
        self._opened()

    def once_more(self) -> None:
        """What the form shows, a second time."""
        before = self.page.locator(".form h3").inner_text()
        self.press("Once more")
        until(self.page, lambda: self.page.locator(".form h3").inner_text() != before)
        self._opened()

    def open(self, key: str) -> None:
        """Open the form of something on the sheet."""
        self.page.keyboard.press("Escape")
        grip(self.page, key).focus()
        self.page.keyboard.press("Enter")
        self._opened()

    def remove(self, key: str) -> None:
        """Take something off the sheet."""
        self.page.keyboard.press("Escape")
        grip(self.page, key).focus()
        self.page.keyboard.press("Delete")
        until(self.page, lambda: grip(self.page, key).count() == 0)

    def drag(self, key: str, by: tuple[float, float]) -> None:
        """Drag something on the sheet by metres, and wait until the file has it."""
        before = self.desk.file.read_bytes()
        drag(self.page, key, by)
        until(self.page, lambda: self.desk.file.read_bytes() != before)
        saved(self.page)

    def become(self, have: Table, want: Table, *tables: str) -> None:
        """Make the table in the form, or one inside it, say what is wanted and nothing else."""
        # first what is not wanted, which may not go with what stays; where that is refused, what excludes it will do
        for key in [key for key in have if key not in want and key not in ELSEWHERE]:
            if isinstance(have[key], dict):
                self.part(*tables).get_by_role("button", name=f"Leave out {key}", exact=True).click()
            else:
                self.write(key, None, *tables)
        for key, value in want.items():
            had = have.get(key)
            if key in ELSEWHERE or had == value:
                continue
            if isinstance(value, dict):
                self.become(had if isinstance(had, dict) else {}, value, *tables, key)
            elif isinstance(value, list) and value and isinstance(value[0], dict):
                self._list(key, value, *tables)
            else:
                self.write(key, value, *tables)

    def call(self, key: str, name: str) -> None:
        """Give what the form shows another name; the form is drawn anew for it."""
        self.write(key, name)
        until(self.page, lambda: self.page.locator(".form h3").inner_text() == name)

    def write(self, key: str, value: Any, *tables: str) -> None:
        """Write one key of the form; None leaves it out."""
        field = self.field(key, *tables)
        if field.locator(".chips").count():
            self._touch(field, value)
            return
        box = field.locator("input, select, textarea").first
        words = _words(value)
        if box.evaluate("b => b.tagName") == "SELECT":
            box.select_option(words)
        else:
            box.fill(words)
            box.press("Tab")

    def field(self, key: str, *tables: str) -> Any:
        """The field of a key, unfolded."""
        here = self.part(*tables)
        own = f'[data-field="{key}"]'
        field = here.locator(f":scope > .grid > {own}, :scope > details.more > .grid > {own}").first
        field.wait_for(state="attached")
        if not field.is_visible():
            here.locator(":scope > details.more > summary").click()
        return field

    def part(self, *tables: str) -> Any:
        """The form, or a table in it, unfolded; "wishes:1" is the second of a list."""
        here = self.page.locator(".form")
        for table in tables:
            name, _, item = table.partition(":")
            here = here.locator(f':scope > details[data-table="{name}"]')
            if here.get_attribute("open") is None:
                here.locator(":scope > summary").click()
            if item:
                here = here.locator(f':scope > [data-item="{item}"]')
        return here

    def _list(self, key: str, want: Sequence[Table], *tables: str) -> None:
        """A list of tables, from nothing."""
        for k, item in enumerate(want):
            self.part(*tables, key).get_by_role("button", name=f"Add to {key}", exact=True).click()
            self.part(*tables, f"{key}:{k}").wait_for()
            here: Any = self._shown()
            for step in (*tables, key):
                here = here[step]
            self.become(here[k], item, *tables, f"{key}:{k}")

    def _shown(self) -> Table:
        """The shot that the form shows, as the file has it."""
        return named(self.file()["shots"], self.page.locator(".form h3").inner_text())

    def _touch(self, field: Any, value: Any) -> None:
        """Names to be touched, in the order wanted; or yes and no."""
        wanted = [{True: "yes", False: "no"}[value]] if isinstance(value, bool) else _listed(value)
        chips = {chip.inner_text(): chip for chip in field.locator(".chips button").all()}
        for name, chip in chips.items():
            if chip.get_attribute("aria-pressed") == "true" and name not in wanted:
                chip.click()
                saved(self.page)
        for name in wanted:
            if chips[name].get_attribute("aria-pressed") != "true":
                chips[name].click()

    def _opened(self) -> None:
        saved(self.page)
        self.page.locator(".form").wait_for()


def _listed(value: Any) -> list[str]:
    return [] if value is None else [value] if isinstance(value, str) else list(value)


def _words(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, list):
        return ", ".join(_words(item) for item in value)
    return value.isoformat() if isinstance(value, datetime) else str(value)
