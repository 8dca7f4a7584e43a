"""Edits of a shoot file: only what changes is touched, what refers to a name follows it, everything can be taken
back."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, TypeAdapter

from sidelong.errors import InputFault
from sidelong.shoot.check import check_document
from sidelong.shoot.document import parse
from sidelong.shoot.edit_values import AddEdit, Edit, MoveEdit, Named, RemoveEdit, RenameEdit, SetEdit
from sidelong.shoot.edits import ABSENT, Edited, apply_edits, resolved, same, tables_after, value_at
from sidelong.shoot.model import ShootFile
from sidelong.shoot.renames import REFERENCES
from sidelong.shoot.toml_text import from_json, to_json, value_text
from source_tree import ROOT

DEMOS = sorted((ROOT / "demo").glob("*/shoot.toml"))
STARTER = ROOT / "src" / "sidelong" / "shoot" / "starter.toml"
FILES = [*DEMOS, STARTER]
EDIT = TypeAdapter(Edit)


def at(*steps: Any) -> list[Any]:
    """A path; a step that begins with @ is a name."""
    return [Named(name=s[1:]) if isinstance(s, str) and s.startswith("@") else s for s in steps]


def edited(text: str, *edits: Any) -> Edited:
    return apply_edits(text, tomllib.loads(text), edits)


def taken_back(done: Edited) -> Edited:
    return apply_edits(done.text, done.data, done.inverse)


def comments(text: str) -> list[str]:
    return [found for line in text.splitlines() if (found := line.partition("#")[2]) and "#" in line]


SMALL = """# A shoot
sidelong = 1 # the format

# where
[place]
north = 200   # degrees
blocks = [] # none

[[people]] # who
name = "Ada"  # first
at = [1.00, 2.0]  # by the door

[[people]]
name = "Bo"
at = [2, 2]

[kit]
[[kit.lenses]]
id = "long"
focal = 90

# the pictures
[[shots]]
id = "one"
sharp = [
  "Ada",  # her
  "Bo",   # him
]
camera = { at = [0.5, 0.5, 1.5], aim = "Ada" }
"""


@pytest.mark.parametrize(
    ("edit", "old", "new"),
    [
        (SetEdit(path=at("place", "north"), value=210), "north = 200   # degrees", "north = 210   # degrees"),
        (SetEdit(path=at("people", "@Ada", "at"), value=[1, 2.5]), "[1.00, 2.0]", "[1.00, 2.5]"),
        (SetEdit(path=at("people", 0, "at", 1), value=3), "[1.00, 2.0]", "[1.00, 3]"),
        (
            SetEdit(path=at("people", "@Bo", "pose"), value="sitting"),
            "at = [2, 2]\n",
            'at = [2, 2]\npose = "sitting"\n',
        ),
        (RemoveEdit(path=at("shots", 0, "sharp", 1)), '  "Bo",   # him\n', "  # him\n"),
        (AddEdit(path=at("shots", 0, "sharp"), value="Cy"), '"Bo",', '"Bo", "Cy",'),
        (SetEdit(path=at("shots", 0, "camera", "aim"), value="Bo"), 'aim = "Ada" }', 'aim = "Bo" }'),
        (SetEdit(path=at("shots", 0, "camera", "level"), value=True), '"Ada" }', '"Ada", level = true }'),
        (RemoveEdit(path=at("shots", 0, "camera", "aim")), ', aim = "Ada" }', " }"),
        (SetEdit(path=at("title"), value='A "b"\\'), "# the format\n", '# the format\ntitle = "A \\"b\\"\\\\"\n'),
        (RenameEdit(path=at("people", "@Bo", "name"), value="Bea"), '"Bo"', '"Bea"'),
    ],
)
def test_only_what_changes_is_touched(edit: Any, old: str, new: str) -> None:
    done = edited(SMALL, edit)
    assert done.text == SMALL.replace(old, new)
    assert taken_back(done).data == tomllib.loads(SMALL)


def test_a_table_is_added_where_a_file_has_it() -> None:
    done = edited(SMALL, AddEdit(path=at("marks"), value={"name": "door", "at": [0, 1, 2]}))
    assert done.text.index("[[marks]]") < done.text.index("[[people]]")
    assert comments(done.text) == comments(SMALL)
    assert taken_back(done).data == tomllib.loads(SMALL)


def test_a_shot_is_added_with_its_tables() -> None:
    shot = {
        "id": "two",
        "when": "2026-03-14T09:30:00",
        "camera": {"at": [1, 1, 1.5], "aim": "Bo"},
        "lights": [{"strobe": "key", "at": [1, 2, 3], "target": {"who": "Ada", "stops": 0.5}}],
    }
    done = edited(SMALL, AddEdit(path=at("shots"), value=shot, at=0))
    assert [s["id"] for s in done.data["shots"]] == ["two", "one"]
    assert done.data["shots"][0]["when"].hour == 9
    assert done.text.index('id = "two"') < done.text.index("[shots.camera]") < done.text.index("[[shots.lights]]")
    assert done.text.index("[[shots.lights]]") < done.text.index('id = "one"')
    assert taken_back(done).data == tomllib.loads(SMALL)


@pytest.mark.parametrize("path", [at("kit", "gels", 0), at("place", "north")])
def test_the_last_of_a_table_that_has_no_line_of_its_own_goes_with_it(path: list[Any]) -> None:
    text = 'sidelong = 1\nplace.north = 3\n\n[[kit.gels]]\nid = "half"\nmired = 92\n'
    done = edited(text, RemoveEdit(path=path))
    assert path[0] not in done.data
    assert tomllib.loads(done.text) == done.data
    assert same(taken_back(done).data, tomllib.loads(text))


def test_line_ends_stay() -> None:
    text = SMALL.replace("\n", "\r\n")
    done = edited(
        text,
        SetEdit(path=at("people", "@Bo", "height"), value=1.8),
        AddEdit(path=at("marks"), value={"name": "m", "at": [0, 0, 0]}),
    )
    assert "\n" not in done.text.replace("\r\n", "")


def test_a_text_of_several_lines() -> None:
    done = edited(SMALL, SetEdit(path=at("brief"), value='one\n"two" \\ and\n\nfour'))
    assert done.data["brief"] == 'one\n"two" \\ and\n\nfour'
    assert '"""' in done.text


