"""Pictures on disk: what is inside, and that nothing is left half written."""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import time
import zlib
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import OpenEXR
import pytest
from PIL import Image

from sidelong.errors import FileFault
from sidelong.picture import files
from sidelong.picture.values import Picture
from sidelong.picture.xmp import OWN

SETTINGS = {"Stop": "f/2.8", "Shutter": "1/200 s", "ISO": "160", "Movement": "swing 3.84° right", "Strobe key": "1/4"}
_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"


def chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    """Every chunk of a PNG, name and content, its check sum tested (PNG third edition, W3C 2025, clause 5.3)."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    found, at = [], 8
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        body = data[at + 4 : at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0] == zlib.crc32(body)
        found.append((body[:4], body[4:]))
        at += 12 + length
    return found


def test_png_round_trip_with_settings(tmp_path: Path, picture: Picture) -> None:
    path = tmp_path / "new folder" / "row.png"
    files.write_png(path, picture.srgb, "Row — the mender", SETTINGS)
    with Image.open(path) as back:
        assert (np.asarray(back) == picture.srgb).all()
        text = dict(back.text)
    assert text["Disclaimer"] == "predicted, not a photograph"
    assert text["Description"].startswith("predicted, not a photograph; Stop f/2.8; Shutter 1/200 s")
    assert text["Title"] == "Row — the mender"
    assert {name: text[name] for name in SETTINGS} == SETTINGS


def test_png_says_srgb_before_its_pixels(tmp_path: Path, picture: Picture) -> None:
    files.write_png(tmp_path / "a.png", picture.srgb, "", {})
    names = [name for name, _ in chunks((tmp_path / "a.png").read_bytes())]
    assert names[0] == b"IHDR"
    assert names.index(b"sRGB") < names.index(b"IDAT")
    assert names[-1] == b"IEND"


def test_xmp_packet_reads_back_with_hostile_words(tmp_path: Path, picture: Picture) -> None:
    hostile = {"Lens <&>": 'a "b" \x00\x1b ]]> end', "Þóra": "− ° µ"}
    files.write_png(tmp_path / "a.png", picture.srgb, "A & <B>\x07", hostile)
    with Image.open(tmp_path / "a.png") as back:
        packet = back.text[files.XMP_KEYWORD]
    assert packet.startswith("<?xpacket begin=")
    assert packet.rstrip().endswith('<?xpacket end="w"?>')
    root = ElementTree.fromstring(packet[packet.index("?>") + 2 : packet.rindex("<?xpacket")])
    pairs = {
        pair.findtext(f"{{{OWN}}}name"): pair.findtext(f"{{{OWN}}}value")
        for pair in root.iter(f"{_RDF}li")
        if pair.find(f"{{{OWN}}}name") is not None
    }
    assert pairs == {"Lens <&>": 'a "b"    ]]> end', "Þóra": "− ° µ"}
    assert root.findtext(f".//{{{OWN}}}predicted") == "True"
    assert "predicted, not a photograph" in packet
    assert "digitalsourcetype/algorithmicMedia" in packet


def test_exr_round_trip(tmp_path: Path, picture: Picture) -> None:
    blur = np.linspace(0, 900, picture.layers.depth.size, dtype=np.float32).reshape(picture.layers.depth.shape)
    path = tmp_path / "row.exr"
    files.write_exr(path, picture, blur, "Row", SETTINGS, ("Marit", "Åse"))
    with OpenEXR.File(str(path), separate_channels=True) as back:
        header = dict(back.header())
        planes = {name: channel.pixels for name, channel in back.channels().items()}
    lights = ["key", "sun", "sky"]
    axes = [f"{group}.{axis}" for group in ["total", *(f"light.{light}" for light in lights)] for axis in "XYZ"]
    assert set(planes) == {"R", "G", "B", "depth", "blur", "person", *axes}
    for i, axis in enumerate("XYZ"):
        np.testing.assert_array_equal(planes[f"total.{axis}"], picture.exposure_xyz[..., i])
        np.testing.assert_allclose(
            sum(planes[f"light.{light}.{axis}"] for light in lights), planes[f"total.{axis}"], rtol=1e-5
        )
    np.testing.assert_array_equal(planes["depth"], picture.layers.depth)
    np.testing.assert_array_equal(planes["blur"], blur)
    np.testing.assert_array_equal(planes["person"], picture.layers.person)
    assert header["comments"] == "predicted, not a photograph"
    assert header["sidelong.Stop"] == "f/2.8"
    assert header["sidelong.Strobe key"] == "1/4"
    assert header["people"] == "0 Marit; 1 Åse"


def test_lights_of_odd_or_equal_names_keep_channels_of_their_own() -> None:
    assert files.channel_names(("key.left", "key left", "Åse", "", "x" * 200)) == (
        "key_left",
        "key_left_2",
        "_se",
        "light",
        "x" * 60,
    )


def test_a_failure_while_writing_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(b"old")

    def interrupted() -> None:
        with files.replacing(path) as passing:
            passing.write_bytes(b"half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.png"]


def test_ctrl_c_during_a_slow_write_leaves_nothing(tmp_path: Path) -> None:
    """A real process, really interrupted in the middle of its writing."""
    code = (
        "import sys, time, pathlib\n"
        "from sidelong.picture.files import replacing\n"
        "with replacing(pathlib.Path(sys.argv[1])) as passing:\n"
        "    passing.write_bytes(b'half'); print('writing', flush=True); time.sleep(30)\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path / "a.png")], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"writing\n"
    assert len(list(tmp_path.iterdir())) == 1
    process.send_signal(signal.SIGINT)
    process.wait(timeout=20)
    process.stdout.close()
    assert list(tmp_path.iterdir()) == []


def test_the_file_can_be_read_by_others_as_any_new_file(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        with files.replacing(tmp_path / "a.txt") as passing:
            passing.write_text("x")
    finally:
        os.umask(before)
    assert (tmp_path / "a.txt").stat().st_mode & 0o777 == 0o644


def test_a_folder_that_is_a_file_is_a_clear_fault(tmp_path: Path, picture: Picture) -> None:
    (tmp_path / "out").write_text("in the way")
    with pytest.raises(FileFault, match=r"cannot be written .*name another with --out"):
        files.write_png(tmp_path / "out" / "a.png", picture.srgb, "", {})


def test_the_same_picture_gives_the_same_bytes(tmp_path: Path, picture: Picture) -> None:
    files.write_png(tmp_path / "a.png", picture.srgb, "Row", SETTINGS)
    time.sleep(0.01)
    files.write_png(tmp_path / "b.png", picture.srgb, "Row", SETTINGS)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
