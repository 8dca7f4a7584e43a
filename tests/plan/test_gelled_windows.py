"""The colours of a shoot's lights after what they pass and what they are bounced off."""

from pathlib import Path

import pytest

from sidelong.plan.colours import plan_colours
from sidelong.plan.predict import plan_shot
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.check import check

ROOM = (Path(__file__).parent / "two_heads_in_a_room.toml").read_text()
WINDOW = """
[[place.rooms.openings]]
wall = "left"
at = [2, 1]
size = [2, 1.5]
cover = {}
[[marks]]"""
KIT = """[[kit.gels]]
id = "cto"
mired = 130
transmission = 0.55

[[kit.modifiers]]
id = "silk"
kind = "full scrim"

[[kit.strobes]]"""


def planned(folder, cover, shot=True):
    text = ROOM.replace('sky = "dark"', 'latitude = 50\nlongitude = 0\nsky = "overcast"')
    text = text.replace("[[marks]]", WINDOW.format(cover), 1).replace("[[kit.strobes]]", KIT, 1)
    (folder / "shoot.toml").write_text(text)
    found = check(folder / "shoot.toml")
    if not shot:
        return found
    assert found.shoot is not None, found.faults
    return plan_shot(found.shoot, found.shoot.shots[0], 4096)


def sky(plan):
    at = next(light for light in plan.light.points[0].lights if light.light == "sky")
    return at, next(colour for colour in plan.colours if colour.name == "sky")


def test_a_gelled_window_dims_and_warms_the_sky(tmp_path):
    (bare, blue), (gelled, warm) = (sky(planned(tmp_path, cover)) for cover in ("[]", '"cto"'))
    assert 1e6 / warm.cct - 1e6 / blue.cct == pytest.approx(130, abs=8)
    # rated under 5500 K; a bluer sky loses a little more
    assert gelled.flat / bare.flat == pytest.approx(0.53, abs=0.04)
    both, _ = sky(planned(tmp_path, '["cto", "silk"]'))
    assert both.flat < 0.5 * gelled.flat


def test_what_does_not_hang_in_a_window(tmp_path):
    faults = planned(tmp_path, '["cto", "soft"]', shot=False).faults
    assert "scrim, net, flag, panel or gel" in str(faults[0])


BOUNCED = """
[[kit.modifiers]]
id = "gold"
kind = "gold panel"
[[kit.modifiers]]
id = "silver"
kind = "silver panel"

[[kit.strobes]]"""


@pytest.mark.parametrize(
    ("bounce", "low", "high"),
    [
        ('{ panel = "gold", at = [4.0, 3.0, 1.5], to = "Ana" }', 60, 130),
        ('{ panel = "silver", at = [4.0, 3.0, 1.5], to = "Ana" }', -3, 3),
        ('"ceiling"', 5, 30),
        (None, -0.5, 0.5),
    ],
    ids=["gold", "silver", "lime wash", "direct"],
)
def test_a_bounced_light_takes_the_colour_of_what_gives_it_back(tmp_path, bounce, low, high):
    """Mireds over the head's own: gold cloth warms by about a half CTO, lime wash a little, silver not at all."""
    (tmp_path / "shoot.toml").write_text(ROOM)
    strobe = next(iter(check(tmp_path / "shoot.toml").shoot.kit.strobes.values()))
    light = f'\n[[shots.lights]]\nstrobe = "{strobe.id}"\nat = [3.0, 2.0, 1.8]\naim = "Ana"\n'
    text = ROOM.replace("[[kit.strobes]]", BOUNCED, 1) + light + (f"bounce = {bounce}\n" if bounce else "")
    (tmp_path / "shoot.toml").write_text(text)
    found = check(tmp_path / "shoot.toml")
    assert found.shoot is not None, found.faults
    shot = found.shoot.shots[0]
    colour = plan_colours(shot, stage_at_full_power(found.shoot, shot))[len(shot.lights) - 1]
    assert low <= 1e6 / colour.cct - 1e6 / strobe.kelvin <= high
