"""What several commands take alike, with its one line of help."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

ShootPath = Annotated[Path, Parameter(help="The shoot's folder, or its file.")]
ShotId = Annotated[str | None, Parameter(help="Only this shot, by its id.")]
AsJson = Annotated[bool, Parameter(help="Print one JSON object.")]
