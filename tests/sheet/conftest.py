"""A shoot and its plans made of plain values, the optics from the lens layer, the light made up but consistent."""

from __future__ import annotations

import math
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from sidelong.colour.light_colour import LightColour
from sidelong.frames_of_reference import bearing_to_direction, camera_frame
from sidelong.lens.axis import axis_of
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.plane import hinge_distance, hinge_line, plane_of_focus
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.light.values import Daylight, Gel, Modifier, Strobe
from sidelong.people.values import Person
from sidelong.place.values import Air, Block, Mark, Opening, Place, Room
from sidelong.plan.chance import ShotChance
from sidelong.plan.values import (
    FocusPlan,
    HeadSetting,
    LightAtPoint,
    LightPlan,
    PointFocus,
    PointLight,
    ShotPlan,
)
from sidelong.shoot.values import (
    Body,
    CameraStand,
    HazeMachine,
    Kit,
    Owned,
    Power,
    Shoot,
    Shot,
    ShotLight,
    Target,
)
from sidelong.spectra.values import Spectrum
from sidelong.trace.values import Stage, View

FLAT = Spectrum(np.array([380.0, 780.0]), np.array([1.0, 1.0]))
FILM = Film(0.036, 0.024)
LENS = Lens("swing-45", 0.045, 2.0 ** (3 / 2), movement=math.radians(8.5), image_circle=0.0674, closest=0.5)
WHEN = datetime(2025, 3, 14, 9, 40, tzinfo=timezone(timedelta(hours=1)))

LOFT = Room(
    "net loft",
    (0, 0, 0),
    (9.0, 3.2, 2.4),
    openings=(
        Opening("sea door", "left", 0.9, 0.0, 1.3, 2.05, kind="door"),
        Opening("east window", "near", 2.2, 0.95, 0.9, 0.9, kind="window"),
        Opening("west window", "near", 6.1, 0.95, 0.9, 0.9, kind="window"),
    ),
)


def eyes_of(person: Person) -> tuple[float, float, float]:
    share = {"standing": 0.936, "sitting": 0.70, "kneeling": 0.66}[person.pose]
    return person.at[0], person.at[1], person.at[2] + share * person.height


