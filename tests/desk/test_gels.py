"""What the page is told of gels: each alone, any two, and one more over what is worn."""

from __future__ import annotations

from sidelong.desk.scene_light import gel_choices
from sidelong.light.values import Gel
from sidelong.spectra.illuminants import flash

GELS = (
    Gel("warm", 120.0, transmission=0.6),
    Gel("green", 0.0, duv=0.012, transmission=0.7),
    Gel("cool", -60.0, transmission=0.65),
)


def test_gels_lie_over_each_other() -> None:
    choices = gel_choices(flash(5600.0), (GELS[1], GELS[0]), GELS)
    stacks = {frozenset(choice["ids"]): choice for choice in choices}
    assert len(stacks) == len(choices) == 8, "none, three, three pairs (one of them worn), and all three"
    assert stacks[frozenset(["warm", "green"])]["ids"] == ["green", "warm"], "what is worn lies as the file has it"
    for ids, choice in stacks.items():
        for other in ids:
            assert choice["share"] < stacks[frozenset([other])]["share"] or len(ids) == 1


def test_a_large_kit_is_not_paired_without_end() -> None:
    many = tuple(Gel(f"gel {k}", 45.0, transmission=0.8) for k in range(1, 41))
    assert len(gel_choices(flash(5600.0), (), many)) == 1 + 40 + 16 * 15 // 2
