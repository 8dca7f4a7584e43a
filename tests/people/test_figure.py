"""The clothed figures: where they stand and look, what they show, and what they never show."""

import math
import time
from collections import Counter

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.people import stand_in
from sidelong.people.cloth import finish
from sidelong.people.eyes import eyes, face, hands
from sidelong.people.figure import figure
from sidelong.people.outfits import OUTFITS
from sidelong.people.values import Person

POSES = ("standing", "sitting", "kneeling")
EVERYONE = [(body, pose) for body in stand_in.BODIES for pose in POSES]
SKIN = ("face", "hands", "lips")
BARE = (*SKIN, "white", "iris", "pupil", "lashes", "brows", "hair", "hair under", "beard")


def someone(body="woman", pose="standing", **more):
    return Person("Ada", (0.0, 0.0, 0.0), 0.0, pose=pose, build=body, **more)


def parts(person):
    return {thing.name.removeprefix(f"{person.name}: "): thing.mesh for thing in figure(person)}


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
def test_the_pupils_lie_at_the_eyes(body, pose):
    person = someone(body, pose)
    pupils = parts(person)["pupil"].vertices
    left, right = pupils[pupils[:, 1] > 0], pupils[pupils[:, 1] < 0]
    middle = (left[np.argmax(left[:, 0])] + right[np.argmax(right[:, 0])]) / 2
    assert middle == pytest.approx(eyes(person), abs=2e-4)  # vertices are stored to 0.1 mm
    seen = face(person)
    both = (np.array(seen["left eye"]) + np.array(seen["right eye"])) / 2
    assert both == pytest.approx(eyes(person), abs=1e-9)


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
def test_the_lowest_point_touches_what_carries_the_feet(body, pose):
    lowest = min(mesh.vertices[:, 2].min() for mesh in parts(someone(body, pose)).values())
    assert abs(lowest) < 0.012  # a sole's thickness: sitting feet are brought down by bending the legs


@pytest.mark.parametrize("body", stand_in.BODIES)
@pytest.mark.parametrize("seat", [0.32, 0.42, 0.45, 0.50, 0.60])
def test_sitting_hips_rest_on_the_seat_and_soles_on_the_floor(body, seat):
    person = someone(body, "sitting", seat=seat)
    worn = parts(person)
    legs = worn.get("trousers", worn.get("tucked")).vertices
    under_hips = legs[np.abs(legs[:, 0] - legs[:, 0].min() - 0.08) < 0.05]  # where the sitting bones are
    assert under_hips[:, 2].min() == pytest.approx(seat, abs=0.02)
    feet = worn.get("boots", worn.get("shoes")).vertices
    assert feet[:, 2].min() == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
