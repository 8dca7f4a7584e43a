"""What can be drawn over a predicted picture: blur rings, the stops map, names. Nothing of it touches the picture.

A ring is what the lens makes of a point at a person's eyes: its blur ellipse in true size and direction, beside the
face it belongs to. Where rings would be too small to see, all of them are drawn larger by one and the same stated
number, so that they can still be held against one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from sidelong.picture.blurmap import to_pixels
from sidelong.picture.lettering import DARK, LIGHT, Box, free_place, is_free, letters, size_of, write
from sidelong.picture.stops_map import HIGHEST, LOWEST, stop_colours, stops_from_middle, stops_picture
from sidelong.picture.values import OverlayPoint, Picture
from sidelong.trace.values import View

KINDS = ("rings", "stops", "names")

RING_SEEN = 0.035
"""Share of the picture's height that the largest ring should reach before no enlargement is asked for. [-]"""
_ENLARGEMENTS = (1, 2, 5, 10, 20, 50, 100)
_FINE = 4
_FACE = 0.04
"""Half a face, for want of its size, as a share of the picture's height. [-]"""


@dataclass(frozen=True)
class _Sheet:
    """What is drawn on, and where things already are."""

    image: Image.Image
    draw: ImageDraw.ImageDraw
    taken: list[Box]
    font: Path | None
    text: float

    @property
    def frame(self) -> Box:
        return (0.0, 0.0, float(self.image.width), float(self.image.height))


def overlaid(
    picture: Picture, points: Sequence[OverlayPoint], kinds: Sequence[str], font: Path | None = None
) -> NDArray[np.uint8]:
    """The picture (H, W, 3), sRGB 8 bit, with the overlays named in `kinds` (of KINDS) drawn over it.

    `font` is a TrueType file; left out, names are spelt in ASCII.

    Raises
    ------
    ValueError
        A kind that there is not.
    """
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown:
        raise ValueError(f'no overlay is called "{unknown[0]}"; there are {", ".join(KINDS)}')
    stops = stops_from_middle(picture.exposure_xyz[..., 1], picture.exposure.iso)
    base = stops_picture(stops) if "stops" in kinds else picture.srgb
    image = Image.fromarray(base).convert("RGB")
    text = max(11.0, image.height / 48.0)
    sheet = _Sheet(image, ImageDraw.Draw(image), [], font, text)
    places = [to_pixels(picture.view, point.image) for point in points]
    sheet.taken.extend(_face(picture.view, place, point) for place, point in zip(places, points, strict=True))
    if "stops" in kinds:
        _draw_legend(sheet)
    if "rings" in kinds:
        _draw_rings(sheet, picture.view, points, places)
    if "names" in kinds:
        _draw_names(sheet, picture.view, points, places, "stops" in kinds)
    if "stops" in kinds:
        _draw_numbers(sheet, stops)
    return np.asarray(sheet.image)


def enlargement(view: View, points: Sequence[OverlayPoint]) -> int:
    """How many times larger than true the rings are drawn: 1 where the largest can be seen as it is. [-]"""
    largest = max((p.blur_major or 0.0 for p in points), default=0.0) * view.height / view.film.height
    wanted = RING_SEEN * view.height
    return next((n for n in _ENLARGEMENTS if largest * n >= wanted), _ENLARGEMENTS[-1] if largest > 0 else 1)


def ellipse_outline(
    centre: tuple[float, float], major: float, minor: float, angle: float, corners: int = 180
) -> NDArray[np.float64]:
    """Corners (C, 2) [px, y down] of an ellipse of full axes [px]; `angle` from x towards the picture's up [rad]."""
    turn = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
    along, across = 0.5 * major * np.cos(turn), 0.5 * minor * np.sin(turn)
    x = along * np.cos(angle) - across * np.sin(angle)
    y = along * np.sin(angle) + across * np.cos(angle)
    return np.column_stack([centre[0] + x, centre[1] - y])


