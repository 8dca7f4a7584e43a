"""`sidelong balance` on shoots of wishes that can and cannot be met, against every setting there is.

The places are open and the heads bare tubes, metered in closed form (tests/point_meter.py), so that the light at
everyone can be written down again here from the shoot file alone; the search through all marked settings is plain
enumeration.
"""

import itertools
import json
import math
import tomllib

import numpy as np
import pytest

from point_meter import point_meter
from sidelong.cli.app import main
from sidelong.light.daylight import daylight
from sidelong.shoot.check import check

SYNC = 2 ** (-23 / 3)
CAMERA = (0.0, 0.0, 1.5)
MARKS = {"Ana": (0.0, 3.0, 1.5), "Bo": (1.2, 4.0, 1.5), "wall": (-1.5, 6.0, 1.5)}
DARK = 'sky = "dark"'
JUNE = 'latitude = 54\nlongitude = 10\ntimezone = "Europe/Berlin"\nsky = "clear"\nground = 0'
HEADS = {"key": (400.0, 40.0, (1.0, 1.0, 2.0)), "fill": (200.0, 36.0, (-1.5, 0.5, 1.8))}

FILE = """sidelong = 1
title = "wishes"
[place]
{place}
{marks}
[[kit.bodies]]
id = "body"
iso = [100, 6400]
[[kit.lenses]]
id = "fifty"
focal = 50
widest = 2.0
smallest = 16
{strobes}
{kit}
[[shots]]
id = "one"            # the only one
when = 2026-06-10T{time}
sharp = ["Ana"]
{shot}
[shots.camera]
at = [0.0, 0.0, 1.5]
aim = "Ana"
{lights}
{wishes}
"""


def shoot_file(folder, wishes, *, place=DARK, time="12:00:00", shot="aperture = 5.6", kit="", reach="", more=""):
    """Two heads and three marks; `wishes` as (who, light, bound, stops[, within])."""
    said = []
    for who, light, bound, stops, *within in wishes:
        said.append(f'[[shots.wishes]]\nwho = "{who}"\nlight = "{light}"\n{bound} = {stops}')
        said += [f"within = {within[0]}"] if within else []
    text = FILE.format(
        place=place,
        time=time,
        kit=kit,
        shot=shot,
        marks="\n".join(f'[[marks]]\nname = "{n}"\nat = {list(at)}' for n, at in MARKS.items()),
        strobes="\n".join(
            f'[[kit.strobes]]\nid = "{n}"\nenergy = {energy}\nefficacy = {out}\nrange = 6\nstep = "1/3"\n{more}'
            for n, (energy, out, _) in HEADS.items()
        ),
        lights="\n".join(
            f'[[shots.lights]]\nstrobe = "{n}"\nat = {list(at)}\naim = "Ana"\n{reach if n == "key" else ""}'
            for n, (_, _, at) in HEADS.items()
        ),
        wishes="\n".join(said),
    )
    path = folder / "shoot.toml"
    path.write_text(text)
    return path


def run(path, capsys, monkeypatch, *options):
    monkeypatch.setattr("sidelong.plan.metered.meter", point_meter)
    code = main(["balance", str(path), *options])
    out, err = capsys.readouterr()
    return code, out, err


def answered(path, capsys, monkeypatch, *options):
    code, out, err = run(path, capsys, monkeypatch, "--json", *options)
    assert out, err
    (shot,) = json.loads(out)["shots"]
    return code, shot, err


def full_power(at, who, flux):
    """Lux seconds on a card at a mark, turned to the camera, of a bare tube in the open."""
    here, head, camera = (np.array(v, float) for v in (MARKS[who], at, CAMERA))
    away, to_camera = head - here, camera - here
    cosine = away @ to_camera / np.linalg.norm(away) / np.linalg.norm(to_camera)
    return flux / (4 * math.pi * (away @ away)) * max(cosine, 0.0)


