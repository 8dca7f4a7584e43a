"""The table of verbs and the way in. Nothing heavy is imported before the verb that needs it is known."""

from __future__ import annotations

import difflib
import sys
from collections.abc import Sequence

from cyclopts import App, CycloptsError, Parameter

from sidelong import __version__
from sidelong.cli.answer import answer_in_utf8, ending, talk

VERBS: dict[str, tuple[str, str]] = {
    "new": ("sidelong.cli.new:new", "Start a shoot: a folder with a commented shoot.toml."),
    "check": ("sidelong.cli.check:check", "List every fault and every doubt of a shoot."),
    "sun": ("sidelong.cli.sun:sun", "When the sun comes in, where it stands, how bright sun and sky are."),
    "focus": ("sidelong.cli.focus:focus", "How to move and set the lens, and who comes out how sharp."),
    "walk": ("sidelong.cli.walk:walk", "The ring's marks that walk the focus along a row."),
    "lenses": ("sidelong.cli.lenses:lenses", "The same shot through every lens of the kit."),
    "light": ("sidelong.cli.light:light", "What each light gives everyone, in stops, and the powers to set."),
    "balance": (
        "sidelong.cli.balance:balance",
        "What meets every wish for the light, or what stands in the way.",
    ),
    "colour": ("sidelong.cli.colour:colour", "How warm or cold each light comes out under the balance."),
    "picture": ("sidelong.cli.picture:picture", "Make the predicted photograph of each shot."),
    "sheet": ("sidelong.cli.sheet:sheet", "Print the book: plan, elevation, a leaf for each shot, kit, cautions."),
    "desk": ("sidelong.cli.desk:desk", "Open the shoot in a browser on this machine, live."),
    "demo": ("sidelong.cli.demo:demo", "Plan a whole shoot that comes with Sidelong, with pictures and book."),
    "schema": ("sidelong.cli.schema:schema", "Print the JSON Schema of the shoot file."),
}
"""Verb -> (module:function, one line of help), in the order in which a shoot is planned."""


def application() -> App:
    """The command line, its verbs not yet imported."""
    app = App(
        name="sidelong",
        version=__version__,
        help="Plan a location portrait shoot with a moved lens: focus, light, colour, the predicted photograph, "
        "the printed book.",
        default_parameter=Parameter(negative=()),
        suppress_keyboard_interrupt=False,
    )
    for position, (verb, (target, line)) in enumerate(VERBS.items()):
        app.command(target, name=verb, help=line, sort_key=position)
    return app


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and give its exit code: 0 done, 1 our failure, 2 input at fault, 3 cannot be, 130 stopped."""
    words = list(sys.argv[1:] if arguments is None else arguments)

    answer_in_utf8()

    def run() -> None:
        if words and not words[0].startswith("-") and words[0] not in VERBS:
            near = difflib.get_close_matches(words[0], VERBS, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            talk(f"sidelong: found the command {words[0]!r:.60}; expected one of {', '.join(VERBS)}{hint}")
            raise SystemExit(2)
        try:
            application()(words, exit_on_error=False, print_error=False, result_action="return_value")
        except CycloptsError as error:
            talk(f"sidelong: {error}")
            talk("sidelong --help lists the commands, sidelong COMMAND --help their options.")
            raise SystemExit(2) from None

    return ending(run)
