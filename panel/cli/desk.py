"""`oakpanel desk`: the panel lead's screens."""

from __future__ import annotations

import click

from panel.cli.invocation import Invocation, pass_invocation
from panel.errors import OakpanelError

PLACES = ("sessions", "casks", "targets", "lexicon", "people", "releases", "house")


@click.command("desk")
@click.option("--start", type=click.Choice(PLACES), help="The place to open at.")
@pass_invocation
def command(inv: Invocation, start: str | None = None) -> None:
    """Open the panel lead's screens: sessions, casks, targets, lexicon, people, releases, house.

    Ctrl+P lists every action of a screen, Ctrl+Q leaves.
    """
    import sys

    from panel.desk.app import DeskApp

    if not sys.stdout.isatty() or not sys.stdin.isatty():
        raise OakpanelError(
            "The desk needs a terminal. Without one use the commands: `oakpanel --help`."
        )
    app = DeskApp(inv.open, by=inv.by, clock=inv.clock, start=start)
    app.run()
    if app.failure is not None:
        raise app.failure