def sun_and_sky(path, who):
    """Lux on a card at a mark, turned to the camera: of the sun, of the sky."""
    shoot = check(path).shoot
    day = daylight(shoot.shots[0].when, shoot.place)
    if day is None:
        return 0.0, 0.0
    to_camera = np.array(CAMERA) - np.array(MARKS[who])
    sun = max(float(np.array(day.to_sun) @ to_camera / np.linalg.norm(to_camera)), 0.0)
    return day.sun_normal * sun, day.sky_horizontal / 2


THIRDS = 2.0 ** (-np.arange(19) / 3)


def brute_force(path, wishes, *, shutters, isos=(100.0,), stops=(2**2.5,), nds=(0.0,), sync=SYNC, passed=1.0):
    """The least worst miss over every setting, misses counted by how far each wish may be off, in half thirds."""
    key = np.array([full_power(HEADS["key"][2], who, 16000.0 * passed) for who, *_ in wishes])
    fill = np.array([full_power(HEADS["fill"][2], who, 7200.0) for who, *_ in wishes])
    day = np.array([sun_and_sky(path, who) for who, *_ in wishes])
    named = [light for _, light, *_ in wishes]
    has = {n: np.array([light in ("all", n, *also) for light in named]) for n, also in (
        ("key", ("flash",)), ("fill", ("flash",)), ("sun", ("ambient",)), ("sky", ("ambient",)),
    )}  # fmt: skip
    powers = np.array(list(itertools.product(THIRDS, THIRDS)))
    flash = powers[:, :1] * key * has["key"] + powers[:, 1:] * fill * has["fill"]
    steady = day[:, 0] * has["sun"] + day[:, 1] * has["sky"]
    wanted = np.array([w[3] for w in wishes])
    weight = np.array([(1 / 6) / (w[4] if len(w) > 4 else 1 / 6) for w in wishes])
    # a thin lens of 50 mm at 3 m: the extension that makes 1/f = 1/a + 1/b, a + f the distance in front
    best = math.inf
    extension = 0.05**2 / (3.0 - 0.05)
    bellows = (1 + extension / 0.05) ** 2
    for t, iso, n, nd in itertools.product(shutters, isos, stops, nds):
        share = t / (sync + t) if t < sync * 0.999 else 1.0
        with np.errstate(divide="ignore"):
            got = np.log2(0.18 * (share * flash + t * steady) / (4 * n**2 * bellows) * iso / 10) - nd
        over = got - wanted
        for k, (_, _, bound, *_) in enumerate(wishes):
            if bound == "at_most":
                over[:, k] = np.maximum(over[:, k], 0)
            elif bound == "at_least":
                over[:, k] = np.minimum(over[:, k], 0)
        best = min(best, float((np.abs(over) * weight).max(1).min()))
    return best


def times(fastest, slowest):
    """Marked shutters between two, in thirds of a stop."""
    return [2 ** (k / 3) for k in range(-39, 16) if fastest * 0.999 <= 2 ** (k / 3) <= slowest * 1.001]


USUAL = times(SYNC, 1 / 30)
LIGHTS = [("Ana", "key", "stops", 0.0), ("Ana", "fill", "stops", -1.5)]

CAN = {
    "key and fill": ([*LIGHTS, ("Bo", "all", "at_most", 0.5)], {}, {}),
    "the evening's light under the flash": (
        [("Ana", "flash", "stops", 0.3), ("Ana", "ambient", "stops", -2.0, 0.3), ("wall", "ambient", "at_most", -1.5)],
        {"place": JUNE, "time": "21:20:00"},
        {},
    ),
    "wide open in the sun with ND": (
        [("Ana", "flash", "stops", 0.0), ("Ana", "ambient", "stops", -0.5, 0.3)],
        {
            "place": JUNE,
            "time": "19:00:00",
            "shot": "aperture = 2.8",
            "kit": '[[kit.filters]]\nid = "a"\nstops = 1\n[[kit.filters]]\nid = "b"\nstops = 2',
        },
        {"stops": (2**1.5,), "nds": (0.0, 1.0, 2.0, 3.0)},
    ),
    "a faster film": (
        [("Ana", "key", "stops", 1.0), ("wall", "all", "at_least", -1.0)],
        {"shot": "aperture = 8\n[shots.free]\niso = [100, 800]"},
        {"isos": [100 * 2 ** (k / 3) for k in range(10)], "stops": (8.0,)},
    ),
    "a smaller stop": (
        [("Ana", "key", "stops", -4.5), ("Ana", "fill", "stops", -5.0)],
        {"shot": "[shots.free]\naperture = [2, 11]"},
        {"stops": [2 ** (k / 6) for k in range(6, 22)]},
    ),
}

