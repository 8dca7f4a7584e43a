"""A predicted picture, what it is made with, and what was noticed on the way, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.trace import quality
from sidelong.trace.values import Layers, View


@dataclass(frozen=True)
class Exposure:
    """How the camera exposes and develops: `shutter` true [s], `iso` true [-], `balance` goes neutral [K]."""

    shutter: float
    iso: float
    balance: float


@dataclass(frozen=True)
class Quality:
    """How much work goes into a picture: the `tracing`, and how the noise is removed (None: it stays).

    "fast" and "high" go light by light, "quick" over the sum of the lights alone, which leaves the layers as traced.
    """

    tracing: quality.Quality
    noise: Literal["quick", "fast", "high"] | None = "high"


DRAFT = Quality(quality.DRAFT, "quick")
FULL = Quality(quality.DEFAULT, "fast")
FINE = Quality(quality.FINE, "high")


@dataclass(frozen=True)
class Notice:
    """Something the photographer should know about a picture that was made all the same."""

    about: str
    text: str


@dataclass(frozen=True)
class Picture:
    """A predicted picture with all it can be developed from again.

    `layers` after noise removal, unless that went over their sum; `counts` (L,) what each layer counted [s for
    steady light, 1 for flash]; `exposure_xyz` (H, W, 3) film exposure of all lights [lx s]; `srgb` (H, W, 3) 8 bit.
    """

    view: View
    exposure: Exposure
    layers: Layers
    counts: NDArray[np.float64]
    exposure_xyz: NDArray[np.float32]
    srgb: NDArray[np.uint8]
    samples: int
    seconds: float
    notices: tuple[Notice, ...] = ()

    @property
    def mean_exposure(self) -> float:
        """Film exposure averaged over the picture. [lx s]"""
        return float(self.exposure_xyz[..., 1].mean(dtype=np.float64))


@dataclass(frozen=True)
class OverlayPoint:
    """A person or mark as the overlays draw it. `image` upright from the film's centre, full axes on the film [m];
    `blur_angle` of the major axis from the picture's x towards y [rad]; `stops` from middle grey, None unknown;
    `face` the face's breadth on the film [m], None where unknown; `is_mark`: a named point, nobody's face."""

    name: str
    image: tuple[float, float]
    blur_major: float | None = None
    blur_minor: float | None = None
    blur_angle: float = 0.0
    stops: float | None = None
    face: float | None = None
    is_mark: bool = False
