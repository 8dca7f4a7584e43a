"""Broken and hostile shoots through the real command line: a clear fault each, exit code 2, nothing written."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from sidelong.cli import main

GOOD = """\
sidelong = 1
title = "Trial"
[place]
latitude = 50.1
longitude = -5.2
timezone = "Europe/London"
[[place.rooms]]
size = [9.0, 3.2, 2.4]
[[place.rooms.openings]]
wall = "near"
at = [1.0, 0.9]
size = [0.9, 1.0]
[[marks]]
name = "door"
at = [8.0, 1.0, 1.0]
[[people]]
name = "Ada"
at = [3.0, 2.2]
[[people]]
name = "Bo"
at = [4.0, 2.6]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "ninety"
focal = 90
widest = 2.8
smallest = 22
movement = 8
shift = 11
[[kit.strobes]]
id = "key"
energy = 400
guide_number = 32
[[kit.modifiers]]
id = "panel"
kind = "panel"
size = [1, 2]
[[kit.gels]]
id = "full"
mired = 160
transmission = 0.6
[[shots]]
id = "one"
when = 2026-03-14T09:30:00
sharp = ["Ada"]
soft = ["Bo"]
aperture = 4
shutter = "1/125"
iso = 160
[shots.camera]
at = [3.0, 0.4, 1.5]
aim = "Ada"
[shots.movement]
swing = 4
[[shots.lights]]
strobe = "key"
at = [1.0, 1.0, 2.0]
gel = ["full"]
power = 0.5
"""

FLAG = 'modifier = "flag"\n[[kit.modifiers]]\nid = "flag"\nkind = "flag"'
SHINING = "size = [1, 2]\nreflectance = 0.8\ntransmission = 0.5"

# (what is broken, the text taken out, the text put in its place, words that the fault must hold)
EDITS = [
    ("no version", "sidelong = 1\n", "", ["no version", "sidelong = 1"]),
    ("a newer version", "sidelong = 1", "sidelong = 7", ["version 7", "newer Sidelong"]),
    ("a version in quotes", "sidelong = 1", 'sidelong = "1"', ['"1"', "sidelong = 1"]),
    ("a negative version", "sidelong = 1", "sidelong = -1", ["-1"]),
    ("an unknown key", "title =", "titel =", ['"titel"', 'did you mean "title"?']),
    ("an unknown table", "[[marks]]", "[[mark]]", ['"mark"', 'did you mean "marks"?']),
    ("a key of another table", "power = 0.5", "aperture = 2", ['"aperture"', "unknown key"]),
    ("not a number", "latitude = 50.1", "latitude = nan", ["nan", "finite"]),
    ("infinity", "at = [3.0, 2.2]", "at = [inf, 2.2]", ["inf", "finite"]),
    ("minus infinity", "focal = 90", "focal = -inf", ["-inf", "finite"]),
    ("infinity by overflow", "focal = 90", "focal = 1e999", ["inf", "finite"]),
    ("infinity in words", "focal = 90", 'focal = "inf"', ['"inf"', "focal length"]),
    ("not a number in words", "aperture = 4", 'aperture = "nan"', ["nan", "f-number"]),
    ("a giant integer", "focal = 90", "focal = 9" + "0" * 300, ["64 bits"]),
    ("an integer of 5000 digits", "focal = 90", "focal = 9" + "0" * 5000, ["number too long"]),
    ("a giant hexadecimal", "focal = 90", "focal = 0x" + "f" * 5000, ["64 bits"]),
    ("a far position", "at = [8.0, 1.0, 1.0]", "at = [1e30, 1.0, 1.0]", ["from -100000 to 100000"]),
    ("a negative size", "[9.0, 3.2, 2.4]", "[9.0, -3.2, 2.4]", ["-3.2", "size"]),
    ("a size of nothing", "[9.0, 3.2, 2.4]", "[9.0, 0, 2.4]", ["size"]),
    ("a size with two numbers", "[9.0, 3.2, 2.4]", "[9.0, 3.2]", ["3 numbers"]),
    ("a negative focal length", "focal = 90", "focal = -90", ["-90", "focal length"]),
    ("a negative energy", "energy = 400", "energy = -400", ["-400", "joules"]),
    ("a negative iso", "iso = 160", "iso = -160", ["-160", "ISO"]),
    ("a sync time of minutes", 'id = "body"', 'id = "body"\nsync = 200', ["sync time", "at most 1 second"]),
    ("a shutter of nothing", 'shutter = "1/125"', "shutter = 0", ["shutter time"]),
    ("a shutter that divides by nothing", 'shutter = "1/125"', 'shutter = "1/0"', ['"1/0"', "shutter time"]),
    ("text for a number", "focal = 90", 'focal = "ninety"', ['"ninety"', "focal length"]),
    ("an unknown unit", "focal = 90", 'focal = "90 cubits"', ["cubits"]),
    ("true for a number", "iso = 160", "iso = true", ["true", "ISO"]),
    ("a table for a number", "iso = 160", "iso = { a = 1 }", ["a table", "ISO"]),
    ("a number for a name", 'name = "Ada"', "name = 1.5", ["1.5", "name in quotes"]),
    ("an empty name", 'name = "Ada"', 'name = ""', ["a name in quotes"]),
    ("a name of blanks", 'name = "Ada"', 'name = "  "', ["a name in quotes"]),
    ("a long name", 'name = "Ada"', f'name = "{"a" * 101}"', ["1 to 100 characters"]),
    ("a zero in a name", 'name = "Ada"', 'name = "A\\u0000da"', ["\\u0000", "printable"]),
    ("an escape in a name", 'name = "Ada"', 'name = "A\\u001b[2Jda"', ["\\u001b", "printable"]),
    ("a turned-over name", 'name = "Ada"', 'name = "A\\u202eda"', ["U+202E", "printable"]),
    ("an escape in a key", "title =", '"ti\\u001b[2Jtle" =', ["\\u001b", "unknown key"]),
    ("a raw control character", "Trial", "Tri\x01al", ["not TOML"]),
    ("a name twice", 'name = "Bo"', 'name = "Ada"', ['"Ada" a second time', "first in line 17"]),
    ("a mark with a person's name", 'name = "door"', 'name = "Bo"', ['"Bo" a second time']),
    ("a key twice", "focal = 90", "focal = 90\nfocal = 85", ["not TOML", "overwrite"]),
    ("an id twice", "[[kit.lenses]]", '[[kit.lenses]]\nid = "ninety"\nfocal = 50\n[[kit.lenses]]', ["second time"]),
    ("both forms of a movement", "swing = 4", "swing = 4\nmovement = 4", ["swing and movement at once"]),
    ("a rotation alone", "swing = 4", "rotation = 90", ["a rotation without a movement"]),
    ("more movement than the lens has", "swing = 4", "swing = 7\ntilt = 7", ["9.89 degrees", "at most 8.00"]),
    ("a movement of a stiff lens", "movement = 8\n", "movement = 0\n", ["4.00 degrees", "at most 0.00"]),
    ("more rise than the lens has", 'aim = "Ada"', 'aim = "Ada"\nrise = 12', ["12.0 mm", "at most 11.0 mm"]),
    ("rise twice", 'aim = "Ada"\n[shots.movement]', "rise = 1\n[shots.movement]\nrise = 2", ["rise in the movement"]),
    ("an unknown sharp name", 'sharp = ["Ada"]', 'sharp = ["Adda"]', ['"Adda"', 'did you mean "Ada"?']),
    ("an unknown aim", 'aim = "Ada"', 'aim = "Cy"', ['"Cy"', "a person or a mark"]),
    ("an unknown focus", "swing = 4", 'swing = 4\nfocus_on = "Aida"', ['"Aida"', 'did you mean "Ada"?']),
    ("an unknown strobe", 'strobe = "key"', 'strobe = "kye"', ['"kye"', 'did you mean "key"?']),
    ("an unknown gel", 'gel = ["full"]', 'gel = ["ful"]', ['"ful"', 'did you mean "full"?']),
    ("an unknown lens", "iso = 160", 'iso = 160\nlens = "ninty"', ['"ninty"', 'did you mean "ninety"?']),
    ("an unknown wall", 'wall = "near"', 'wall = "north"', ['"north"', '"near"']),
    ("an unknown timezone", "Europe/London", "Europe/Lodnon", ["timezone", "Europe/London"]),
    ("a timezone that climbs out", "Europe/London", "../../etc/passwd", ["timezone"]),
    ("a target for a stranger", "power = 0.5", 'target = { who = "Cy" }', ['"Cy"']),
    ("power and target", "power = 0.5", "power = 0.5\ntarget = { stops = 0 }", ["power and target at once"]),
    ("power over full", "power = 0.5", "power = 2", ["fraction of full power"]),
    ("a bounce off nothing", "power = 0.5", 'bounce = "cieling"', ['"cieling"', 'did you mean "ceiling"?']),
    ("a panel without its place", "power = 0.5", 'bounce = "panel"', ["a panel without its place"]),
    (
        "a flag before a head",
        "power = 0.5",
        'modifier = "flag"\n[[kit.modifiers]]\nid = "flag"\nkind = "flag"',
        ["a flag"],
    ),
    (
        "more light than there is",
        "size = [1, 2]",
        "size = [1, 2]\nreflectance = 0.8\ntransmission = 0.5",
        ["at most 1"],
    ),
    ("a mired shift that nothing has", "mired = 160", "mired = -400", ["from -280 to 500"]),
    ("sharp and soft at once", 'soft = ["Bo"]', 'soft = ["Ada"]', ['"Ada" in sharp and in soft']),
    ("a sharp one behind the camera", 'aim = "Ada"', "aim = [3.0, -5.0, 1.5]", ["behind the camera"]),
    ("a sharp one in the lens", "at = [3.0, 0.4, 1.5]", "at = [3.0, 2.15, 1.6]", ["more than the focal length"]),
    ("an aim at the camera", 'aim = "Ada"', "aim = [3.0, 0.4, 1.5]", ["an aim at the camera itself"]),
    ("an aim straight down", 'aim = "Ada"', "aim = [3.0, 0.4, 0.0]", ["straight above or below"]),
    ("a light aimed at itself", "power = 0.5", "aim = [1.0, 1.0, 2.0]", ["aimed at itself"]),
    ("an aperture wider than the lens", "aperture = 4", "aperture = 2", ["f/2", "f/2.8 or smaller"]),
    ("stops the wrong way round", "smallest = 22", "smallest = 2", ["beyond the widest"]),
    ("no calibration", "guide_number = 32\n", "", ["no calibration"]),
    ("two calibrations", "guide_number = 32", "guide_number = 32\nefficacy = 30", ["guide_number and efficacy"]),
    ("a reading of nothing", "guide_number = 32", "reading = { distance = 2 }", ["neither lux_seconds nor aperture"]),
    ("a strobe called sun", 'id = "key"', 'id = "sun"', ["sun and sky are lights of their own"]),
    ("an opening outside its wall", "at = [1.0, 0.9]", "at = [8.5, 0.9]", ["inside its wall"]),
    ("an opening in two forms", "at = [1.0, 0.9]", "at = [1.0, 0.9]\nalong = 2", ["both at and along"]),
    ("an opening without a size", "size = [0.9, 1.0]\n", "", ["without its size"]),
    ("a day that is not", "2026-03-14T09:30:00", "2026-02-30T09:30:00", ["not TOML"]),
    ("a day in words", "2026-03-14T09:30:00", '"next Tuesday"', ["next Tuesday", "date and time"]),
    ("an hour that is not", "2026-03-14T09:30:00", '"2026-03-14T25:00"', ["date and time"]),
    ("a day before the calendar", "2026-03-14T09:30:00", "0001-01-01T00:00:00", ["1700 to 2200"]),
    ("a time without a day", "2026-03-14T09:30:00", "09:30:00", ["date and time"]),
    ("a camera without a place", "at = [3.0, 0.4, 1.5]\n", "", ["no at in", "camera"]),
    ("a shot without a camera", '[shots.camera]\nat = [3.0, 0.4, 1.5]\naim = "Ada"\n', "", ["camera"]),
    ("no lens at all", "[[kit.lenses]]", "[[kit.power]]", ["unknown key"]),
    ("a value without its end", 'title = "Trial"', 'title = "Trial', ["not TOML"]),
    ("a table without its end", "[place]", "[place", ["not TOML"]),
    ("prose", GOOD, "Dear Ada,\nbring the boots.\n", ["not TOML"]),
    ("a value for a table", GOOD, "sidelong = 1\nshots = 3\n", ["3", "a list in brackets"]),
    ("a table for a list", GOOD, "sidelong = 1\n[shots]\nid = 'a'\n", ["a list in brackets"]),
    ("deep brackets", GOOD, "sidelong = 1\nbrief = " + "[" * 200_000, ["levels of nesting"]),
    ("deep tables", GOOD, "sidelong = 1\nbrief = " + "{a=" * 80_000, ["levels of nesting"]),
    ("a key of many dots", GOOD, "sidelong = 1\n" + "a." * 120_000 + "a = 1\n", ["levels of nesting"]),
    ("a header of many dots", GOOD, "sidelong = 1\n[" + "a . " * 60_000 + "a]\n", ["levels of nesting"]),
    ("a key of a quarter of a million characters", GOOD, "a" * 250_000 + " = 1\nsidelong = 1\n", ["unknown key"]),
    ("nothing but blanks", GOOD, "\n \t\n", ["an empty file"]),
    ("an absolute mesh", "[[marks]]", '[[place.meshes]]\nfile = "/etc/passwd"\n[[marks]]', ["absolute path"]),
    ("a mesh of a drive", "[[marks]]", "[[place.meshes]]\nfile = 'C:\\scan.obj'\n[[marks]]", ["absolute path"]),
    ("a mesh that climbs out", "[[marks]]", '[[place.meshes]]\nfile = "a/../../x.obj"\n[[marks]]', ["climbs out"]),
    ("a mesh that climbs back", "[[marks]]", "[[place.meshes]]\nfile = '..\\x.obj'\n[[marks]]", ["climbs out"]),
    ("a mesh that is not there", "[[marks]]", '[[place.meshes]]\nfile = "x.obj"\n[[marks]]', ["not there"]),
    ("a mesh that is the folder", "[[marks]]", '[[place.meshes]]\nfile = "."\n[[marks]]', ["no plain file"]),
    ("a reading by a stranger", "[[shots]]", '[[readings]]\nwho = "Cy"\nstops = 1\n[[shots]]', ['"Cy"']),
    ("a reading of two values", "[[shots]]", '[[readings]]\nwho = "Bo"\nlux = 1\nstops = 1\n[[shots]]', ["one of"]),
]


def snapshot(folder: Path) -> dict[str, tuple[int, int]]:
    return {str(p): (p.lstat().st_size, p.lstat().st_mtime_ns) for p in sorted(folder.rglob("*"))}


def assert_fault(path: Path, folder: Path, capsys: pytest.CaptureFixture[str], words: list[str]) -> str:
    before = snapshot(folder)
    code = main(["check", str(path)])
    captured = capsys.readouterr()
    assert code == 2, captured.err
    assert "Traceback" not in captured.err
    assert "found" in captured.err
    assert "expected" in captured.err
    assert not captured.out
    for word in words:
        assert word in captured.err, captured.err[:2000]
    assert all(c.isprintable() or c == "\n" for c in captured.err), "a control character reaches the terminal"
    assert len(captured.err) < 20_000
    assert snapshot(folder) == before, "a file was written"
    return captured.err


def test_the_sound_shoot_has_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shoot.toml").write_text(GOOD, encoding="utf-8")
    assert main(["check", str(tmp_path)]) == 0
    captured = capsys.readouterr()
    assert captured.out.startswith("no fault; 1 shot, 2 people, 1 room")
    assert captured.err == ""


@pytest.mark.parametrize(("out", "put", "words"), [e[1:] for e in EDITS], ids=[e[0] for e in EDITS])
def test_broken_text(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], out: str, put: str, words: list[str]
) -> None:
    assert out in GOOD
    (tmp_path / "shoot.toml").write_bytes(GOOD.replace(out, put, 1).encode("utf-8"))
    assert_fault(tmp_path, tmp_path, capsys, words)


def _many(table: str, count: int) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        path.write_text("sidelong = 1\n" + f"[[{table}]]\nid='x'\n" * count)

    return write


BYTES: list[tuple[str, Callable[[Path], object], list[str]]] = [
    ("empty", lambda p: p.write_bytes(b""), ["an empty file"]),
    ("broken UTF-8", lambda p: p.write_bytes(b'sidelong = 1\ntitle = "\xff\xfe"\n'), ["0xff", ":2:10"]),
    ("UTF-16", lambda p: p.write_bytes("sidelong = 1".encode("utf-16")), ["not UTF-8"]),
    ("zeros", lambda p: p.write_bytes(b"\0" * 1000), ["not TOML"]),
    ("100 MB", lambda p: os.truncate(os.open(p, os.O_CREAT | os.O_WRONLY), 100_000_000), ["100.0 MB", "256 KiB"]),
    ("a pipe", os.mkfifo, ["a pipe"]) if hasattr(os, "mkfifo") else ("a folder there", os.mkdir, ["a folder"]),
    ("a folder", os.mkdir, ["a folder"]),
    ("a device", lambda p: p.symlink_to("/dev/zero"), ["a pipe, a device or a socket"]),
    ("a loop of links", lambda p: p.symlink_to(p), ["cannot be followed"]),
    ("a link to nowhere", lambda p: p.symlink_to("nowhere"), ["found nothing"]),
    ("10 000 people", _many("people", 10_000), ["10000 entries", "at most 500"]),
    ("10 000 shots", _many("shots", 10_000), ["at most 500"]),
    (
        "a hundred thousand numbers",
        lambda p: p.write_text("sidelong=1\nbrief=[" + "1," * 120_000 + "]"),
        ["text in quotes"],
    ),
    (
        "many unknown keys",
        lambda p: p.write_text("sidelong=1\n" + "".join(f"k{i}=1\n" for i in range(20_000))),
        ["more"],
    ),
]


@pytest.mark.parametrize(("make", "words"), [b[1:] for b in BYTES], ids=[b[0] for b in BYTES])
def test_broken_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], make: Callable[[Path], object], words: list[str]
) -> None:
    make(tmp_path / "shoot.toml")
    assert_fault(tmp_path, tmp_path, capsys, words)


def test_missing_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = assert_fault(tmp_path / "absent", tmp_path, capsys, ["found nothing"])
    assert "shoot.toml" in text


def test_empty_folder_says_how_to_begin(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert_fault(tmp_path, tmp_path, capsys, ["sidelong new"])


def test_a_mesh_by_a_link_that_leads_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    inside, outside = tmp_path / "shoot", tmp_path / "secret.obj"
    inside.mkdir()
    outside.write_text("v 0 0 0\n")
    (inside / "scan.obj").symlink_to(outside)
    text = GOOD.replace("[[marks]]", '[[place.meshes]]\nfile = "scan.obj"\n[[marks]]', 1)
    (inside / "shoot.toml").write_text(text)
    assert_fault(inside, tmp_path, capsys, ["a link that leads out of the folder"])


def test_every_fault_is_told_at_once_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = GOOD.replace("title =", "titel =").replace("focal = 90", "focal = 'x'").replace("Europe/London", "Nowhere")
    text = text.replace('sharp = ["Ada"]', 'sharp = ["Adda"]').replace("swing = 4", "swing = 4\nmovement = 4")
    (tmp_path / "shoot.toml").write_text(text)
    said = assert_fault(tmp_path, tmp_path, capsys, ["titel", "focal length", "Nowhere", "Adda", "at once"])
    lines = text.splitlines()
    for word, key in (("titel", "titel"), ("Adda", "sharp"), ("Nowhere", "timezone")):
        number = next(i for i, line in enumerate(lines, 1) if line.startswith(key))
        assert any(f":{number}:" in line and word in line for line in said.splitlines())


def test_the_caret_stands_under_the_value(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shoot.toml").write_text(GOOD.replace("focal = 90", "focal = -90"))
    said = assert_fault(tmp_path, tmp_path, capsys, []).splitlines()
    source = next(i for i, line in enumerate(said) if line.strip() == "focal = -90")
    assert said[source + 1].index("^") == said[source].index("-90")
