"""How long traced light takes: one shot's meter table, and one draft picture. For people to read; gates nothing."""

from dataclasses import replace

from sidelong.picture.make import make_picture
from sidelong.picture.values import DRAFT, Exposure
from sidelong.plan.focus import plan_focus
from sidelong.plan.light import plan_light
from sidelong.plan.predict import plan_shot


def test_one_meter_table(benchmark, loft) -> None:
    shot = loft.shots[0]
    focus = plan_focus(loft, shot)
    light, _ = benchmark.pedantic(plan_light, args=(loft, shot, focus), rounds=3, warmup_rounds=1)
    assert light.points


def test_one_draft_picture(benchmark, loft) -> None:
    plan = plan_shot(loft, loft.shots[0])
    exposure = Exposure(plan.light.shutter, plan.light.iso, plan.shot.balance)
    view = replace(plan.view, width=480, height=320)
    drawn = benchmark.pedantic(make_picture, args=(plan.stage, view, exposure, DRAFT), rounds=3, warmup_rounds=1)
    assert drawn.srgb.shape == (320, 480, 3)
