"""A modifier of the shoot file as a value: what it states, over what is usual for its kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from sidelong.light.distribution import total_flux
from sidelong.light.usual_modifiers import USUAL
from sidelong.light.values import Distribution, Modifier
from sidelong.shoot.model_kit import ModifierTable
from sidelong.shoot.words import FINISH

_SMALLEST_FRONT = 0.05
"""Of a luminaire file that names a point. [m]"""
_PANEL_REFLECTANCE = 0.8
_SCRIM_TRANSMISSION = 0.5
"""A white panel and one layer of diffusion: common practice, no source."""
_ROUND = ("reflector", "umbrella", "dish")


def compose_modifier(table: ModifierTable, luminaires: Mapping[str, Distribution]) -> Modifier:
    """The modifier; `luminaires` are the luminaire files that could be read."""
    pattern = luminaires.get(table.pattern) if table.pattern is not None else None
    usual = _usual(table) if pattern is None else _of_file(table, pattern)
    finish = None if table.finish is None else FINISH.known(table.finish)
    if finish is not None:
        # a finish of one's own brings its own reflectance
        usual = replace(usual, finish=finish, reflectance=0.0)
    stated = table.transmission, table.reflectance
    return replace(
        usual,
        id=table.id,
        shape=table.shape or usual.shape,
        size=(table.size[0], table.size[1]) if table.size else usual.size,
        beam=usual.beam if table.beam is None else table.beam,
        transmission=min(usual.transmission, 1.0 - (stated[1] or 0.0)) if stated[0] is None else stated[0],
        reflectance=min(usual.reflectance, 1.0 - (stated[0] or 0.0)) if stated[1] is None else stated[1],
        layers=table.layers,
        grid=table.grid,
        spill=usual.spill if table.spill is None else table.spill,
        deflector=usual.deflector if table.deflector is None else table.deflector,
        zoom=table.zoom or (),
    )


def _usual(table: ModifierTable) -> Modifier:
    """The row of its kind, or the plain figures of a plain kind, so that what passes and what returns fit."""
    row = USUAL.get(table.kind)
    if row is not None:
        return row
    assert table.kind in PLAIN
    solid, kind = 1.0 - (table.reflectance or 0.0), PLAIN[table.kind].kind
    half = min(_SCRIM_TRANSMISSION, solid)
    passed = {"scrim": half, "net": half, "flag": 0.0, "panel": 0.0}
    back = min(_PANEL_REFLECTANCE, 1.0 - (table.transmission or 0.0)) if kind == "panel" else 0.0
    return replace(PLAIN[table.kind], transmission=passed.get(kind, solid), reflectance=back)


def _of_file(table: ModifierTable, pattern: Distribution) -> Modifier:
    """A modifier that a luminaire file describes: what the shoot file does not state comes from there."""
    usual = USUAL.get(table.kind) or PLAIN[table.kind]
    passed = min(1.0, total_flux(pattern) / pattern.lamp_flux) if pattern.lamp_flux else 1.0
    return Modifier(
        id=table.id,
        kind=usual.kind,
        shape="disc" if pattern.round else "rectangle",
        size=(max(pattern.size[0], _SMALLEST_FRONT), max(pattern.size[1], _SMALLEST_FRONT)),
        transmission=passed,
        pattern=pattern,
    )


PLAIN: Mapping[str, Modifier] = {
    "reflector": Modifier("", "reflector", "disc"),
    "front": Modifier("", "front"),
    "umbrella": Modifier("", "umbrella", "disc"),
    "dish": Modifier("", "dish", "disc"),
    "panel": Modifier("", "panel"),
    "scrim": Modifier("", "scrim"),
    "net": Modifier("", "net"),
    "flag": Modifier("", "flag"),
}
"""The plain kinds, 0.2 m in size."""
