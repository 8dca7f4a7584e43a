"""What gets into a picture that should not, in words and for machines."""

from __future__ import annotations

from typing import Any

from sidelong.lens.values import Film
from sidelong.plan.in_picture import SMALL, InPicture, Seen

_PARTS = {"light": "{}", "stand": "the stand of {}", "panel": "the panel {}", "frame": "the frame of {}"}
_MOSTLY = 0.1
"""Of what would show, so much must be hidden to be spoken of; our own figure."""


def in_picture_in_words(found: InPicture, film: Film) -> tuple[str, ...]:
    """A sentence for each thing seen, shade on somebody, shadow and mirror image; nothing where all is clear."""
    shown = [one for one in found.seen if one.share >= SMALL]
    return (
        *(_seen(one, film) for one in shown),
        *(
            f"{thing(one.kind, one.name)} shades {one.who} from {one.light}: {_per_cent(one.part)} of it"
            for one in found.shades
        ),
        *(
            f"the shadow of {thing(one.kind, one.name)} from {one.light} falls in the picture on {_on(one.on)}, "
            f"{where_in_words(one.at, film)}, {_per_cent(one.share)} of it"
            for one in found.shadows
        ),
        *(
            f"{one.name} is mirrored in the picture in {one.finish}, {where_in_words(one.at, film)}, "
            f"{_per_cent(one.share)} of it"
            for one in found.mirrored
        ),
    )


def in_picture_answer(found: InPicture, film: Film) -> dict[str, Any]:
    """The same for machines, under `in_the_picture`: shares of the picture, places on the film as in `focus`."""
    return {
        "in_the_picture": {
            "seen": [
                {
                    "name": one.name,
                    "kind": one.kind,
                    "share": one.share,
                    "hidden": one.hidden,
                    **_place(one.at, film),
                }
                for one in found.seen
            ],
            "shades": [
                {"name": one.name, "kind": one.kind, "light": one.light, "who": one.who, "part": one.part}
                for one in found.shades
            ],
            "shadows": [
                {
                    "name": one.name,
                    "kind": one.kind,
                    "light": one.light,
                    "on": one.on,
                    "share": one.share,
                    **_place(one.at, film),
                }
                for one in found.shadows
            ],
            "mirrored": [
                {"name": one.name, "finish": one.finish, "share": one.share, **_place(one.at, film)}
                for one in found.mirrored
            ],
        }
    }


def thing(kind: str, name: str) -> str:
    """A thing in words: ``the stand of key``, ``the panel white``."""
    return _PARTS[kind].format(name)


def where_in_words(at: tuple[float, float], film: Film) -> str:
    """In which ninth of the picture a point lies, upright, from its centre: ``upper left``, ``in the middle``. [m]"""
    column = ("left", "", "right")[_third(at[0] / film.width)]
    row = ("lower", "", "upper")[_third(at[1] / film.height)]
    if not row:
        return f"at the {column}" if column else "in the middle"
    return f"{row} {column or 'middle'}"


def _seen(one: Seen, film: Film) -> str:
    words = (
        f"{thing(one.kind, one.name)} is in the picture, {where_in_words(one.at, film)}, {_per_cent(one.share)} of it"
    )
    return words if one.hidden < _MOSTLY else f"{words} ({_per_cent(one.hidden)} of what would show is hidden)"


def _place(at: tuple[float, float], film: Film) -> dict[str, Any]:
    return {"image_mm": [1e3 * at[0], 1e3 * at[1]], "where": where_in_words(at, film)}


def _on(surface: str) -> str:
    return f"the {surface}" if surface in ("floor", "wall", "ceiling") else surface


def _per_cent(share: float) -> str:
    percent = 100 * share
    return f"{percent:.0f} %" if percent >= 9.5 else f"{percent:.1f} %" if percent >= 0.095 else f"{percent:.2f} %"


def _third(share: float) -> int:
    return 0 if share < -1 / 6 else 2 if share > 1 / 6 else 1