def paint_ring(image: Image.Image, outline: NDArray[np.float64], width: float) -> None:
    """A closed line of a width [px] along an outline (C, 2) [px], light in a dark edge, drawn fine and reduced."""
    reach = width * 2 + 2
    low = np.floor(outline.min(axis=0) - reach).astype(int)
    size = np.ceil(outline.max(axis=0) + reach).astype(int) - low
    closed = np.vstack([outline, outline[:2]])
    path = [(float(x), float(y)) for x, y in (closed - low) * _FINE]
    for colour, wide in ((DARK, width * 2.2), (LIGHT, width)):
        mask = Image.new("L", (int(size[0]) * _FINE, int(size[1]) * _FINE))
        ImageDraw.Draw(mask).line(path, fill=255, width=max(1, round(wide * _FINE)), joint="curve")
        small = mask.resize((int(size[0]), int(size[1])), Image.Resampling.BOX)
        image.paste(colour, (int(low[0]), int(low[1])), small)


def signed(stops: float, digits: int = 1) -> str:
    """Stops with their sign, ``+0.3``, ``−1.0``."""
    return f"{stops:+.{digits}f}".replace("-", "−")


def _face(view: View, place: NDArray[np.float64], point: OverlayPoint) -> Box:
    """The box of the face around a person's eyes, so that nothing is written over it. [px]"""
    half = _half_face(view, point)
    return (place[0] - half, place[1] - 1.2 * half, place[0] + half, place[1] + 1.5 * half)


def _half_face(view: View, point: OverlayPoint) -> float:
    if point.face is None:
        return _FACE * view.height
    return 0.5 * point.face * view.width / view.film.width


def _draw_rings(
    sheet: _Sheet, view: View, points: Sequence[OverlayPoint], places: Sequence[NDArray[np.float64]]
) -> None:
    times = enlargement(view, points)
    font, spelt = letters(sheet.text, sheet.font)
    pixels = view.width / view.film.width * times
    for point, place in zip(points, places, strict=True):
        if point.blur_major is None or point.blur_minor is None or not np.isfinite(point.blur_major):
            continue
        major, minor = max(point.blur_major * pixels, 1.5), max(point.blur_minor * pixels, 1.5)
        words = spelt(f"{point.blur_major * 1e6:.0f} µm")
        wide, high = size_of(sheet.draw, words, font, sheet.text)
        box = _beside(sheet, place, _half_face(view, point), max(major, wide), major + high + 4)
        sheet.taken.append(box)
        middle = 0.5 * (box[0] + box[2])
        outline = ellipse_outline((middle, box[1] + 0.5 * major), major, minor, point.blur_angle)
        paint_ring(sheet.image, outline, max(1.0, sheet.text / 12))
        write(sheet.draw, (middle - 0.5 * wide, box[1] + major + 4), words, font, sheet.text)
    said = "blur rings in true size" if times == 1 else f"blur rings {times} times their true size"
    _note(sheet, spelt(said))


def _draw_names(
    sheet: _Sheet,
    view: View,
    points: Sequence[OverlayPoint],
    places: Sequence[NDArray[np.float64]],
    with_stops: bool,
) -> None:
    font, spelt = letters(sheet.text * 1.15, sheet.font)
    for point, place in zip(points, places, strict=True):
        known = with_stops and point.stops is not None and np.isfinite(point.stops)
        words = spelt(f"{point.name} {signed(point.stops or 0.0)}" if known else point.name)
        wide, high = size_of(sheet.draw, words, font, sheet.text * 1.15)
        half = _half_face(view, point)
        above = place[1] - 1.9 * half - high
        wanted = [
            (place[0] - 0.5 * wide + dx, top, place[0] + 0.5 * wide + dx, top + high)
            for top in (above, above - 1.2 * high, place[1] + 1.9 * half, above - 2.4 * high)
            for dx in (0.0, -0.4 * wide, 0.4 * wide)
        ]
        box = free_place(wanted, sheet.taken, sheet.frame)
        sheet.taken.append(box)
        write(sheet.draw, (box[0], box[1]), words, font, sheet.text * 1.15)


