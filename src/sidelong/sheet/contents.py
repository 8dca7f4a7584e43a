"""Everything the book's template sets, as plain data, and the drawings and pictures as files beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from sidelong.plan.balance_answer import wishes_in_words
from sidelong.plan.haze import haze_words
from sidelong.plan.learned import learned_in_words
from sidelong.plan.values import ShotPlan
from sidelong.sheet.drawing import Drawing
from sidelong.sheet.elevation_view import elevation_of_place, elevation_of_shot
from sidelong.sheet.fonts import width_of
from sidelong.sheet.legend import legend
from sidelong.sheet.meter_table import face_table, meter_rows
from sidelong.sheet.naming import in_table
from sidelong.sheet.plan_view import plan_of_place, plan_of_shot
from sidelong.sheet.scales import scale_for, scale_in_words
from sidelong.sheet.svg import paper_size, svg_drawing
from sidelong.sheet.tables import (
    colour_rows,
    errors_in_words,
    fine_print,
    focus_rows,
    head_rows,
    light_tables,
    settings_card,
)
from sidelong.sheet.values import Extras, KitRow, Paper
from sidelong.sheet.wording import DASH, breakable, day_in_words, illuminance, name, true_minus
from sidelong.shoot.values import Shoot
from sidelong.units import f_mark, shutter_mark

Data = dict[str, Any]
MARGIN = 15.0
"""Left and right. [mm]"""
_POINT = 25.4 / 72
"""[mm]"""
_PICTURE_SHARE, _PICTURE_MOST = 0.60, 84.0
"""Width of a shot's picture over the page's inner width, and its greatest height. [-, mm]"""
_GUTTER, _UNDER_PICTURE = 6.0, 13.0
"""Between picture and card; words under the picture. [mm]"""
_NOT_DRAWN_SHOT, _NOT_DRAWN_PLACE = 72.0, 103.0
"""Height of a page that its margins, titles and words under drawings take. [mm]"""


def contents(shoot: Shoot, plans: Sequence[ShotPlan], extras: Extras, paper: Paper) -> tuple[Data, dict[str, bytes]]:
    """The template's data, and the files it names."""
    width = paper.width - 2 * MARGIN
    files: dict[str, bytes] = {}
    eyes = {p.name: p.at for plan in plans[:1] for p in plan.focus.points if p.kind == "person"}

    def drawn(drawings: dict[str, Drawing], height: float) -> list[Data]:
        """Drawings at one scale that fit one above another; by the names of their files."""
        scale = scale_for(list(drawings.values()), width, height, shoot.imperial)
        said = f"Scale {scale_in_words(scale, shoot.imperial)} on {paper.name}."
        placed = []
        for file, drawing in drawings.items():
            files[file] = svg_drawing(drawing, scale).encode()
            across, up = paper_size(drawing, scale)
            placed.append(
                {"file": file, "width": across, "height": up, "words": breakable(f"{drawing.title}. {said}")}
            )
        return placed

    shots = [_shot(plan, k, len(plans), drawn, extras, files, paper) for k, plan in enumerate(plans, 1)]
    sides = {"place.svg": plan_of_place(shoot, plans), "side.svg": elevation_of_place(shoot, eyes)}
    facts = _place_facts(shoot)
    said = sum(3.9 * lines_of(words, width, 7.5) for words in facts)
    place, side = drawn(sides, max(90.0, paper.height - _NOT_DRAWN_PLACE - 6.0 * len(plans) - said))
    first = next((s["picture"] for s in shots if s["picture"] is not None), None)
    signs = legend(shoot.imperial)
    files["legend.svg"] = svg_drawing(signs, 25).encode()
    data: Data = {
        "paper": {"width": paper.width, "height": paper.height, "margin": MARGIN},
        "title": breakable(_short(shoot.title or "Untitled shoot", 140)),
        "running": breakable(_short(shoot.title or "Untitled shoot", 60)),
        "client": breakable(_short(shoot.client, 140)),
        "brief": breakable(shoot.brief),
        "days": _days(plans),
        "cover": {"picture": first, "drawing": shots[0]["plan"] if first is None and shots else None},
        "shots": shots,
        "place": place,
        "side": side,
        "legend": {"file": "legend.svg", **dict(zip(("width", "height"), paper_size(signs, 25), strict=True))},
        "suns": [_sun(plan, k) for k, plan in enumerate(plans, 1)],
        "facts": facts,
        "kit": _kit(extras.kit),
        "cautions": [
            {
                "title": n.title,
                "text": breakable(n.text),
                "why": breakable(n.why),
                "sources": [source.rstrip(".") for source in n.sources],
            }
            for n in extras.notices
        ],
    }
    return data, files


