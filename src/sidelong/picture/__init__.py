"""See FLOORPLAN.md."""
