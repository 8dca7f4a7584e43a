"""What stands and shines in a shot: heads turned at walls, sheets and what they are called."""

from pathlib import Path

import pytest

from sidelong.plan.stage import reach_of_wall, stage_at_full_power
from sidelong.shoot.check import check

ROOM = (Path(__file__).parent / "two_heads_in_a_room.toml").read_text()


def stage(folder, text):
    (folder / "shoot.toml").write_text(text)
    shoot = check(folder / "shoot.toml").shoot
    return stage_at_full_power(shoot, shoot.shots[0]), shoot


def test_how_far_the_wall_is_that_a_head_is_turned_at(tmp_path):
    _, shoot = stage(tmp_path, ROOM)
    assert reach_of_wall(shoot.place, (1.0, 4.0, 1.5), (0.0, 4.0, 1.5)) == pytest.approx(1.0)
    assert reach_of_wall(shoot.place, (1.0, 4.0, 1.5), (5.0, 4.0, 1.5)) == pytest.approx(5.0)
    assert reach_of_wall(shoot.place, (3.0, 4.0, 2.5), (3.0, 4.0, 9.0)) == pytest.approx(0.5)
    assert reach_of_wall(shoot.place, (30.0, 4.0, 2.5), (3.0, 4.0, 9.0)) == float("inf")


def test_heads_that_light_by_way_of_a_wall_are_known(tmp_path):
    light = '\n[[shots.lights]]\nstrobe = "{}"\nat = [0.8, 4.0, 1.5]\naim = {}\n'
    made, shoot = stage(tmp_path, ROOM)
    strobe = next(iter(shoot.kit.strobes))
    assert not any(e.bounced for e in made.emitters)
    for aim, bounced in (("[0.0, 4.0, 1.5]", True), ("[5.0, 4.0, 1.5]", False)):
        made, _ = stage(tmp_path, ROOM + light.format(strobe, aim))
        assert made.emitters[-1].bounced is bounced
    off_ceiling = ROOM + light.format(strobe, '"Ana"') + 'bounce = "ceiling"\n'
    assert stage(tmp_path, off_ceiling)[0].emitters[-1].bounced


def test_a_sheet_is_called_by_its_pieces_from_the_far_side(tmp_path):
    sheet = '\n[[shots.sheets]]\nof = ["silk", "single"]\nat = [2.0, 3.0, 1.5]\nto = "Ana"\n'
    kit = '[[kit.modifiers]]\nid = "silk"\nkind = "half scrim"\n\n'
    kit += '[[kit.modifiers]]\nid = "single"\nkind = "single net"\n'
    made, _ = stage(tmp_path, ROOM.replace("[[kit.strobes]]", kit + "\n[[kit.strobes]]", 1) + sheet)
    (standing,) = made.sheets
    assert standing.name == "silk + single"
    assert standing.diffuse == pytest.approx(0.55 * 0.71, rel=1e-6)
    assert standing.axis[1] > 0.9
