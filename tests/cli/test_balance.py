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
        [
            ("Ana", "flash", "stops", 0.3),
            ("Ana", "ambient", "stops", -2.0, 0.3),
            ("wall", "ambient", "at_most", -1.5),
        ],
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
    "the sun outshone by the high-speed mode": (
        [("Ana", "flash", "stops", -2.0), ("Ana", "ambient", "stops", -3.0, 0.3)],
        {"place": JUNE, "time": "18:00:00", "more": "high_speed = true"},
        {"shutters": times(2**-12, 1 / 30)},
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


def test_every_setting_counts_the_pulsed_modes_loss(tmp_path, capsys, monkeypatch):
    wishes, given, _ = CAN["the sun outshone by the high-speed mode"]
    _, shot, _ = answered(shoot_file(tmp_path, wishes, **given), capsys, monkeypatch)
    assert shot["shutter_s"] < SYNC * 0.99
    assert any("with the high-speed mode on the flash loses" in note for note in shot["notes"])
    given = given | {"more": "high_speed = false"}
    code, shot, _ = answered(shoot_file(tmp_path, wishes, **given), capsys, monkeypatch)
    assert code == 3
    assert shot["shutter_s"] == pytest.approx(SYNC)
    assert "1/200 s, the sync speed" in shot["obstacles"]["limits"]


@pytest.mark.parametrize("wanted", [2.4, 3.3])
def test_a_head_is_moved_no_further_than_it_has_to_be(tmp_path, capsys, monkeypatch, wanted):
    """Where it stands it is too weak. It comes nearer by thirds of a stop, to the first place that does."""
    wishes = [("Ana", "key", "stops", wanted)]
    path = shoot_file(tmp_path, wishes, reach="reach = [1.0, 3.0]")
    code, shot, _ = answered(path, capsys, monkeypatch)
    assert code == 0
    (words,) = shot["changes"]
    drawn = math.dist(HEADS["key"][2], MARKS["Ana"])
    key = np.array(shot["strobes"][0]["at_m"])
    found = math.dist(key, MARKS["Ana"])
    assert words == f"key stands {found:.2f} m from its aim instead of {drawn:.2f} m"
    away = np.array(HEADS["key"][2]) - np.array(MARKS["Ana"])
    assert key == pytest.approx(np.array(MARKS["Ana"]) + away * found / drawn)

    def worst(distance):
        where = np.array(MARKS["Ana"]) + away * distance / drawn
        monkeypatch.setitem(HEADS, "key", (400.0, 40.0, tuple(where)))
        return brute_force(path, wishes, shutters=[SYNC])

    assert worst(found) <= 1 / 6
    assert worst(found * 2 ** (1 / 6)) > 1 / 6


def test_no_place_in_reach_is_the_nearest_and_says_so(tmp_path, capsys, monkeypatch):
    path = shoot_file(tmp_path, [("Ana", "key", "stops", 5.0)], reach="reach = [1.0, 3.0]")
    code, shot, _ = answered(path, capsys, monkeypatch)
    assert code == 3
    assert math.dist(shot["strobes"][0]["at_m"], MARKS["Ana"]) == pytest.approx(1.0)
    closer = next(way for way in shot["ways_out"] if way["kind"] == "closer")
    assert "m from its aim instead of 1.00 m" in closer["words"]


GELS = """
[[kit.gels]]
id = "full CTO"
mired = 160
transmission = 0.58
[[kit.gels]]
id = "half CTO"
mired = 80
transmission = 0.72
"""


def test_a_colour_chooses_its_gels_and_pays_for_them_in_power(tmp_path, capsys, monkeypatch):
    wishes = [("Ana", "key", "stops", 0.0)]
    plain = answered(shoot_file(tmp_path, wishes, kit=GELS), capsys, monkeypatch)[1]
    text = (tmp_path / "shoot.toml").read_text()
    (tmp_path / "shoot.toml").write_text(text + '[[shots.wishes]]\nlight = "key"\nkelvin = 2900\n')
    code, shot, _ = answered(tmp_path, capsys, monkeypatch)
    assert code == 0
    (colour,) = shot["colour_wishes"]
    assert colour["gels"] == shot["strobes"][0]["gels"] == ["full CTO"]
    # 5600 K is 178.6 mired, and 160 more are 2953 K
    assert colour["got_K"] == pytest.approx(2953, abs=40)
    more = math.log2(shot["strobes"][0]["power"] / plain["strobes"][0]["power"])
    assert more == pytest.approx(-math.log2(0.58), abs=1 / 3)
    (tmp_path / "shoot.toml").write_text(text + '[[shots.wishes]]\nlight = "key"\nkelvin = 9000\n')
    code, shot, err = answered(tmp_path, capsys, monkeypatch)
    assert code == 3
    assert shot["colour_wishes"][0]["gels"] == []
    assert "not 9000 K" in err


def test_a_held_head_serves_all_shots_as_evenly_as_can_be(tmp_path, capsys, monkeypatch):
    path = shoot_file(tmp_path, [("Ana", "key", "stops", 0.0), ("Ana", "fill", "at_most", -1.0)])
    text = path.read_text()
    second = text[text.index("[[shots]]") :].replace('id = "one"', 'id = "two"').replace("stops = 0.0", "stops = 1.0")
    path.write_text(text + second)
    code, out, _ = run(path, capsys, monkeypatch, "--json", "--hold", "key")
    assert code == 3
    one, two = json.loads(out)["shots"]
    assert one["strobes"][0]["power"] == two["strobes"][0]["power"]
    first = [shot["wishes"][0]["got_stops"] for shot in (one, two)]
    assert first[0] == pytest.approx(first[1], abs=1e-9)
    # a stop apart, so that half a stop is missed by each, to the nearest third
    assert max(abs(first[0]), abs(first[1] - 1.0)) <= 0.5 + 1 / 6
    code, _, err = run(path, capsys, monkeypatch, "--hold", "lamp")
    assert code == 2
    assert "expected one of fill, key" in err


def test_writing_keeps_the_comments_and_the_version_before(tmp_path, capsys, monkeypatch):
    wishes = [("Bo", "all", "at_most", 2.0), ("Ana", "ambient", "stops", -2.0, 0.3)]
    given = {"place": JUNE, "time": "21:20:00", "shot": "[shots.free]\niso = [100, 400]\naperture = [2, 8]"}
    path = shoot_file(tmp_path, wishes, **given)
    before = path.read_text().replace('strobe = "key"\n', 'strobe = "key"\ntarget = { who = "Ana", stops = 0 }\n')
    path.write_text(before)
    code, first, _ = answered(path, capsys, monkeypatch, "--write")
    assert code == 0
    after = path.read_text()
    assert (tmp_path / "shoot.toml.previous").read_text() == before
    assert 'id = "one"            # the only one' in after
    shot = tomllib.loads(after)["shots"][0]
    assert shot["shutter"] == first["shutter_marked"]
    assert shot["iso"] in (100, 125, 160, 200, 250, 320, 400)
    assert [light["power"] for light in shot["lights"]] != [1.0, 1.0]
    assert "target" not in shot["lights"][0]
    code, again, _ = answered(path, capsys, monkeypatch)
    assert code == 0
    assert again["shutter_s"] == first["shutter_s"]
    assert again["f_number"] == pytest.approx(first["f_number"])
    for now, then in zip(again["strobes"], first["strobes"], strict=True):
        assert now["power"] == pytest.approx(then["power"], rel=1e-5)
    for now, then in zip(again["wishes"], first["wishes"], strict=False):
        assert now["got_stops"] == pytest.approx(then["got_stops"], abs=1e-4)


PERSON = """
[[people]]
name = "Cy"
at = [0.0, 3.0]
moves = 1.4
"""
DURATIONS = 't01 = "1/500"\nt01_lowest = "1/4000"'


def test_who_moves_is_told_in_millimetres(tmp_path, capsys, monkeypatch):
    """Walking pace, 1.4 m/s: t0.1 at a power goes evenly with the stops from full to the lowest; on the film it is
    smaller by the image's scale, f / (a - f) for a thin lens at a from the front principal point."""
    wishes = [("Cy", "flash", "stops", 0.0), ("Cy", "ambient", "stops", -2.0, 0.3)]
    path = shoot_file(tmp_path, wishes, place=JUNE + PERSON, time="21:20:00", more=DURATIONS)
    path.write_text(path.read_text().replace('sharp = ["Ana"]', 'sharp = ["Cy"]'))
    code, shot, _ = answered(path, capsys, monkeypatch)
    assert code == 0
    flashes = {flash["name"]: flash for flash in shot["flashes"]}
    for strobe in shot["strobes"]:
        expected = (1 / 500) * (500 / 4000) ** (-math.log2(strobe["power"]) / 6)
        assert flashes[strobe["name"]]["t01_s"] == pytest.approx(expected, rel=1e-9)
        assert flashes[strobe["name"]]["recycle_s"] == pytest.approx(2.0 * strobe["power"])
    (motion,) = shot["motion"]
    slowest = max(flash["t01_s"] for flash in shot["flashes"])
    assert motion["frozen_mm"] <= 1400 * slowest + 1e-9
    assert motion["ghost_mm"] == pytest.approx(1400 * shot["shutter_s"])
    # the eyes of 1.72 m are level with a camera at 1.5 m within a hand, so their depth is the 3 m of the floor
    assert motion["ghost_um"] / motion["ghost_mm"] == pytest.approx(1e3 * 0.05 / (3.0 - 0.05), rel=0.01)
    got = {wish["light"]: wish["got_stops"] for wish in shot["wishes"]}
    assert motion["ghost_against_flash_stops"] == pytest.approx(got["ambient"] - got["flash"], abs=1e-6)
    assert motion["ghost_seen"]
    _, out, _ = run(path, capsys, monkeypatch)
    assert "Cy at 1.4 m/s: the flash leaves" in out
    assert "second curtain puts it behind the movement" in out
    assert "the sync speed: the whole film is open" in out or "slower than sync" in out


def test_a_window_is_judged_by_its_own_brightness(tmp_path, capsys, monkeypatch):
    """A pane of sky as bright as the mean of the sky, L = E / pi: a card that looks so is under pi L / 0.18."""
    room = JUNE + (
        "\n[[place.rooms]]\nat = [-4, -2, 0]\nsize = [8, 10, 3]\n"
        '[[place.rooms.openings]]\nname = "pane"\nwall = "far"\nat = [3, 1]\nsize = [1.5, 1.2]\n'
    )
    wishes = [("Ana", "key", "stops", 0.0), ("pane", "all", "at_most", 1.0)]
    path = shoot_file(tmp_path, wishes, place=room, time="21:00:00")
    _, shot, _ = answered(path, capsys, monkeypatch)
    shoot = check(path).shoot
    sky = daylight(shoot.shots[0].when, shoot.place).sky_horizontal
    bellows = (1 + 0.05**2 / 2.95 / 0.05) ** 2
    pane = shot["wishes"][1]
    expected = math.log2(sky * shot["shutter_s"] / (4 * 32 * bellows) / 0.1)
    assert pane["got_stops"] == pytest.approx(expected, abs=1e-3)
    assert pane["miss_stops"] == pytest.approx(max(expected - 1.0, 0.0), abs=1e-3)


def test_light_that_cannot_arrive_is_said_to_be_in_the_way(tmp_path, capsys, monkeypatch):
    """The fill behind the card that is turned to the camera."""
    monkeypatch.setitem(HEADS, "fill", (200.0, 36.0, (0.3, 5.0, 1.8)))
    path = shoot_file(tmp_path, [("Ana", "key", "stops", 0.0), ("Ana", "fill", "stops", -1.0)])
    code, shot, err = answered(path, capsys, monkeypatch)
    assert code == 3
    assert shot["wishes"][0]["met"]
    assert "nothing of it arrives there" in shot["obstacles"]["wishes"][0]
    assert "fill -1.0 at Ana gets nothing" in err


def test_two_changes_where_one_will_not_do(tmp_path, capsys, monkeypatch):
    """More ND for the ambient leaves the flash too weak: then it has to come closer, or the film to be faster."""
    wishes = [("Ana", "flash", "stops", 0.0), ("Ana", "ambient", "stops", -1.0)]
    path = shoot_file(tmp_path, wishes, place=JUNE, time="16:00:00", shot="aperture = 4\nfilters = []")
    code, shot, _ = answered(path, capsys, monkeypatch)
    assert code == 3
    pairs = [way for way in shot["ways_out"] if " and " in way["words"]]
    assert pairs
    for way in pairs:
        flash = sum(
            p * full_power(at, "Ana", energy * out)
            for p, (energy, out, at) in zip(way["powers"], HEADS.values(), strict=True)
        )
        if way["kind"] == "closer":
            continue
        bellows = (1 + 0.05**2 / 2.95 / 0.05) ** 2
        film = 0.18 / (4 * way["f_number"] ** 2 * bellows) * way["iso"] / 10 * 2.0 ** -way["nd_stops"]
        assert math.log2(film * flash) == pytest.approx(0.0, abs=1 / 6 + 1e-3)
        assert math.log2(film * way["shutter_s"] * sum(sun_and_sky(path, "Ana"))) == pytest.approx(
            -1.0, abs=1 / 6 + 1e-3
        )


def test_an_outlet_that_is_asked_for_too_much_is_named(tmp_path, capsys, monkeypatch):
    """400 J in 2 s and 200 J in 2 s, of which 0.7 arrive: 429 W. 36 frames: their energy over 0.7."""
    kit = '[[kit.power]]\nid = "outlet"\nwatts = 300\n'
    path = shoot_file(tmp_path, LIGHTS, kit=kit)
    code, out, _ = run(path, capsys, monkeypatch)
    assert code == 0
    assert "429 W of 300 W while key, fill charge or burn, more than it gives" in out
    assert "mind: Circuits." in out
    assert "mind: Mains and stored charge." in out
    assert "mind: Stands and sandbags." in out
    _, out, _ = run(path, capsys, monkeypatch, "--json")
    answer = json.loads(out)
    (load,) = answer["power"]
    assert load["needed_w"] == pytest.approx(600 / 2 / 0.7)
    assert load["needed_wh"] == pytest.approx(36 * answer["shots"][0]["energy_j"] / 3600 / 0.7)


def test_a_battery_that_runs_out_is_named(tmp_path, capsys, monkeypatch):
    kit = '[[kit.power]]\nid = "pack"\nkind = "battery"\nwatt_hours = 2\n'
    path = shoot_file(tmp_path, LIGHTS, kit=kit, shot="aperture = 5.6\nframes = 200")
    _, out, _ = run(path, capsys, monkeypatch)
    assert "for 200 frames, runs out before the last" in out
    assert "mind: Battery. Printed because 200 frames take" in out


def test_a_shoot_without_wishes_is_told_so(tmp_path, capsys, monkeypatch):
    path = shoot_file(tmp_path, [])
    code, _, err = run(path, capsys, monkeypatch)
    assert code == 2
    assert "found no wishes" in err


def test_later_in_the_day_is_when_it_says(tmp_path, capsys, monkeypatch):
    """Ambient three stops under with the sun in her face: at the time named the light's own figures meet it, and
    twenty minutes before they do not."""
    wishes, given, _, *_ = CANNOT["the sun to be outshone"]
    path = shoot_file(tmp_path, wishes, **given)
    _, shot, _ = answered(path, capsys, monkeypatch)
    (later,) = [way for way in shot["ways_out"] if way["kind"] == "later"]
    hour, minute = (int(part) for part in later["words"].split(" at ")[1][:5].split(":"))
    assert " later, at " in later["words"]

    def worst(minutes):
        at = f"{minutes // 60:02d}:{minutes % 60:02d}:00"
        there = shoot_file(tmp_path, wishes, **{**given, "time": at})
        return brute_force(there, wishes, shutters=USUAL)

    assert worst(60 * hour + minute) <= 1 / 6 + 1e-3
    assert worst(60 * hour + minute - 20) > 1 / 6


def test_what_was_read_counts_in_the_balance(tmp_path, capsys, monkeypatch):
    """A key read a stop over what its plan without readings gives is set a stop lower."""
    wishes = [("Ana", "key", "stops", 1.0)]
    path = shoot_file(tmp_path, wishes)
    _, before, _ = answered(path, capsys, monkeypatch)
    got = before["wishes"][0]["got_stops"]
    path.write_text(path.read_text() + f'[[readings]]\nwho = "Ana"\nlight = "key"\nstops = {got + 1}\n')
    code, after, _ = answered(path, capsys, monkeypatch)
    assert code == 0
    stops = math.log2(after["strobes"][0]["power"] / before["strobes"][0]["power"])
    assert stops == pytest.approx(-1.0, abs=1e-6)
    _, out, _ = run(path, capsys, monkeypatch)
    assert "key: +1.0 stops" in out
