"""The shoot file: reading, checking, composing, changing. `check.load` is the way in."""