@pytest.mark.parametrize(
    "edit",
    [
        SetEdit(path=at("people", "@Nobody", "height"), value=1),
        SetEdit(path=at("people", 7, "height"), value=1),
        SetEdit(path=at("people", 7), value={"name": "x"}),
        SetEdit(path=at("people", "name"), value="x"),
        SetEdit(path=at("place", "north", "deep"), value=1),
        AddEdit(path=at("place"), value={"name": "x"}),
        AddEdit(path=at("people"), value="x"),
        RemoveEdit(path=at("client")),
        MoveEdit(path=at("place", "north"), to=0),
        RenameEdit(path=at("place", "north"), value="x"),
        SetEdit(path=at("title"), value=float("inf")),
        SetEdit(path=at("title"), value="\ud800"),
    ],
)
def test_what_leads_nowhere_is_refused(edit: Any) -> None:
    with pytest.raises(InputFault, match=r"expected|change it in the file"):
        edited(SMALL, edit)


def test_a_name_twice_is_no_way() -> None:
    text = SMALL.replace('"Bo"\nat', '"Ada"\nat')
    with pytest.raises(InputFault, match="2 items"):
        edited(text, RemoveEdit(path=at("people", "@Ada")))


def test_how_it_stood_comes_back_where_it_still_means_it() -> None:
    done = edited(SMALL, SetEdit(path=at("people", 0, "at", 0), value=1.5))
    assert done.inverse[0].written == "1.00"
    assert taken_back(done).text == SMALL
    lying = done.inverse[0].model_copy(update={"written": "2.00"})
    assert apply_edits(done.text, done.data, [lying]).data == tomllib.loads(SMALL)


def test_written_cannot_smuggle_in_more() -> None:
    for bad in ("1.0\nclient = 'x'", "1.0 # note", '"x"\n[place]', "[1.0]"):
        done = edited(SMALL, SetEdit(path=at("people", 0, "at", 0), value=1.5, written=bad))
        assert done.data["people"][0]["at"][0] == 1.5
        assert "client" not in done.data


