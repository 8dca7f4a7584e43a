"""The colour of each light of a shot under its balance."""

from __future__ import annotations

from sidelong.colour.light_colour import LightColour, light_colour
from sidelong.shoot.values import Shot
from sidelong.trace.values import Stage


def plan_colours(shot: Shot, stage: Stage) -> tuple[LightColour, ...]:
    """Heads in the shot's order, with their gels on, then sun and sky where they shine."""
    spectra = [(e.name, e.spectrum) for e in stage.emitters]
    if stage.daylight is not None:
        if stage.daylight.sun_normal > 0:
            spectra.append(("sun", stage.daylight.sun_spectrum))
        spectra.append(("sky", stage.daylight.sky_spectrum))
    return tuple(light_colour(name, spectrum, shot.balance) for name, spectrum in spectra)
