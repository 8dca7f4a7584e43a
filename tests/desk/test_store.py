"""The file's versions: edits in it at once, what others write merged or told as a clash, what is taken back back to
the letter."""

from __future__ import annotations

import threading
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from desk_on_air import SMALL
from sidelong.desk.messages import EditsDone, EditsRequest
from sidelong.desk.store import Clash, Faulty, ShootStore
from sidelong.errors import InputFault, ShootFault

ASKED = TypeAdapter(EditsRequest)


def asked(base: int, *edits: dict[str, Any], **more: Any) -> EditsRequest:
    return ASKED.validate_python({"base": base, "edits": list(edits), **more})


def put(path: list[Any], value: Any) -> dict[str, Any]:
    return {"op": "set", "path": path, "value": value}


def back(done: EditsDone) -> list[dict[str, Any]]:
    return [edit.model_dump(by_alias=True) for edit in done.inverse]


ADA_AT = ["people", {"is": "Ada"}, "at"]
ADA_HEIGHT = ["people", {"is": "Ada"}, "height"]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "shoot.toml"
    made.write_text(SMALL, encoding="utf-8")
    return made


@pytest.fixture
def store(file: Path) -> ShootStore:
    return ShootStore(file.parent)


def tables(file: Path) -> dict[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))


def test_an_edit_is_in_the_file_when_it_is_answered(store: ShootStore, file: Path) -> None:
    done = store.save(asked(1, put(ADA_AT, [3.5, 2.4])))
    assert done.revision == 2
    assert tables(file)["people"][0]["at"] == [3.5, 2.4]
    assert file.read_text() == SMALL.replace("at = [3.00, 2.40] ", "at = [3.5, 2.40] ")
    assert file.with_name("shoot.toml.previous").read_text() == SMALL


def test_taking_back_restores_every_letter(store: ShootStore, file: Path) -> None:
    """Comments and layout too, which no edit carries."""
    edits = [
        {"op": "remove", "path": ["place", "blocks", {"is": "trestle"}]},
        {"op": "remove", "path": ["people", {"is": "Bo"}, "facing"]},
        {"op": "rename", "path": ["people", {"is": "Ada"}, "name"], "value": "Adele"},
        {"op": "add", "path": ["people"], "value": {"name": "Cy", "at": [1, 3]}, "at": 0},
        {"op": "move", "path": ["people", {"is": "Cy"}], "to": 2},
        put(["place", "air"], {"haze": 0.01}),
    ]
    texts, undo = [file.read_text()], []
    revision = 1
    for edit in edits:
        # Bo looks at nobody named Ada when she is renamed: the shot and Bo's facing follow
        done = store.save(asked(revision, edit))
        undo.append(back(done))
        revision = done.revision
        texts.append(file.read_text())
    assert len(set(texts)) == len(texts)
    for inverse in reversed(undo):
        texts.pop()
        revision = store.save(asked(revision, *inverse)).revision
        assert file.read_text() == texts[-1]


def test_what_is_taken_back_can_be_done_again(store: ShootStore, file: Path) -> None:
    done = store.save(asked(1, put(ADA_HEIGHT, 1.62)))
    after = file.read_text()
    undone = store.save(asked(done.revision, *back(done)))
    store.save(asked(undone.revision, *back(undone)))
    assert file.read_text() == after


def test_edits_are_all_or_none(store: ShootStore, file: Path) -> None:
    with pytest.raises(InputFault):
        store.save(asked(1, put(ADA_HEIGHT, 1.6), put(["people", {"is": "Nobody"}, "height"], 1.6)))
    with pytest.raises(Faulty):
        store.save(asked(1, put(ADA_HEIGHT, 1.6), put(["people", {"is": "Bo"}, "height"], 9)))
    assert file.read_text() == SMALL
    assert store.now().revision == 1


