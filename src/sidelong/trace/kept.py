"""What is kept from one call to the next: one value, for as long as it is asked for with the same parts.

The shots of a shoot share their place and people, and a picture is traced from the very stage that was metered; what
is made of them is made once. The place for it is a `Kept` at the top of a module, and there are three: the place and
people as tables, the same with a shot's lights and panels, and both inside the renderer.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

Part = TypeVar("Part")
Made = TypeVar("Made")
Alike = Callable[[Part, Part], bool]


class Kept(Generic[Part, Made]):
    """The last value made and the parts it was made of, held on to so that they are not mistaken for later ones."""

    def __init__(self) -> None:
        self._held: tuple[tuple[Part, ...], Made] | None = None

    def of(self, parts: tuple[Part, ...], make: Callable[[], Made], alike: Alike[Part] = lambda a, b: a is b) -> Made:
        """The value held if its parts are `alike` in order (the same objects unless told otherwise), or a new one."""
        held = self._held
        if held is not None and len(held[0]) == len(parts) and all(map(alike, held[0], parts)):
            return held[1]
        # let go first: two of them need not fit into memory at once
        self._held = None
        made = make()
        self._held = (parts, made)
        return made
