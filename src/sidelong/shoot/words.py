"""Words that a lower layer must know: finishes, kinds of block, skins, clothes, builds.

A word that nobody knows stops nothing, since it changes how the picture looks and not where it is sharp: the nearest
known word is taken, else the usual one, and the check doubts it aloud.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from sidelong.people.cloth import SKINS
from sidelong.people.outfits import OUTFITS, is_outfit
from sidelong.people.stand_in import BUILDS
from sidelong.place.furnishings import KINDS
from sidelong.shoot.lines import Path
from sidelong.shoot.model import ShootFile
from sidelong.spectra.finishes import FINISHES, is_finish


@dataclass(frozen=True)
class Vocabulary:
    """The words of one matter: what they are, the list, the usual one, and whether a word is among them."""

    matter: str
    words: tuple[str, ...]
    usual: str
    knows: Callable[[str], bool]

    def known(self, word: str) -> str:
        """The word itself, or the one that is taken for it."""
        if self.knows(word):
            return word
        lowered = {w.lower(): w for w in self.words}
        near = difflib.get_close_matches(word.lower(), lowered, n=1, cutoff=0.6)
        return lowered[near[0]] if near else self.usual


FINISH = Vocabulary("finish", FINISHES, "grey 0.5", lambda word: word in FINISHES or is_finish(word))
BLOCK = Vocabulary("kind of block", KINDS, "box", KINDS.__contains__)
SKIN = Vocabulary("skin", tuple(SKINS), "medium", SKINS.__contains__)
CLOTHES = Vocabulary("clothes", tuple(OUTFITS), "workwear", is_outfit)
BUILD = Vocabulary("build", tuple(BUILDS), "average", BUILDS.__contains__)


def words_of(model: ShootFile) -> Iterator[tuple[Path, Vocabulary, str]]:
    """Every word of a shoot file that a lower layer must know, with where it stands."""
    for i, room in enumerate(model.place.rooms):
        for face, finish in room.finish:
            if finish is not None:
                yield ("place", "rooms", i, "finish", face), FINISH, finish
    for i, block in enumerate(model.place.blocks):
        yield ("place", "blocks", i, "kind"), BLOCK, block.kind
        yield ("place", "blocks", i, "finish"), FINISH, block.finish
    for i, mesh in enumerate(model.place.meshes):
        yield ("place", "meshes", i, "finish"), FINISH, mesh.finish
    for i, modifier in enumerate(model.kit.modifiers):
        if modifier.finish is not None:
            yield ("kit", "modifiers", i, "finish"), FINISH, modifier.finish
    for i, person in enumerate(model.people):
        yield ("people", i, "skin"), SKIN, person.skin
        yield ("people", i, "clothes"), CLOTHES, person.clothes
        yield ("people", i, "build"), BUILD, person.build
