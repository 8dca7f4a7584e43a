"""What the tracer is given and what it gives back: plain values, nothing of the renderer's own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.frames_of_reference import BodyFrame
from sidelong.lens.values import Film, Setting
from sidelong.light.values import Daylight, Emitter, Vector
from sidelong.people.values import Person
from sidelong.place.values import Place
from sidelong.spectra.values import Finish

Progress = Callable[[float], None]
"""Called with the fraction done, 0 to 1; may raise KeyboardInterrupt to stop the work."""


Excess = Callable[["Metered"], NDArray[np.float64]]
"""By how many times each reading's error (R,) is larger than wanted, of readings from a few paths. [-]"""


@dataclass(frozen=True)
class Sheet:
    """A flat panel that stands in the place: a bounce, a scrim, a flag. `axis` is its normal, `up` along height. A
    `finish` tells what the three numbers cannot: colours, the lobe of a metal."""

    name: str
    at: Vector
    axis: Vector
    up: Vector
    size: tuple[float, float]
    reflectance: float
    diffuse: float = 0.0
    straight: float = 0.0
    finish: Finish | None = None


@dataclass(frozen=True)
class Stage:
    """Everything that stands in the place and shines. `daylight` None: the sky is dark."""

    place: Place
    people: tuple[Person, ...]
    emitters: tuple[Emitter, ...]
    daylight: Daylight | None
    sheets: tuple[Sheet, ...] = ()


@dataclass(frozen=True)
class View:
    """A camera ready to expose: where it is, its film, its lens as set, and the picture's size in pixels."""

    frame: BodyFrame
    film: Film
    setting: Setting
    width: int
    height: int

    def of_width(self, width: int) -> View:
        """The same so many pixels wide, and as high as the film is."""
        return replace(self, width=width, height=max(1, round(width * self.film.height / self.film.width)))


@dataclass(frozen=True)
class Layers:
    """One exposure per light, not yet scaled by the shutter.

    `names` (L,): emitters' names, then "sun", "sky". `flash` (L,) bool. `xyz` (H, W, L, 3): film exposure as CIE
    1931 2-degree tristimulus values, Y in lx for steady light and lx s for flash, scene upright, lens
    transmission 1. `depth` (H, W) along the film's normal from `at` [m], inf where nothing; `person` (H, W) index
    into Stage.people, -1 elsewhere; `albedo` (H, W, 3) linear sRGB and `normal` (H, W, 3) place frame for the
    noise removal.
    """

    names: tuple[str, ...]
    flash: tuple[bool, ...]
    xyz: NDArray[np.float32]
    depth: NDArray[np.float32]
    person: NDArray[np.int32]
    albedo: NDArray[np.float32]
    normal: NDArray[np.float32]
    samples: int
    seconds: float


@dataclass(frozen=True)
class DayLayers:
    """The layers of a view at several hours: `lamps` those of heads and lamps, which no hour changes, their depth,
    people, albedo and normals those of every hour; `sun` and `sky` (H, W, T, 3) of each hour, as `Layers.xyz`."""

    lamps: Layers
    sun: NDArray[np.float32]
    sky: NDArray[np.float32]

    @property
    def hours(self) -> int:
        """How many hours there are."""
        return int(self.sun.shape[2])

    def at(self, hour: int) -> Layers:
        """The layers of the hour of a number, as a picture of that hour alone has them."""
        daily = np.stack([self.sun[:, :, hour], self.sky[:, :, hour]], axis=2)
        return replace(
            self.lamps,
            names=(*self.lamps.names, "sun", "sky"),
            flash=(*self.lamps.flash, False, False),
            xyz=np.concatenate([self.lamps.xyz, daily], axis=2),
        )


@dataclass(frozen=True)
class Receptor:
    """A meter held `at` a point, its axis along `normal` (unit, place frame).

    `dome`: response (1 + cos)/2 over the whole sphere, else flat (cosine over the front hemisphere). `without`
    names a person whose figure is taken away for this reading (the one who holds the meter). `spot`: a spot meter of
    that full angle [rad] reads the mean luminance about its axis [cd/m2, cd s/m2]. `cylinder`: the mean over the side
    of a small cylinder whose axis is `normal`, response sin / pi.
    """

    at: Vector
    normal: Vector
    dome: bool = False
    without: str | None = None
    spot: float | None = None
    cylinder: bool = False


@dataclass(frozen=True)
class Metered:
    """Illuminances: `value` and one-sigma `error` (R, L), [lx] for steady light, [lx s] for flash; spots as stated.

    `names` and `flash` as in Layers; `xyz` (R, L, 3) the same as tristimulus values. Light that arrives straight
    from the source and light that has been reflected are both in; `direct` (R, L) is the straight part.
    """

    names: tuple[str, ...]
    flash: tuple[bool, ...]
    value: NDArray[np.float64]
    error: NDArray[np.float64]
    direct: NDArray[np.float64]
    xyz: NDArray[np.float64]