REFERRING = """sidelong = 1
[place]
[[place.rooms]]
name = "hall"
size = [5, 5, 3]
[[place.rooms.openings]]
name = "pane"
wall = "left"
at = [1, 1]
size = [1, 1]
cover = "silk"
[[place.rooms.openings]]
name = "gelled"
wall = "left"
at = [3, 1]
size = [1, 1]
cover = "blue"
[[place.rooms]]
name = "annex"
at = [6, 0]
size = [3, 5, 3]
[[people]]
name = "Ada"
at = [2, 2]
facing = "Bo"
[[people]]
name = "Bo"
at = [3, 3]
facing = "spot"
[[marks]]
name = "spot"
at = [1, 1, 1]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "lens"
focal = 50
movement = 5
[[kit.strobes]]
id = "key"
energy = 400
guide_number = 40
guide_modifier = "silk"
fed_by = "wall"
[[kit.strobes]]
id = "fill"
energy = 400
reading = { distance = 2, lux_seconds = 100, modifier = "soft box" }
[[kit.lamps]]
id = "lamp"
watts = 500
lumens = 20000
fed_by = "wall"
[[kit.modifiers]]
id = "silk"
kind = "scrim"
[[kit.modifiers]]
id = "soft box"
kind = "front"
[[kit.modifiers]]
id = "board"
kind = "panel"
[[kit.gels]]
id = "blue"
mired = -50
[[kit.filters]]
id = "nd"
stops = 2
[[kit.power]]
id = "wall"
[[shots]]
id = "first"
body = "body"
lens = "lens"
sharp = "Ada"
soft = ["Bo", "spot"]
filters = ["nd"]
[shots.camera]
at = [0.5, 0.5, 1.5]
aim = "Bo"
[shots.movement]
swing = 1
focus_on = "Ada"
[[shots.lights]]
strobe = "key"
at = [1, 1, 2]
aim = "Ada"
modifier = "soft box"
gel = "blue"
target = { who = "Bo", stops = 0 }
[[shots.lights]]
strobe = "key"
at = [4, 1, 2]
bounce = "hall ceiling"
gel = ["blue"]
[[shots.lights]]
strobe = "fill"
at = [4, 4, 2]
bounce = { panel = "board", at = "spot", to = "Ada" }
[[shots.lights]]
lamp = "lamp"
at = [2, 4, 2]
aim = [1, 1, 1]
bounce = "board"
[[readings]]
who = "Ada"
shot = "first"
light = "key 2"
stops = 0.5
[[readings]]
who = "spot"
light = "lamp"
lux = 50
"""


def mention(data: Any, word: str) -> int:
    """How often a word stands in tables, alone or as the first part of a head's or a surface's name."""
    if isinstance(data, dict):
        return sum(mention(v, word) for v in data.values())
    if isinstance(data, list):
        return sum(mention(v, word) for v in data)
    return int(isinstance(data, str) and (data == word or data.startswith(f"{word} ")))


@pytest.mark.parametrize(
    "path",
    [
        *[at("people", 0, "name"), at("people", 1, "name"), at("marks", 0, "name"), at("shots", 0, "id")],
        *[at("kit", k, n, "id") for k, n in (("bodies", 0), ("lenses", 0), ("strobes", 0), ("strobes", 1))],
        *[at("kit", k, 0, "id") for k in ("lamps", "gels", "filters", "power")],
        *[at("kit", "modifiers", n, "id") for n in range(3)],
        *[at("place", "rooms", 0, "name"), at("place", "rooms", 0, "openings", 0, "name")],
    ],
    ids=lambda path: "-".join(map(str, path)),
)
def test_what_refers_to_a_name_follows_it(path: list[Any]) -> None:
    data = tomllib.loads(REFERRING)
    file = Path("shoot.toml")
    before = check_document(parse(file, REFERRING))
    assert not before.faults
    old = value_at(data, resolved(data, path))
    done = edited(REFERRING, RenameEdit(path=path, value="Zed's"))
    assert mention(done.data, old) == 0
    assert mention(done.data, "Zed's") == mention(data, old) >= 1
    assert not check_document(parse(file, done.text)).faults
    assert taken_back(done).text == REFERRING


WORDS = {
    "place.timezone", "place.blocks.*.kind", "place.meshes.*.file", "people.*.skin", "people.*.clothes",
    "people.*.build", "kit.modifiers.*.pattern", "place.meshes.*.name", "readings.*.light", "shots.*.wishes.*.light",
    "shots.*.lights.*.bounce.surface",
}  # fmt: skip
"""Texts that name nothing that can be renamed, or (the last three) are followed by a rule of their own."""


