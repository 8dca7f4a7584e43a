"""A mesh and a luminaire file brought to the shoot from the page."""

from __future__ import annotations

from typing import Any

import pytest

from at_the_desk import drag, grip, saved, until
from desk_on_air import DeskOnAir
from hand_at_the_desk import Hand

WEDGE = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n"
LUMINAIRE = b"IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 3 1 1 2 0.1 0.1 0\n1 1 100\n0 45 90\n0\n1000 700 0\n"


def test_a_mesh_is_put_down_and_dragged(plan: Any, desk: DeskOnAir) -> None:
    hand = Hand(plan, desk)
    hand.press("Add")
    with plan.expect_file_chooser() as asked:
        plan.get_by_role("menuitem", name="Mesh from a file", exact=True).click()
    asked.value.set_files({"name": "stove.obj", "mimeType": "model/obj", "buffer": WEDGE})
    plan.locator(".form").wait_for()
    mesh = hand.file()["place"]["meshes"][0]
    assert (mesh["name"], mesh["file"]) == ("stove", "files/stove.obj")
    assert (desk.folder / "files" / "stove.obj").read_bytes() == WEDGE
    plan.keyboard.press("Escape")
    until(plan, lambda: grip(plan, "mesh:stove").count() > 0)
    drag(plan, "mesh:stove", (0.5, 0.5))
    saved(plan)
    assert hand.file()["place"]["meshes"][0]["at"][:2] == pytest.approx([v + 0.5 for v in mesh["at"][:2]], abs=0.13)


def test_a_bad_file_is_refused_in_words_and_nothing_is_added(plan: Any, desk: DeskOnAir) -> None:
    hand = Hand(plan, desk)
    before = hand.file()
    hand.press("Add")
    with plan.expect_file_chooser() as asked:
        plan.get_by_role("menuitem", name="Mesh from a file", exact=True).click()
    asked.value.set_files({"name": "chair.obj", "mimeType": "model/obj", "buffer": b"no mesh"})
    until(plan, lambda: "no triangles" in plan.locator(".said").inner_text())
    assert hand.file() == before


def test_a_modifier_gets_a_luminaire_file(plan: Any, desk: DeskOnAir) -> None:
    hand = Hand(plan, desk)
    hand.add("Modifier")
    field = hand.field("pattern")
    with plan.expect_file_chooser() as asked:
        field.get_by_role("button", name="Choose a file").click()
    asked.value.set_files({"name": "spot.ies", "mimeType": "text/plain", "buffer": LUMINAIRE})
    until(plan, lambda: field.locator("input").input_value() == "files/spot.ies")
    assert hand.file()["kit"]["modifiers"][-1]["pattern"] == "files/spot.ies"