def _shot(
    plan: ShotPlan, number: int, count: int, drawn: Any, extras: Extras, files: dict[str, bytes], paper: Paper
) -> Data:
    shot, film = plan.shot, plan.shot.body.film
    picture = extras.pictures.get(shot.id)
    if picture is not None:
        files[f"picture-{number}.png"] = picture.read_bytes()
    views = {f"plan-{number}.svg": plan_of_shot(plan), f"elevation-{number}.svg": elevation_of_shot(plan)}
    inner = paper.width - 2 * MARGIN
    picture_height = min(_PICTURE_SHARE * inner * film.height / film.width, _PICTURE_MOST)
    stop = f_mark(plan.focus.setting.f_number)
    card, order = settings_card(plan), [breakable(step) for step in plan.focus.order]
    beside = inner - picture_height * film.width / film.height - _GUTTER
    above = max(picture_height + _UNDER_PICTURE, column_height(card, order, beside))
    above += 4.5 * lines_of(shot.brief, inner, 10.5) if shot.brief else 0.0
    plan_view, elevation = drawn(views, max(90.0, paper.height - _NOT_DRAWN_SHOT - above))
    return {
        "number": number,
        "count": count,
        "id": name(shot.id, 60),
        "short_id": name(shot.id, 24),
        "gist": breakable(_short(shot.brief, 150)),
        "brief": breakable(shot.brief),
        "day": day_in_words(shot.when),
        "time": f"{shot.when:%H:%M}",
        "short": f"{shot.lens.focal_length * 1e3:g} mm, f/{stop}, {shutter_mark(plan.light.shutter)} s",
        "body": name(shot.body.id, 40),
        "lens": name(shot.lens.id, 40),
        "sharp": [in_table(plan.shoot, n) for n in shot.sharp],
        "soft": [in_table(plan.shoot, n) for n in shot.soft],
        "picture": None if picture is None else f"picture-{number}.png",
        "aspect": film.width / film.height,
        "picture_height": picture_height,
        "without": extras.without_picture,
        "card": card,
        "fine": [breakable(s) for s in fine_print(plan)],
        "order": order,
        "plan": plan_view,
        "elevation": elevation,
        "people": focus_rows(plan.shoot, plan.focus),
        "light": light_tables(plan),
        "error": errors_in_words(plan),
        "meters": meter_rows(plan, extras.meters.get(shot.id, ())),
        "faces": face_table(plan, extras.meters.get(shot.id, ())),
        "heads": head_rows(plan),
        "colours": colour_rows(plan.colours),
        "balance": f"{shot.balance:.0f} K",
        "notes": [breakable(true_minus(n)) for n in (*_notes(plan), *extras.in_picture.get(shot.id, ()))],
    }


def _notes(plan: ShotPlan) -> tuple[str, ...]:
    """What is printed under the light: how the wishes came out, what readings taught, what the plan has to say; the
    haze is the place's and stands there."""
    light, haze = plan.light, haze_words(plan.shoot)
    notes = [words for words in light.notes if words not in haze]
    return (*wishes_in_words(light.balance), *learned_in_words(light.learned), *notes)


def lines_of(words: str, width: float, points: float, strong: bool = False) -> int:
    """How many lines words take in letters of so many points, in a column of a width [mm]; at least one."""
    return max(1, math.ceil(width_of(words, points * _POINT, strong) * 1.06 / max(width, 1.0)))


def column_height(card: Sequence[tuple[str, str]], order: Sequence[str], width: float) -> float:
    """Height of the settings card and the order of work in a column of a width, measured on printed pages. [mm]"""
    labels = max((width_of(label, 7.5 * _POINT, strong=True) for label, _ in card), default=0.0) + 3.0
    rows = sum(1.2 + 3.5 * lines_of(words, width - labels, 9.0, strong=True) for _, words in card)
    return rows + 8.0 + sum(0.4 + 3.5 * lines_of(step, width - 4.0, 8.5) for step in order)


def _sun(plan: ShotPlan, number: int) -> Data:
    day = plan.light.daylight
    row: Data = {
        "number": number,
        "id": name(plan.shot.id, 40),
        "when": f"{day_in_words(plan.shot.when)}, {plan.shot.when:%H:%M}",
    }
    if day is None:
        return row | {"bearing": DASH, "height": DASH, "sun": "sky dark", "sky": DASH}
    return row | {
        "bearing": f"{math.degrees(day.azimuth) % 360:.0f}°",
        "height": f"{math.degrees(day.elevation):.0f}°".replace("-", "\u2212"),
        "sun": illuminance(day.sun_normal),
        "sky": illuminance(day.sky_horizontal),
    }


def _place_facts(shoot: Shoot) -> list[str]:
    place = shoot.place
    latitude, longitude = math.degrees(place.latitude), math.degrees(place.longitude)
    facts = [
        f"Latitude {abs(latitude):.4f}° {'N' if latitude >= 0 else 'S'}, longitude {abs(longitude):.4f}° "
        f"{'E' if longitude >= 0 else 'W'}, {place.elevation:.0f} m above the sea; times in "
        f"{name(place.timezone, 40)}.",
        f"Up the page is {math.degrees(place.north) % 360:.0f}° from true north, clockwise.",
    ]
    return facts + [f"{words[:1].upper()}{words[1:]}." for words in haze_words(shoot)]


def _days(plans: Sequence[ShotPlan]) -> str:
    days = list(dict.fromkeys(day_in_words(p.shot.when) for p in sorted(plans, key=lambda p: p.shot.when)))
    return "" if not days else days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"


def _kit(rows: Sequence[KitRow]) -> Data:
    def line(row: KitRow) -> Data:
        return {
            "kind": row.kind,
            "name": name(row.name, 40),
            "shots": ", ".join(str(n) for n in row.shots) or ("the day" if row.needed else DASH),
            "owned": "own" if row.owned else "rent",
            "rent": f"{row.rent_per_day:.2f}" if not row.owned else DASH,
            "weight": f"{row.weight:.2f}" if row.weight > 0 else DASH,
        }

    needed = [row for row in rows if row.needed]
    return {
        "rows": [line(row) for row in needed],
        "spare": [line(row) for row in rows if not row.needed],
        "rent": f"{math.fsum(r.rent_per_day for r in needed if not r.owned):.2f}",
        "weight": f"{math.fsum(r.weight for r in needed):.1f}",
        "unweighed": sum(1 for r in needed if r.weight <= 0),
    }


def _short(words: str, longest: int) -> str:
    flat = " ".join(words.split())
    return flat if len(flat) <= longest else flat[: longest - 1].rstrip() + "…"