def _beside(sheet: _Sheet, place: NDArray[np.float64], half: float, wide: float, high: float) -> Box:
    """A free box of a size [px] to the right of a face, or left, or farther off."""
    gap = 0.4 * half + 4
    wanted = []
    for step in (0.0, 0.7, 1.4, 2.1):
        for side in (1.0, -1.0):
            for down in (0.0, -0.8, 0.8):
                left = place[0] + side * (half + gap + step * wide) - (wide if side < 0 else 0.0)
                top = place[1] - 0.5 * high + down * high
                wanted.append((left, top, left + wide, top + high))
    return free_place(wanted, sheet.taken, sheet.frame)


def _draw_numbers(sheet: _Sheet, stops: NDArray[np.float32]) -> None:
    """Spot values over a grid, wherever nothing else is written: the mean exposure of each spot, in stops."""
    font, spelt = letters(sheet.text * 0.9, sheet.font)
    height, width = stops.shape
    spot = max(1, round(height / 60))
    for row in range(6):
        for column in range(9):
            y, x = round((row + 0.5) * height / 6), round((column + 0.5) * width / 9)
            part = np.exp2(stops[y - spot : y + spot + 1, x - spot : x + spot + 1].astype(np.float64))
            mean = part.mean()
            words = spelt(signed(float(np.log2(mean))) if mean > 0 else "dark")
            wide, high = size_of(sheet.draw, words, font, sheet.text * 0.9)
            box = (x - 0.5 * wide, y - 0.5 * high, x + 0.5 * wide, y + 0.5 * high)
            if is_free(box, sheet.taken, sheet.frame):
                write(sheet.draw, (box[0], box[1]), words, font, sheet.text * 0.9)


def _draw_legend(sheet: _Sheet) -> None:
    """A strip along the lower edge: each whole stop's colour with its number."""
    font, spelt = letters(sheet.text, sheet.font)
    colours = stop_colours()
    height, each = round(sheet.text * 1.9), sheet.image.width / len(colours)
    top = sheet.image.height - height
    legend = {LOWEST: f"{signed(LOWEST, 0)} and under", 0: "0", HIGHEST: f"{signed(HIGHEST, 0)} and over"}
    for i, (stop, colour) in enumerate(zip(range(LOWEST, HIGHEST + 1), colours, strict=True)):
        red, green, blue = (int(v) for v in colour)
        sheet.draw.rectangle((i * each, top, (i + 1) * each, sheet.image.height), fill=(red, green, blue))
        words = spelt(legend.get(stop, signed(stop, 0)))
        wide, high = size_of(sheet.draw, words, font, sheet.text)
        write(sheet.draw, ((i + 0.5) * each - 0.5 * wide, top + 0.5 * (height - high)), words, font, sheet.text)
    sheet.draw.line((0, top, sheet.image.width, top), fill=DARK, width=max(1, round(sheet.text / 10)))
    sheet.taken.append((0.0, float(top), float(sheet.image.width), float(sheet.image.height)))
    _note(sheet, spelt("stops from middle grey"))


def _note(sheet: _Sheet, words: str) -> None:
    """A line in the lower left corner, above what is there already."""
    font, _ = letters(sheet.text, sheet.font)
    wide, high = size_of(sheet.draw, words, font, sheet.text)
    floor = min((box[1] for box in sheet.taken if box[0] <= 0.0 or box[0] == sheet.text), default=sheet.image.height)
    floor = min(floor, sheet.image.height)
    box = (sheet.text, floor - 1.5 * high, sheet.text + wide, floor - 0.5 * high)
    sheet.taken.append(box)
    write(sheet.draw, (box[0], box[1]), words, font, sheet.text)