CANNOT = {
    "a head too weak": (
        [("Ana", "key", "stops", 4.3), ("Ana", "fill", "at_most", 2.0)],
        {},
        {},
        ["key +4.3 at Ana"],
        ["full power of key"],
        {"iso", "stop", "closer"},
    ),
    "a head too strong": (
        [("Ana", "key", "stops", -8.0)],
        {},
        {},
        ["key -8.0 at Ana"],
        ["no ND in hand", "f/5.6, the smallest stop allowed", "the lowest power of key"],
        {"nd", "scrim", "wish"},
    ),
    "the sun to be outshone": (
        [("Ana", "flash", "stops", 0.0), ("Ana", "ambient", "stops", -3.0)],
        {"place": JUNE, "time": "15:00:00"},
        {},
        ["ambient -3.0 at Ana"],
        ["1/200 s, the sync speed", "ISO 100, the lowest", "no ND in hand"],
        {"later"},
    ),
    "one head on two people": (
        [("Ana", "key", "stops", 0.0), ("Bo", "key", "stops", 0.6)],
        {},
        {},
        ["key +0.0 at Ana", "key +0.6 at Bo"],
        [],
        {"wish"},
    ),
    "a dark corner without a tripod": (
        [("wall", "ambient", "stops", 0.0)],
        {"place": JUNE, "time": "21:40:00"},
        {},
        ["ambient +0.0 at wall"],
        ["1/30 s, the longest shutter", "ISO 100, the highest", "f/5.6, the widest stop allowed"],
        {"iso", "stop", "shutter"},
    ),
}


@pytest.mark.parametrize(("wishes", "given", "tried"), CAN.values(), ids=CAN)
def test_wishes_that_can_be_met(tmp_path, capsys, monkeypatch, wishes, given, tried):
    path = shoot_file(tmp_path, wishes, **given)
    code, shot, err = answered(path, capsys, monkeypatch)
    best = brute_force(path, wishes, **({"shutters": USUAL} | tried))
    assert code == 0, err
    assert shot["met"]
    assert best - 1e-3 <= shot["worst_stops"] <= max(best, 0.02) + 1e-3
    assert shot["bound_stops"] <= best + 1e-3
    for wish, (who, light, _, stops, *_) in zip(shot["wishes"], wishes, strict=True):
        assert (wish["who"], wish["light"], wish["wanted_stops"], wish["met"]) == (who, light, stops, True)


@pytest.mark.parametrize(("wishes", "given", "tried", "named", "limits", "kinds"), CANNOT.values(), ids=CANNOT)
def test_wishes_that_cannot_be_met(tmp_path, capsys, monkeypatch, wishes, given, tried, named, limits, kinds):
    path = shoot_file(tmp_path, wishes, **given)
    code, shot, err = answered(path, capsys, monkeypatch)
    best = brute_force(path, wishes, **({"shutters": USUAL} | tried))
    assert code == 3
    assert not shot["met"]
    assert best - 1e-3 <= shot["worst_stops"] <= max(best, 0.02) + 1e-3
    assert shot["obstacles"]["wishes"] == named
    assert all(words in shot["obstacles"]["limits"] for words in limits), shot["obstacles"]
    assert bool(limits) == bool(shot["obstacles"]["limits"])
    assert kinds <= {way["kind"] for way in shot["ways_out"]}, [way["words"] for way in shot["ways_out"]]
    assert 1 <= len(shot["ways_out"]) <= 3
    assert "comes out" in err