def people_of(names: list[str]) -> tuple[Person, ...]:
    bench = [
        Person(
            n, (3.0 + 0.75 * (k % 7), 2.75 - 0.5 * (k // 7), 0.0), math.radians(-90), "sitting", 1.66 + 0.03 * (k % 5)
        )
        for k, n in enumerate(names[:-1])
    ]
    return (*bench, Person(names[-1], (7.9, 1.2, 0.0), math.radians(165), "standing", 1.83))


def kit() -> Kit:
    strobes = {
        "key": Strobe("key", 400.0, guide_number=22.0),
        "rim": Strobe("rim", 200.0, guide_number=15.0),
    }
    front = Modifier("front 90", "front", "octagon", (0.9, 0.9), transmission=0.5)
    return Kit(
        {"body": Body("body", FILM)},
        {"swing-45": LENS},
        strobes,
        {"front 90": front},
        {"half cto": Gel("half cto", 90.0, 0.0, 0.72)},
        {"wall socket": Power("wall socket", "mains", 2300.0)},
        {"hazer": HazeMachine("hazer", "glycol", 3.0)},
        {
            "body": Owned(True, 0.0, 0.9),
            "swing-45": Owned(False, 34.0, 0.85),
            "key": Owned(True, 0.0, 3.1),
            "rim": Owned(False, 18.5, 2.2),
            "front 90": Owned(True, 0.0, 1.4),
            "hazer": Owned(False, 40.0, 9.5),
        },
    )


def place(haze: float = 0.03) -> Place:
    blocks = (
        Block("bench", "bench", (5.2, 2.9, 0.0), (5.4, 0.42, 0.45)),
        Block("crates", "crate", (0.7, 2.6, 0.0), (0.8, 0.9, 0.8)),
        Block("beam", "plank", (4.5, 1.6, 2.2), (0.18, 3.2, 0.2)),
    )
    return Place(
        math.radians(58.2),
        math.radians(5.4),
        4.0,
        "Etc/GMT-1",
        math.radians(330.0),
        Air(haze),
        rooms=(LOFT,),
        blocks=blocks,
    )


def shot(
    lights: bool = True,
    movement: Movement | None = None,
    sharp: tuple[str, ...] = (),
    soft: tuple[str, ...] = (),
    number: int = 1,
    at: tuple[float, float, float] = (1.2, 1.0, 1.35),
    aim: tuple[float, float, float] = (4.5, 2.75, 1.15),
) -> Shot:
    equipment = kit()
    flash = (
        ShotLight(
            equipment.strobes["key"],
            (2.6, 0.7, 1.85),
            (4.5, 2.75, 1.1),
            equipment.modifiers["front 90"],
            (equipment.gels["half cto"],),
            None,
            Target("Signe", 0.0),
        ),
        ShotLight(equipment.strobes["rim"], (8.3, 2.4, 2.1), (5.0, 2.7, 1.2), power=0.25),
    )
    return Shot(
        f"bench-{number}",
        "The whole bench sharp at once at a wide stop, the walls falling away.",
        WHEN + timedelta(minutes=35 * (number - 1)),
        equipment.bodies["body"],
        LENS,
        CameraStand(at, aim, True),
        sharp,
        soft,
        movement or Movement(math.radians(-1.4)),
        sharp[0] if sharp else None,
        (0.0, 0.0),
        LENS.widest,
        FILM.diagonal / 1500,
        1 / 203.1873,
        158.74,
        4300.0,
        None,
        flash if lights else (),
    )


def focus_plan(one: Shot, people: tuple[Person, ...], marks: tuple[Mark, ...]) -> FocusPlan:
    frame = camera_frame(one.camera.at, one.camera.aim, one.camera.level)
    named = {p.name: eyes_of(p) for p in people} | {m.name: m.at for m in marks}
    on = one.focus_on or next(iter(named))
    target = frame.to_body(named.get(on, one.camera.aim))
    assert one.movement is not None
    axis = axis_of(one.movement)
    low, high = 0.0, 0.02
    for _ in range(60):  # the extension at which the plane of focus passes through the target
        middle = (low + high) / 2
        lens = geometry_of(Setting(LENS, one.movement, middle, one.f_number or LENS.widest))
        p = target - lens.principal
        need = LENS.focal_length * p[2] / (axis @ p - LENS.focal_length)
        low, high = (middle, high) if lens.film_distance < need else (low, middle)
    setting = Setting(LENS, one.movement, low, one.f_number or LENS.widest)
    lens = geometry_of(setting)
    normal, offset = plane_of_focus(lens)
    normal_place = frame.direction_to_place(normal)
    points = []
    for name, at in named.items():
        patch = blur(lens, frame.to_body(np.array([at])))
        front = bool(patch.in_front[0])
        image = (float(patch.image[0, 0]), float(patch.image[0, 1]))
        inside = front and abs(image[0]) < FILM.width / 2 and abs(image[1]) < FILM.height / 2
        wanted = "sharp" if name in one.sharp else "soft" if name in one.soft else "free"
        points.append(
            PointFocus(
                name,
                "person" if any(p.name == name for p in people) else "mark",
                at,
                wanted,
                float(patch.major[0]) if front else None,
                float(patch.minor[0]) if front else None,
                0.3 if front else None,
                float(patch.major[0] * patch.depth[0] / lens.film_distance) if front else None,
                image if front else None,
                inside,
                True,
                0.93 if wanted == "sharp" else 0.1,
                -0.12,
            )
        )
    line = hinge_line(lens)
    return FocusPlan(
        frame,
        setting,
        axis,
        lens.principal,
        lens.film_distance,
        2 * 0.045 + low + 0.045**2 / low if low > 1e-9 else None,
        normal_place,
        float(offset + normal_place @ frame.at),
        hinge_distance(lens),
        None if line is None else (frame.to_place(line[0]), frame.direction_to_place(line[1])),
        on,
        tuple(points),
        one.blur_limit,
        0.08,
        1.9e-6 * 2.44 / 2,
        6e-6,
        2.52,
        2.41,
        8.1e-5,
        9.0e-5,
        ShotChance({}, 0.7, 3, 4, "lean"),
        False,
        (
            "Meter with the lens straight.",
            "Frame with the camera level.",
            f"Set the movement, then refocus on {on}.",
            "Check the far end of the bench.",
        ),
    )


def light_plan(one: Shot, focus: FocusPlan) -> LightPlan:
    sun = bearing_to_direction(math.radians(141.0), math.radians(330.0), math.radians(24.3))
    day = Daylight(tuple(sun), math.radians(24.3), math.radians(141.0), 61000.0, 9000.0, FLAT, FLAT, 12)  # type: ignore[arg-type]
    points = []
    for k, point in enumerate(focus.points):
        lights = [LightAtPoint(x.strobe.id, True, 8.0, 0.1, 7.0, 0.1, -0.3 - 0.2 * k, 0.02) for x in one.lights]
        lights += [
            LightAtPoint("sky", False, 300.0, 4.0, 320.0, 4.0, -1.8, 0.03),
            LightAtPoint("sun", False, 0, 0, 0, 0, -math.inf, 0),
        ]
        flash = -0.1 * k if one.lights else -math.inf
        points.append(PointLight(point.name, tuple(lights), 0.2 - 0.15 * k, -1.8, flash))
    heads = tuple(
        HeadSetting(
            x.strobe.id, 0.25, -2.0, x.strobe.energy / 4, "Signe at 0.0 stops" if x.target else "power as given", 0.04
        )
        for x in one.lights
    )
    return LightPlan(
        one.shutter or 0.005, one.iso, day, heads, tuple(points), ("The sun reaches nobody at this time.",)
    )


def make_shoot(
    names: list[str],
    shots: int = 1,
    lights: bool = True,
    imperial: bool = False,
    title: str = "Net loft",
    **text: str,
) -> Shoot:
    people = people_of(names)
    listed = [
        shot(lights, Movement(math.radians(-1.4)), tuple(names[:-1][:5]), (names[-1],), 1),
        shot(lights, Movement(0.0, math.radians(4.0)), (names[-1],), ("boots",), 2, (4.2, 1.0, 1.2), (7.9, 1.2, 1.4)),
        shot(lights, Movement(math.radians(6.0)), (names[0],), tuple(names[2:4]), 3),
        shot(lights, Movement(), (names[0],), (), 4),
    ]
    marks = (Mark("boots", (7.8, 1.2, 0.1)), Mark("lamp", (0.3, 1.5, 1.6)))
    return Shoot(
        Path("."),
        title,
        text.get("client", "Harbour museum"),
        text.get("brief", "Five menders and a skipper at work."),
        imperial,
        place(),
        marks,
        people,
        kit(),
        tuple(listed[:shots]),
        (),
    )


def plan_of(shoot: Shoot, one: Shot) -> ShotPlan:
    focus = focus_plan(one, shoot.people, shoot.marks)
    colours = (
        LightColour("key", 3900.0, 0.001, 24.0, (126, 117, 110), 0.004),
        LightColour("sky", 9800.0, 0.003, -131.0, (92, 122, 158), 0.041),
    )
    return ShotPlan(
        shoot,
        one,
        focus,
        light_plan(one, focus),
        colours,
        Stage(shoot.place, shoot.people, (), None),
        View(focus.frame, FILM, focus.setting, 480, 320),
    )


CREW = ["Signe", "Odd-Arne", "Maja", "Little Per", "Runa", "Skipper Torvald"]


@pytest.fixture(scope="session")
def build():
    """(names, shots, lights, imperial, title) -> (shoot, plans)."""

    def both(names: list[str] = CREW, **options):
        shoot = make_shoot(names, **options)
        return shoot, tuple(plan_of(shoot, one) for one in shoot.shots)

    return both


@pytest.fixture(scope="session")
def loft(build):
    return build(shots=4)