def test_a_new_fault_is_refused_with_its_place_unless_allowed(store: ShootStore, file: Path) -> None:
    with pytest.raises(Faulty) as refused:
        store.save(asked(1, put(["shots", 0, "lens"], "none such")))
    assert "none such" in refused.value.faults[0].found
    done = store.save(asked(1, put(["shots", 0, "lens"], "none such"), allow_faults=True))
    assert store.now().checked.faults
    # what was at fault before stands in nobody's way
    store.save(asked(done.revision, put(ADA_HEIGHT, 1.6)))
    assert tables(file)["people"][0]["height"] == 1.6


def test_what_was_written_by_hand_is_merged(store: ShootStore, file: Path) -> None:
    by_hand = SMALL.replace('title = "The ropewalk"', 'title = "By hand"  # mine').replace("swing = 3", "swing = 4")
    file.write_text(by_hand)
    done = store.save(asked(1, put(ADA_HEIGHT, 1.62)))
    assert done.revision == 3
    assert file.read_text() == by_hand.replace("height = 1.70", "height = 1.62")


def test_items_put_in_before_do_not_mislead_a_position(store: ShootStore, file: Path) -> None:
    first = '[[shots.lights]]\nstrobe = "key"\nat = [1.5'
    more = '[[shots.lights]]\nstrobe = "key"\nat = [6, 1, 2]\naim = "Bo"\npower = 0.5\n\n'
    file.write_text(SMALL.replace(first, more + first))
    store.save(asked(1, put(["shots", 0, "lights", 0, "at"], [1.7, 0.6, 2.1])))
    lights = tables(file)["shots"][0]["lights"]
    assert [light["at"][0] for light in lights] == [6, 1.7]


def test_the_same_path_changed_by_hand_is_a_clash_and_nothing_is_lost(store: ShootStore, file: Path) -> None:
    by_hand = SMALL.replace("height = 1.70", "height = 1.66")
    file.write_text(by_hand)
    with pytest.raises(Clash) as clash:
        store.save(asked(1, put(ADA_HEIGHT, 1.62), put(["title"], "x")))
    answer = clash.value.answer
    assert answer.revision == 2
    assert [(c.theirs, c.yours) for c in answer.conflicts] == [(1.66, 1.62)]
    assert file.read_text() == by_hand
    # having seen it, one may insist
    store.save(asked(2, put(ADA_HEIGHT, 1.62)))
    assert tables(file)["people"][0]["height"] == 1.62


def test_the_same_change_twice_is_no_clash(store: ShootStore, file: Path) -> None:
    file.write_text(SMALL.replace("height = 1.70", "height = 1.62"))
    assert store.save(asked(1, put(ADA_HEIGHT, 1.62))).revision == 2


def test_what_was_removed_by_hand_is_a_clash(store: ShootStore, file: Path) -> None:
    file.write_text(SMALL.replace('\n[[people]]\nname = "Bo"\nat = [5.50, 3.10]\nheight = 1.80\nfacing = "Ada"\n', "")
                    .replace('soft = ["Bo"]', "soft = []"))  # fmt: skip
    with pytest.raises((Clash, InputFault)):
        store.save(asked(1, put(["people", {"is": "Bo"}, "height"], 1.7)))


def test_an_unknown_revision_is_a_clash(store: ShootStore) -> None:
    with pytest.raises(Clash):
        store.save(asked(99, put(ADA_HEIGHT, 1.62)))


def test_a_file_that_cannot_be_read_is_never_written_over(store: ShootStore, file: Path) -> None:
    broken = SMALL.replace('[[people]]\nname = "Bo"', '[[people\nname = "Bo"')
    file.write_text(broken)
    with pytest.raises(ShootFault):
        store.save(asked(1, put(ADA_HEIGHT, 1.62)))
    assert file.read_text() == broken
    assert store.good() is not None
    assert store.now().checked.faults[0].line
    file.unlink()
    with pytest.raises(ShootFault):
        store.save(asked(1, put(ADA_HEIGHT, 1.62)))
    file.write_text(SMALL)
    store.save(asked(store.now().revision, put(ADA_HEIGHT, 1.62)))


