"""What a check finds: faults, which stop everything, and doubts, which stop nothing."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sidelong.errors import Fault
from sidelong.shoot.document import Document
from sidelong.shoot.lines import Path

if TYPE_CHECKING:
    from sidelong.light.values import Distribution


@dataclass(frozen=True)
class Doubt:
    """Something that can be computed but is probably not meant, and where (line and column from 1, 0 unknown)."""

    file: str
    line: int
    column: int
    text: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{where}: {self.text}"


@dataclass
class Report:
    """Collects what a check finds in one document."""

    document: Document
    faults: list[Fault] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    fault_paths: list[Path] = field(default_factory=list)
    luminaires: dict[str, Distribution] = field(default_factory=dict)
    """The luminaire files that could be read, by their path in the shoot file."""

    def fault(self, path: Path, found: str, expected: str, hint: str = "", of_key: bool = False) -> None:
        """Note a fault at a key path."""
        self.fault_paths.append(path)
        self.faults.append(self.document.fault(path, found, expected, hint, of_key))

    def beyond(self, path: Path, found: str, expected: str, hint: str = "") -> None:
        """Note a fault of what is well written, but beyond the kit or the optics."""
        self.fault(path, found, expected, hint)
        self.faults[-1] = replace(self.faults[-1], beyond=True)

    def doubt(self, path: Path, text: str) -> None:
        """Note a doubt at a key path."""
        line, column = self.document.lines.find(path)
        self.doubts.append(Doubt(self.document.name, line, column, text))

    def shots_at_fault(self) -> frozenset[int]:
        """Positions of the shots that have a fault."""
        return frozenset(p[1] for p in self.fault_paths if len(p) > 1 and p[0] == "shots" and isinstance(p[1], int))
