"""From a strobe as its maker describes it to the light that leaves what is put before it.

A head's flux is energy x power x efficacy x transmission. The efficacy is given, or follows from a guide number or
a meter's reading through the pattern of the modifier with which that was taken.

Source
------
iso1230 (guide number, C = 250: GN = sqrt(I t S / C), metres at ISO 100)
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.light.diffusion import stacked
from sidelong.light.distribution import tilted
from sidelong.light.gel import filtered
from sidelong.light.patterns import (
    axial_intensity,
    beam_exponent,
    grid_solid_angle,
    grid_transmission,
    illuminance_on_axis,
)
from sidelong.light.values import Emitter, Head, Modifier, Strobe, Vector
from sidelong.spectra.illuminants import flash
from sidelong.spectra.values import Spectrum

INCIDENT_CONSTANT = 250.0
"""Calibration in which guide numbers are quoted. [lx s]"""
REFLECTOR_BEAM = math.radians(60.0)
"""Beam of a reflector, dish or umbrella that states none and needs one; common practice, no source. [rad]"""
BARE_TUBE = (0.05, 0.05)
"""Size of the ball that stands for a bare tube under its dome. [m]"""


def emitter(head: Head, modifiers: Mapping[str, Modifier] | None = None) -> Emitter:
    """The light of a head as the shot sets it: at its power, through its modifier and gels.

    Parameters
    ----------
    head : Head
        Place frame. [m]
    modifiers : mapping of id to Modifier, optional
        The kit's, among which the one of the strobe's calibration is looked up.

    Returns
    -------
    Emitter
        A flash, flux in lumen seconds, or a steady lamp, flux in lumens. For a bounce it is the head itself; the
        surface it is turned at is part of the scene.

    Raises
    ------
    InputFault
        The strobe has no calibration, its calibration's modifier is unknown, a flag is mounted as a modifier, or
        the head is aimed at itself.
    """
    gelled, passed = _gelled(head)
    shape = shaped(head.modifier, head.strobe.id)
    axis, up = _axes(head)
    aslant = 1.0 if shape.table is None else tilted(shape.table, math.asin(max(-1.0, min(1.0, axis[2]))))
    flux = _leaving(head, modifiers or {}, shape) * head.power * passed * aslant
    lit = replace(shape, name=head.name, flux=flux, spectrum=gelled, at=head.at, axis=axis, up=up)
    return replace(lit, kind="steady") if head.strobe.steady else lit


def _leaving(head: Head, modifiers: Mapping[str, Modifier], shape: Emitter) -> float:
    """Flux that leaves the modifier at full power; of a head that zooms, by the guide number of its zoom. [lm s]"""
    zoomed = head.modifier.guide_number if head.modifier is not None else None
    if zoomed is not None and not head.strobe.steady:
        return axial_intensity_of_guide_number(zoomed) / axial_intensity(replace(shape, flux=1.0))
    return tube_flux(head.strobe, modifiers, head.modifier) * shape.flux


def at_zoom(modifier: Modifier, beam: float | None) -> Modifier:
    """A modifier that zooms, at a beam [rad]: its guide number lies between those of its table, in stops.

    Without a `beam`, its own, or the first of its table.

    Raises
    ------
    InputFault
        The beam lies outside the table, or the modifier does not zoom.
    """
    if not modifier.zoom:
        if beam is None:
            return modifier
        raise InputFault(f'"{modifier.id}" does not zoom; zoom = [[beam, guide_number], ...] in the kit was expected')
    beams = [b for b, _ in modifier.zoom]
    own = beams[0] if modifier.beam is None else min(max(modifier.beam, beams[0]), beams[-1])
    wanted = own if beam is None else beam
    if not beams[0] - 1e-6 <= wanted <= beams[-1] + 1e-6:
        low, high = (math.degrees(b) for b in (beams[0], beams[-1]))
        raise InputFault(f'"{modifier.id}" zooms from {low:g} to {high:g} degrees, not {math.degrees(wanted):g}')
    stops = np.interp(wanted, beams, [math.log2(number) for _, number in modifier.zoom])
    return replace(modifier, beam=wanted, guide_number=float(2.0**stops))


def shaped(modifier: Modifier | None, strobe_id: str = "") -> Emitter:
    """What leaves a modifier, per lumen of the bare tube in it: an emitter at the origin that faces along +y.

    Raises
    ------
    InputFault
        A flag gives no light; a layer of diffusion gives back more than it gets.
    """
    base = Emitter(
        name=strobe_id, kind="flash", pattern="sphere", flux=1.0, spectrum=flash(5500.0), at=(0.0, 0.0, 0.0),
        axis=(0.0, 1.0, 0.0), up=(0.0, 0.0, 1.0), size=BARE_TUBE,
    )  # fmt: skip
    if modifier is None:
        return base
    if modifier.grid is not None and modifier.grid >= math.pi:
        modifier = replace(modifier, grid=None)
    base = replace(base, size=modifier.size, flux=_share_that_leaves(modifier))
    if modifier.pattern is not None:
        return replace(base, pattern="table", shape=modifier.shape, table=modifier.pattern)
    if modifier.kind == "reflector" or (modifier.kind in ("umbrella", "dish") and modifier.beam is not None):
        return _beam(base, modifier)
    grid = modifier.grid
    if modifier.spill > 0 and grid is None and base.flux > 0:
        behind = modifier.spill / base.flux
        return replace(base, pattern="lambert", shape=modifier.shape, flux=base.flux + modifier.spill, behind=behind)
    hole = min(modifier.deflector / modifier.size[0], 0.95) if modifier.shape == "disc" else 0.0
    return replace(
        base,
        pattern="lambert",
        hole=hole,
        shape=modifier.shape,
        grid=grid,
        flux=base.flux * grid_solid_angle(grid) / math.pi,
    )


def tube_flux(strobe: Strobe, modifiers: Mapping[str, Modifier], mounted: Modifier | None = None) -> float:
    """Flux of the bare tube at full power, from whichever calibration the strobe has. [lm s]

    `mounted` is what the shot puts on the head; it serves when the calibration names it and `modifiers` does not.

    Raises
    ------
    InputFault
        There is no calibration, it is not positive, or its modifier is not among those given.
    """
    if strobe.efficacy is not None:
        return strobe.energy * strobe.efficacy
    if strobe.guide_number is None and strobe.reading is None:
        raise InputFault(
            f'strobe "{strobe.id}" has no calibration; a guide_number, an efficacy or a reading was expected'
        )
    unit = shaped(_calibrated_with(strobe, modifiers, mounted), strobe.id)
    if strobe.guide_number is not None:
        return axial_intensity_of_guide_number(strobe.guide_number) / axial_intensity(unit)
    assert strobe.reading is not None
    lux_seconds, distance, power = strobe.reading
    if not (lux_seconds > 0 and distance > 0 and power > 0):
        raise InputFault(f'the reading of strobe "{strobe.id}" was expected to be three numbers above 0')
    return lux_seconds / power / illuminance_on_axis(unit, distance)


def axial_intensity_of_guide_number(guide_number: float, iso: float = 100.0) -> float:
    """Axial intensity of a guide number in metres: I t = C GN^2 / S. [cd s]"""
    return INCIDENT_CONSTANT * guide_number**2 / iso


def guide_number(intensity: float, iso: float = 100.0, constant: float = INCIDENT_CONSTANT) -> float:
    """Guide number of an axial intensity [cd s]: sqrt(I t S / C), in metres. [m]"""
    return math.sqrt(intensity * iso / constant)


def _calibrated_with(strobe: Strobe, modifiers: Mapping[str, Modifier], mounted: Modifier | None) -> Modifier | None:
    wanted = strobe.guide_modifier
    if wanted is None:
        return None
    if wanted in modifiers:
        return modifiers[wanted]
    if mounted is not None and mounted.id == wanted:
        return mounted
    raise InputFault(
        f'strobe "{strobe.id}" was calibrated with "{wanted}", which the kit does not hold; '
        f"it holds {', '.join(sorted(modifiers)) or 'no modifier'}"
    )


def _share_that_leaves(modifier: Modifier) -> float:
    """Fraction of the tube's flux that leaves the modifier, before any grid. [-]"""
    if modifier.kind == "flag":
        raise InputFault(f'"{modifier.id}" is a flag: it holds light back and cannot be mounted on a head')
    if modifier.kind == "panel":
        return modifier.reflectance
    if modifier.layers == 1:
        return modifier.transmission
    try:
        return stacked(modifier.transmission, modifier.reflectance, modifier.layers)[0]
    except ValueError as fault:
        raise InputFault(f'modifier "{modifier.id}": {fault}') from fault


