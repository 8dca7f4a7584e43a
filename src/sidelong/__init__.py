"""Sidelong: a location portrait, planned. FLOORPLAN.md at the root walks the reader through it."""

__version__ = "0.1.0"
