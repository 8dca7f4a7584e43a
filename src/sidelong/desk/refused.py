"""A shot that cannot be had, with what would do."""

from __future__ import annotations

from sidelong.desk.messages import WayOutOf
from sidelong.desk.messages_shot import Refusal


class ShotRefused(Exception):
    """A shot asks for what its lens or the place cannot give; `refusal` says what and what would do."""

    def __init__(self, words: str, ways: list[WayOutOf]) -> None:
        self.refusal = Refusal(words=words, ways_out=ways)
        super().__init__(words)