def named_in(annotation: Any, path: tuple[str, ...] = (), meta: Any = ()) -> Iterator[str]:
    """Every path of the format that holds a name, a list of names, or a name or point."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for key, field in annotation.model_fields.items():
            yield from named_in(field.annotation, (*path, key), field.metadata)
        return
    if get_origin(annotation) in (Union, UnionType):
        for part in get_args(annotation):
            yield from named_in(part, path, meta)
        return
    if get_origin(annotation) is list:
        yield from named_in(get_args(annotation)[0], (*path, "*"))
        return
    more = list(get_args(annotation)[1:]) if get_origin(annotation) is Annotated else []
    reads = {getattr(getattr(m, "func", None), "__name__", "") for m in [*meta, *more]}
    if reads & {"_name", "_names", "_name_or_point", "_facing", "_word"}:
        yield ".".join(path)
    elif "wanted_names" in reads:
        yield from (".".join(path), ".".join((*path, "*", "who")))
    elif get_origin(annotation) is Annotated:
        yield from named_in(get_args(annotation)[0], path)


def test_every_name_of_the_format_is_known_to_a_rename() -> None:
    """So that a key that names something, new to the format, is not forgotten here."""
    every = set(named_in(ShootFile))
    followed = {target for targets in REFERENCES.values() for target in targets} | {"shots.*.lights.*.bounce.surface"}
    assert len(every) > 40
    assert every - followed - set(REFERENCES) - WORDS - {"place.rooms.*.name"} == set()
    assert followed - every - {"shots.*.lights.*.bounce"} == set()


def leaves(data: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [here, *(path for key, value in items for path in leaves(value, (*here, key)))]


# --- any edits at all, on the files that come with Sidelong ---

scalars = st.one_of(
    st.integers(-1000, 1000),
    st.floats(-1e6, 1e6, allow_nan=False).map(lambda v: round(v, 6)),
    st.booleans(),
    st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=30),
)
values = st.one_of(
    scalars, st.lists(st.integers(-9, 9), max_size=4), st.dictionaries(st.sampled_from("abc"), scalars)
)


@st.composite
def some_edit(draw: st.DrawFn, data: Any) -> Any:
    paths = [p for p in leaves(data) if p]
    path = list(draw(st.sampled_from(paths)))
    kind = draw(st.sampled_from(["set", "set", "new", "add", "remove", "move"]))
    if kind == "new":
        holder = draw(st.sampled_from([p for p in leaves(data) if isinstance(value_at(data, p), dict)]))
        return SetEdit(path=[*holder, draw(st.sampled_from(["title", "x", "a b", "é"]))], value=draw(values))
    if kind == "add":
        lists = [p for p in paths if isinstance(value_at(data, p), list)]
        if lists:
            path = list(draw(st.sampled_from(lists)))
            like = value_at(data, tuple(path))
            value = {"name": draw(st.text("abcé\"'#[]=", min_size=1, max_size=8)), "at": [1, 2]}
            value = value if like and isinstance(like[0], dict) else draw(scalars)
            return AddEdit(path=path, value=value, at=draw(st.integers(0, len(like))))
    if kind == "remove":
        return RemoveEdit(path=path)
    if kind == "move":
        items = [p for p in paths if isinstance(p[-1], int)]
        if items:
            return MoveEdit(path=list(draw(st.sampled_from(items))), to=draw(st.integers(0, 8)))
    return SetEdit(path=path, value=draw(values))


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.parent.name)
@settings(max_examples=20)
@given(data=st.data())
def test_any_edits_mean_what_they_say_and_can_be_taken_back(file: Path, data: st.DataObject) -> None:
    text = file.read_text(encoding="utf-8")
    before = tables = tomllib.loads(text)
    done = Edited(text, tables, ())
    inverses: list[Any] = []
    for _ in range(data.draw(st.integers(1, 4))):
        edit = data.draw(some_edit(done.data))
        try:
            after = apply_edits(done.text, done.data, [edit])
        except InputFault:
            continue
        assert same(tomllib.loads(after.text), after.data)
        if isinstance(edit, (SetEdit, AddEdit, RemoveEdit)) and value_at(done.data, tuple(edit.path)) is not ABSENT:
            quick, touched = tables_after(done.data, [edit])
            assert same(without_empty(quick), without_empty(after.data))
            assert touched
        if isinstance(edit, SetEdit) and not isinstance(value_at(done.data, tuple(edit.path)), (dict, list)):
            assert set(comments(done.text)) <= set(comments(after.text)) | {
                c for c in comments(done.text) if '"' in c
            }
        inverses = [*after.inverse, *inverses]
        done = after
    assert same(apply_edits(done.text, done.data, inverses).data, before)


def without_empty(data: Any) -> Any:
    """Tables without empty lists: a list of tables that has none left is not written."""
    if isinstance(data, dict):
        return {k: without_empty(v) for k, v in data.items() if v != []}
    return [without_empty(v) for v in data] if isinstance(data, list) else data


@given(st.recursive(scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner)))
def test_values_are_written_as_they_are(value: Any) -> None:
    assert same(tomllib.loads(f"v = {value_text(value)}")["v"], value)
    assert same(from_json(to_json(value)), value)


def test_edits_come_from_json() -> None:
    edit = EDIT.validate_python({"op": "set", "path": ["people", {"is": "Ada"}, "at"], "value": [1, 2]})
    assert edited(SMALL, edit).data["people"][0]["at"] == [1, 2]
    assert EDIT.dump_python(edit, mode="json", by_alias=True)["path"][1] == {"is": "Ada"}