def test_a_file_never_grows_past_what_can_be_read(store: ShootStore, file: Path) -> None:
    edits = [put(["shots", 0, "brief"], "x" * 9_990)]
    camera = {"at": [1, 1, 1], "aim": "Ada"}
    shots = [{"id": f"shot {k}", "brief": "y" * 9_990, "camera": camera} for k in range(30)]
    edits += [{"op": "add", "path": ["shots"], "value": shot} for shot in shots]
    with pytest.raises(InputFault, match="KiB"):
        store.save(asked(1, *edits))
    assert file.read_text() == SMALL


def test_an_undo_never_takes_back_what_others_wrote(store: ShootStore, file: Path) -> None:
    done = store.save(asked(1, put(ADA_HEIGHT, 1.62)))
    file.write_text(file.read_text().replace("# --- people ---", "# --- everybody ---"))
    store.save(asked(done.revision, *back(done)))
    assert file.read_text() == SMALL.replace("# --- people ---", "# --- everybody ---")


def test_many_hands_at_once_lose_nothing(store: ShootStore, file: Path) -> None:
    """Eight threads, each with its own mark, all on the revision that they saw last."""
    names = [f"mark {k}" for k in range(8)]

    def work(name: str) -> None:
        for step in range(4):
            while True:
                base = store.now().revision
                place = {"name": name, "at": [0, 0, step]}
                edit = put(["marks", {"is": name}, "at"], [0, 0, step]) if step else {
                    "op": "add", "path": ["marks"], "value": place}  # fmt: skip
                try:
                    store.save(asked(base, edit))
                except Clash:
                    continue
                break

    threads = [threading.Thread(target=work, args=(name,)) for name in names]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = {mark["name"]: mark["at"] for mark in tables(file)["marks"]}
    assert {name: found.get(name) for name in names} == {name: [0, 0, 3] for name in names}


PLACES = [
    ["title"], ["place", "north"], ["people", {"is": "Ada"}, "at"], ["people", {"is": "Bo"}, "height"],
    ["shots", {"is": "both"}, "iso"], ["shots", 0, "camera", "at"], ["marks", {"is": "far wall"}, "at"],
]  # fmt: skip
WORTH: list[Any] = [
    ["a", "b"],
    [100, 150],
    [[1, 2], [2, 2]],
    [1.6, 1.9],
    [400, 800],
    [[1, 1, 1], [1, 1, 2]],
    [[1, 2, 3]],
]


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.tuples(st.integers(0, 1), st.integers(0, len(PLACES) - 1), st.integers(0, 1)), min_size=1, max_size=6)
)
def test_two_who_edit_without_looking(tmp_path: Path, steps: list[tuple[int, int, int]]) -> None:
    """Each edit is in the file, or a clash that names what stands there; nobody's edit is silently undone."""
    file = tmp_path / "shoot.toml"
    file.write_text(SMALL, encoding="utf-8")
    store = ShootStore(tmp_path)
    seen = [1, 1]
    holds: dict[int, Any] = {}
    clashes: list[tuple[Any, Any]] = []
    for who, place, value in steps:
        wanted = WORTH[place][min(value, len(WORTH[place]) - 1)]
        try:
            seen[who] = store.save(asked(seen[who], put(PLACES[place], wanted))).revision
            holds[place] = wanted
        except Clash as clash:
            told, seen[who] = clash.answer.conflicts[0].theirs, clash.answer.revision
            clashes.append((told, holds[place]))
    assert all(told == held for told, held in clashes)
    for place, wanted in holds.items():
        here: Any = tables(file)
        for step in PLACES[place]:
            named = step["is"] if isinstance(step, dict) else None
            here = next(i for i in here if named in (i.get("name"), i.get("id"))) if named else here[step]
        assert here == wanted
