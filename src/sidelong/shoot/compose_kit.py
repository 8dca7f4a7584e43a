"""The kit of a shoot file as values, with the usual figures where the file states none."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from sidelong.lens.values import Film, Lens
from sidelong.light.values import Distribution, Gel, Strobe
from sidelong.shoot.compose_modifier import compose_modifier
from sidelong.shoot.model_kit import (
    BodyTable,
    GelTable,
    KitTable,
    LampTable,
    LensTable,
    MeterReading,
    StrobeTable,
)
from sidelong.shoot.values import Body, HazeMachine, Kit, NdFilter, Owned, Power
from sidelong.spectra.lamps import filament, is_white_led, white_led

USUAL_WIDEST = 2 * 2**0.5
"""f/2.8, for a lens that does not say."""
USUAL_SMALLEST = 16 * 2**0.5
METER_CONSTANT = 250.0
"""Of a flat receptor, so that N^2 = H S / C. Source: iso2720."""
USUAL_LAMP_KELVIN = {"tungsten": 3200.0, "led": 5600.0}
LUMENS_PER_WATT = {"tungsten": 25.0, "led": 100.0}
"""Common practice, no source. [lm/W]"""
USUAL_LAMP_WATTS = 100.0
"""Of a lamp that states neither watts nor lumens. [W]"""
NO_LUMINAIRES: Mapping[str, Distribution] = MappingProxyType({})


@dataclass(frozen=True)
class Bench:
    """The kit, and what the file left unsaid that a shot may fill in."""

    kit: Kit
    unsaid: Mapping[str, frozenset[str]]
    """Lens -> what the file does not say of it: widest, movement, shift."""

    def lens_for(self, lens: Lens, aperture: float | None, movement: float, shift: float) -> Lens:
        """The lens as a shot uses it: what the file does not say of it is at least what the shot asks for."""
        unsaid = self.unsaid.get(lens.id, frozenset())
        wide = aperture is not None and "widest" in unsaid and aperture < lens.widest
        return replace(
            lens,
            widest=aperture if wide and aperture is not None else lens.widest,
            movement=max(lens.movement, movement) if "movement" in unsaid else lens.movement,
            shift=max(lens.shift, shift) if "shift" in unsaid else lens.shift,
        )


def compose_kit(table: KitTable, luminaires: Mapping[str, Distribution] = NO_LUMINAIRES) -> Bench:
    """Every piece by its id; a kit without bodies gets one of 36 x 24 mm, so that a lens alone can be planned."""
    bodies = [_body(b) for b in table.bodies] or [Body("body", Film(0.036, 0.024))]
    pieces = [*table.bodies, *table.lenses, *table.strobes, *table.lamps, *table.modifiers, *table.gels]
    pieces += table.filters
    kit = Kit(
        bodies={b.id: b for b in bodies},
        lenses={lens.id: _lens(lens) for lens in table.lenses},
        strobes={s.id: _strobe(s) for s in table.strobes},
        modifiers={m.id: compose_modifier(m, luminaires) for m in table.modifiers},
        gels={g.id: _gel(g) for g in table.gels},
        power={p.id: Power(p.id, p.kind, p.watts, p.watt_hours, _spot(p.at), p.cable) for p in table.power},
        haze={h.id: HazeMachine(h.id, h.fluid, h.output) for h in table.haze},
        owned={p.id: Owned(p.owned, p.rent_per_day, p.weight) for p in (*pieces, *table.power, *table.haze)},
        filters={f.id: NdFilter(f.id, f.stops) for f in table.filters},
        lamps={lamp.id: _lamp(lamp) for lamp in table.lamps},
    )
    keys = ("widest", "movement", "shift")
    unsaid = {lens.id: frozenset(k for k in keys if getattr(lens, k) is None) for lens in table.lenses}
    return Bench(kit, unsaid)


def _spot(at: tuple[float, ...] | None) -> tuple[float, float, float] | None:
    return None if at is None else (at[0], at[1], at[2])


def _body(table: BodyTable) -> Body:
    width, height = table.film
    pixels = table.pixels or (6000, max(16, round(6000 * height / width)))
    usual = Body(table.id, Film(width, height, pixels), sync=table.sync)
    return replace(usual, iso=table.iso or usual.iso, shutter=table.shutter or usual.shutter)


def _lens(table: LensTable) -> Lens:
    widest = table.widest or USUAL_WIDEST
    return Lens(
        id=table.id,
        focal_length=table.focal,
        widest=widest,
        smallest=table.smallest or max(USUAL_SMALLEST, widest),
        movement=table.movement or 0.0,
        rotation_step=table.rotation_step,
        shift=table.shift or 0.0,
        image_circle=table.image_circle,
        closest=table.closest,
        pupil_ratio=table.pupil_ratio,
        pivot=table.pivot_mm,
        blades=table.blades,
        field_curvature=table.field_curvature,
        movement_zero=table.movement_zero,
        ring_error=table.ring_error,
    )


def _strobe(table: StrobeTable) -> Strobe:
    reading = table.reading
    return Strobe(
        id=table.id,
        energy=table.energy,
        range_stops=table.range,
        step_stops=table.step,
        recycle=table.recycle,
        t01=table.t01,
        kelvin=table.kelvin,
        guide_number=table.guide_number,
        guide_modifier=reading.modifier if reading else table.guide_modifier,
        efficacy=table.efficacy,
        reading=(_lux_seconds(reading), reading.distance, reading.power) if reading else None,
        t01_lowest=table.t01_lowest,
        high_speed=table.high_speed,
        count=table.count,
        fed_by=table.fed_by,
    )


def _lamp(table: LampTable) -> Strobe:
    """A lamp as a head whose energy is its watts: lumens are watts times lumens a watt, as a flash's of joules."""
    kelvin = table.kelvin or USUAL_LAMP_KELVIN[table.spectrum]
    usual, led = LUMENS_PER_WATT[table.spectrum], table.spectrum == "led"
    reading = table.reading
    watts = table.watts or (table.lumens / usual if table.lumens else USUAL_LAMP_WATTS)
    return Strobe(
        id=table.id,
        energy=watts,
        range_stops=table.range,
        step_stops=table.step,
        recycle=0.0,
        kelvin=kelvin,
        guide_modifier=reading.modifier if reading else None,
        efficacy=table.lumens / watts if table.lumens else None,
        reading=(reading.lux, reading.distance, 1.0) if reading else None,
        steady=True,
        spectrum=white_led(kelvin, table.cri) if led and is_white_led(kelvin, table.cri) else filament(kelvin),
        count=table.count,
        fed_by=table.fed_by,
    )


def _lux_seconds(reading: MeterReading) -> float:
    """Of a meter that shows lux seconds, or an f-number N at speed S: H = C N^2 / S."""
    if reading.lux_seconds is not None:
        return reading.lux_seconds
    return METER_CONSTANT * (reading.aperture or 1.0) ** 2 / reading.iso


def _gel(table: GelTable) -> Gel:
    passed = usual_passed(table.mired) if table.transmission is None else table.transmission
    return Gel(table.id, table.mired, table.duv, passed)


def usual_passed(mired: float) -> float:
    """What a gel of a mired shift usually passes: a full orange loses 3/4 stop, a full blue 3/2. [-]

    Common practice, no source; nothing passes more than 0.92, for the reflections at its two faces.
    """
    stops = 0.75 * mired / 163 if mired > 0 else 1.5 * -mired / 134
    return min(0.92, math.exp2(-stops))
