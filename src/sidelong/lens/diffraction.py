"""Diffraction and the pixel, stated beside the geometric blur and never mixed into it."""

from __future__ import annotations

from sidelong.lens.geometry import LensGeometry
from sidelong.lens.values import Film

GREEN = 550e-9
"""The wavelength the Airy disc is stated for. [m]"""


def airy_diameter(f_number: float, magnification: float = 0.0, pupil_ratio: float = 1.0) -> float:
    """Diameter of the Airy disc's first dark ring, 2.44 lambda N (1 + m/p), at 550 nm. [m]  Source: luong."""
    return 2.44 * GREEN * f_number * (1.0 + magnification / pupil_ratio)


def airy_of(lens: LensGeometry) -> float:
    """The Airy disc on the axis of a set lens. [m]"""
    f_number = lens.focal_length / (2.0 * lens.pupil_radius)
    return airy_diameter(f_number, lens.extension / lens.focal_length, lens.pupil_ratio)


def pixel_pitch(film: Film) -> float:
    """The coarser of the two pitches of the film's pixels. [m]"""
    return max(film.width / film.pixels[0], film.height / film.pixels[1])
