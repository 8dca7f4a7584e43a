"""The zone's polygons lie where the exact blur says: every corner on the limit or on the edge of what is drawn."""

from __future__ import annotations

import numpy as np
import pytest

from sidelong.desk.cuts import bounds_of, widened
from sidelong.desk.focus_room import cuts
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.plan.focus import plan_focus_live
from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot, Shot
from source_tree import ROOT

SHOOTS = [load(ROOT / "demo" / name) for name in ("net-loft", "tram-shed")]
SHOTS = [(shoot, shot) for shoot in SHOOTS for shot in shoot.shots]
NAMES = [f"{shoot.folder.name}-{shot.id}" for shoot, shot in SHOTS]


@pytest.mark.parametrize(("shoot", "shot"), SHOTS, ids=NAMES)
def test_zones_end_where_the_blur_meets_the_limit(shoot: Shoot, shot: Shot) -> None:
    planned = plan_focus_live(shoot, shot)
    found = cuts(shoot, shot, planned)
    glass = geometry_of(planned.setting)
    low, high = widened(bounds_of(shoot), [shot.camera.at, *(p.at for p in shoot.people)])
    corners = [((x, y, found[k]["height"]), k) for k in ("floor", "eyes") for z in found[k]["zone"] for x, y in z]
    along, origin = np.array(found["elevation"]["along"]), np.array(found["elevation"]["origin"])
    corners += [(tuple(origin + s * along + (0, 0, h)), "up") for z in found["elevation"]["zone"] for s, h in z]
    assert any(k == "eyes" for _, k in corners)
    on_limit = 0
    for at, which in corners:
        patch = blur(glass, planned.frame.to_body(np.array([at])))
        share = float(patch.major[0]) / shot.blur_limit
        inner = [0, 1] if which != "up" else [2]
        edge = float(np.min(np.abs(np.array(at)[inner] - np.stack([low[inner], high[inner]]))))
        if share == pytest.approx(1.0, abs=0.03):
            on_limit += 1
        else:
            near = float(np.linalg.norm(np.array(at) - planned.frame.at))
            assert share < 1.0, (at, which, share)
            assert edge < 0.02 or which == "up" or near < 0.2, (at, which, share, edge)
    assert on_limit > 0


@pytest.mark.parametrize(("shoot", "shot"), SHOTS, ids=NAMES)
def test_the_plane_s_lines_lie_in_the_plane(shoot: Shoot, shot: Shot) -> None:
    planned = plan_focus_live(shoot, shot)
    found = cuts(shoot, shot, planned)
    for which in ("floor", "eyes"):
        for x, y in found[which]["plane"] or ():
            offset = float(planned.plane_normal @ np.array([x, y, found[which]["height"]]))
            assert offset == pytest.approx(planned.plane_offset, abs=1e-9)


@pytest.mark.parametrize(("shoot", "shot"), SHOTS, ids=NAMES)
def test_whoever_is_sharp_stands_in_the_zone_at_their_eyes(shoot: Shoot, shot: Shot) -> None:
    """Where all the sharp ones' eyes are within a hand's breadth of the height of the cut."""
    planned = plan_focus_live(shoot, shot)
    found = cuts(shoot, shot, planned)["eyes"]
    sharp = [p for p in planned.points if p.wanted == "sharp" and p.blur_major is not None]
    for point in sharp:
        if abs(point.at[2] - found["height"]) < 0.005 and (point.blur_major or 0) < 0.9 * shot.blur_limit:
            assert any(_inside(point.at, polygon) for polygon in found["zone"]), point.name


def _inside(at: tuple[float, float, float], polygon: list[list[float]]) -> bool:
    """Whether a point lies in a polygon, by the parity of what a ray from it crosses."""
    x, y, crossings = at[0], at[1], 0
    for (x0, y0), (x1, y1) in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            crossings += 1
    return crossings % 2 == 1