def test_no_skin_shows_below_the_neck_but_the_hands(body, pose):
    person = someone(body, pose)
    worn = parts(person)
    stored = stand_in.load(body, pose)
    scale = stand_in.placing(person, eyes(person), stored).scale
    neck = eyes(person)[2] - scale * (stored.eyes[2] - stored.points["neck"][2])
    assert worn["face"].vertices[:, 2].min() > neck - 0.03
    hand = worn["hands"].vertices
    wrists = hands(person)
    reach = np.minimum(*(np.linalg.norm(hand - np.array(wrists[s]), axis=1) for s in ("left hand", "right hand")))
    assert reach.max() < 0.19  # a hand's length, and the wrist that the cuff hides
    assert {"jersey", "jacket", "coat"} & worn.keys()
    assert {"trousers", "tucked"} & worn.keys()
    assert {"boots", "shoes"} & worn.keys()


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
def test_clothes_are_closed_and_wound_outwards(body, pose):
    for outfit in OUTFITS:
        for name, mesh in parts(someone(body, pose, clothes=outfit)).items():
            if name in BARE:
                continue
            edges = np.sort(mesh.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
            uses = Counter(map(tuple, edges.tolist()))
            assert 1 not in uses.values(), (outfit, name)
            a, b, c = (mesh.vertices[mesh.faces[:, i]] for i in range(3))
            assert np.einsum("ij,ij->", a, np.cross(b, c)) > 0, (outfit, name)


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
def test_a_figure_is_fit_to_trace(body, pose):
    things = figure(someone(body, pose))
    assert 12_000 < sum(len(t.mesh.faces) for t in things) < 45_000
    for thing in things:
        assert np.all(np.isfinite(thing.mesh.vertices))
        assert thing.mesh.faces.min() >= 0
        assert thing.mesh.faces.max() < len(thing.mesh.vertices)
        assert thing.owner == "Ada"
        assert finish(thing.finish).name == thing.finish


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
@pytest.mark.parametrize("facing", [0.0, 1.1, math.pi, -2.0])
def test_the_nose_points_where_the_person_faces(body, pose, facing):
    person = Person("Ada", (3.0, -2.0, 0.1), facing, pose=pose, build=body)
    seen = face(person)
    ahead = np.array([math.cos(facing), math.sin(facing), 0.0])
    left = np.array([-math.sin(facing), math.cos(facing), 0.0])
    assert 0.005 < (np.array(seen["nose"]) - eyes(person)) @ ahead < 0.05
    assert (np.array(seen["left eye"]) - np.array(seen["right eye"])) @ left == pytest.approx(0.06, abs=0.012)
    assert seen["forehead"][2] > eyes(person)[2] > seen["nose"][2] > seen["chin"][2]


@pytest.mark.parametrize(("body", "pose"), EVERYONE)
def test_hands_are_at_rest(body, pose):
    person = someone(body, pose)
    held = hands(person)
    left, right = np.array(held["left hand"]), np.array(held["right hand"])
    assert left[1] > 0 > right[1]
    assert left == pytest.approx(right * [1, -1, 1], abs=0.02)
    if pose == "sitting":
        assert person.seat + 0.08 < left[2] < person.seat + 0.35
    else:
        lowest = {"standing": 0.35, "kneeling": 0.15}[pose]  # half way down a thigh, with the shin lost or not
        assert lowest * person.height < left[2] < (lowest + 0.2) * person.height


def test_people_differ_by_name_and_stay_the_same():
    crew = [Person(name, (0.0, 0.0, 0.0), 0.0) for name in ("Ada", "Bo", "Cleo", "Dag", "Eir", "Finn", "Gro", "Hal")]
    looks = [tuple((t.name.split(": ")[1], t.finish, len(t.mesh.vertices)) for t in figure(p)) for p in crew]
    assert len(set(looks)) >= 7
    again = figure(crew[0])
    for one, other in zip(figure(crew[0]), again, strict=True):
        assert np.array_equal(one.mesh.vertices, other.mesh.vertices)


def test_a_build_is_kept_to():
    assert {stand_in.body_of(Person(n, (0, 0, 0), 0.0, build="heavy")) for n in "abcdefgh"} == {
        "heavy man",
        "heavy woman",
    }


@pytest.mark.parametrize(
    ("fault", "hint"),
    [
        ({"build": "hevy"}, "heavy"),
        ({"skin": "meduim"}, "medium"),
        ({"clothes": "workware"}, "workwear"),
        ({"pose": "lying"}, "standing"),
        ({"pose": "sitting", "seat": 1.2}, "seat of 1.2 m"),
    ],
)
def test_what_is_not_known_is_said_with_the_nearest(fault, hint):
    with pytest.raises(InputFault, match=hint):
        figure(Person("Ada", (0.0, 0.0, 0.0), 0.0, **fault))


def test_a_figure_loads_quickly_and_the_files_stay_small():
    stand_in.load.cache_clear()
    start = time.perf_counter()
    figure(someone("man", "sitting"))
    first = time.perf_counter() - start
    start = time.perf_counter()
    figure(someone("man", "sitting"))
    assert first < 0.5  # 0.03 s on an idle core; the margin is for a busy machine
    assert time.perf_counter() - start < 0.05
    folder = stand_in.files("sidelong.people") / "figures"
    assert sum(len(f.read_bytes()) for f in folder.iterdir() if f.name.endswith(".npz")) < 6_500_000
