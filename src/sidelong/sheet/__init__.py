"""Drawings of a planned shot, on paper and in the terminal, and the printed book."""

from sidelong.sheet.drawing import Drawing
from sidelong.sheet.elevation_view import elevation_of_place, elevation_of_shot
from sidelong.sheet.plan_view import plan_of_place, plan_of_shot
from sidelong.sheet.svg import svg_drawing
from sidelong.sheet.terminal import terminal_drawing

__all__ = [
    "Drawing",
    "elevation_of_place",
    "elevation_of_shot",
    "plan_of_place",
    "plan_of_shot",
    "svg_drawing",
    "terminal_drawing",
]