def _beam(base: Emitter, modifier: Modifier) -> Emitter:
    """A beam; with a grid, the beam that keeps the axial intensity and halves where grid and beam together do."""
    beam = modifier.beam if modifier.beam is not None else REFLECTOR_BEAM
    diameter = math.sqrt(modifier.size[0] * modifier.size[1])
    hole = min(modifier.deflector / diameter, 0.95)
    free = replace(base, pattern="beam", shape="disc", size=(diameter, diameter), beam=beam, hole=hole)
    if modifier.grid is None:
        return free
    n, low, high = beam_exponent(beam), 0.0, min(modifier.grid, beam) / 2
    for _ in range(60):
        middle = (low + high) / 2
        left = math.cos(middle) ** n * float(grid_transmission(math.cos(middle), modifier.grid))
        low, high = (middle, high) if left > 0.5 else (low, middle)
    narrow = replace(free, beam=2 * low)
    return replace(narrow, flux=free.flux * (n + 1.0) / (beam_exponent(narrow.beam) + 1.0))


def _gelled(head: Head) -> tuple[Spectrum, float]:
    light = head.strobe.spectrum if head.strobe.spectrum is not None else flash(head.strobe.kelvin)
    return filtered(light, head.gels)


def _axes(head: Head) -> tuple[Vector, Vector]:
    """Unit axis from `at` to `aim`, and the unit vector square to it nearest world up (plan +y when vertical)."""
    axis: NDArray[np.float64] = np.asarray(head.aim, float) - np.asarray(head.at, float)
    length = float(np.linalg.norm(axis))
    if length < 1e-9:
        raise InputFault(f'light "{head.name}" is aimed at the place where it stands')
    axis /= length
    upright = np.array([0.0, 1.0, 0.0]) if math.hypot(axis[0], axis[1]) < 1e-6 else np.array([0.0, 0.0, 1.0])
    up = upright - (upright @ axis) * axis
    up /= np.linalg.norm(up)
    return _vector(axis), _vector(up)


def _vector(values: NDArray[np.float64]) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])
