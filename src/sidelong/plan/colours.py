"""The colour of each light of a shot under its balance."""

from __future__ import annotations

from sidelong.colour.light_colour import LightColour, light_colour
from sidelong.light.sheets import sheet_finish
from sidelong.place.containment import room_at
from sidelong.place.shell import finish_of
from sidelong.shoot.values import Shot, ShotLight
from sidelong.spectra.finishes import finish
from sidelong.spectra.grids import WAVELENGTHS, on_grid
from sidelong.spectra.illuminants import normalised
from sidelong.spectra.values import Spectrum
from sidelong.trace.values import Stage


def plan_colours(shot: Shot, stage: Stage) -> tuple[LightColour, ...]:
    """Heads in the shot's order, with their gels on and after what they are bounced off, then sun and sky where they
    shine: as they leave their sources, or as they come in where every opening of the place is covered alike."""
    lights = zip(stage.emitters, shot.lights, strict=True)
    spectra = [(e.name, _bounced(e.spectrum, light, stage)) for e, light in lights]
    if stage.daylight is not None:
        if stage.daylight.sun_normal > 0:
            spectra.append(("sun", _come_in(stage.daylight.sun_spectrum, stage)))
        spectra.append(("sky", _come_in(stage.daylight.sky_spectrum, stage)))
    return tuple(light_colour(name, spectrum, shot.balance) for name, spectrum in spectra)


def _bounced(light: Spectrum, head: ShotLight, stage: Stage) -> Spectrum:
    """A head's light after the panel or the surface that it is turned at."""
    bounce = head.bounce
    if bounce is None:
        return light
    if bounce.panel is not None:
        surface = sheet_finish([bounce.panel])
    else:
        room, face = room_at(stage.place, head.aim), (bounce.surface or "").split(" ")[-1]
        if room is None:
            return light
        surface = finish(finish_of(room, face))
    back = surface.reflectance.at(WAVELENGTHS)
    return normalised(on_grid(light) * back) if back.max() > 0 else light


def _come_in(light: Spectrum, stage: Stage) -> Spectrum:
    """Daylight after what hangs in every opening, as it is where that differs."""
    covers = {opening.cover for room in stage.place.rooms for opening in room.openings}
    if len(covers) != 1 or covers == {()}:
        return light
    name = "sheet of " + " + ".join(covers.pop())
    tint = next((s.finish.tint for s in stage.sheets if s.finish is not None and s.finish.name == name), None)
    return light if tint is None else normalised(on_grid(light) * tint.at(WAVELENGTHS))
