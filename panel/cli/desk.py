"""`oakpanel desk`: the panel lead's screens."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from panel.cli.invocation import Invocation, pass_invocation
from panel.cli.unheard import unheard
from panel.errors import OakpanelError

if TYPE_CHECKING:
    from pathlib import Path

    from panel.desk.beginning import Beginning
    from panel.store.engine import Store

PLACES = ("sessions", "casks", "targets", "lexicon", "people", "releases", "house")


@click.command("desk")
@click.option("--start", type=click.Choice(PLACES), help="The place to open at.")
@pass_invocation
def command(inv: Invocation, start: str | None = None) -> None:
    """Open the panel lead's screens: sessions, casks, targets, lexicon, people, releases, house.

    A full stop lists every action of a screen, Ctrl+Q leaves.
    """
    import sys

    if not sys.stdout.isatty() or not sys.stdin.isatty():
        raise OakpanelError(
            "The desk needs a terminal. Without one use the commands: `oakpanel --help`."
        )
    going: Invocation | None = inv
    while going is not None:
        going = run_desk(going, start)


def run_desk(inv: Invocation, start: str | None) -> Invocation | None:
    """Run the desk to its end; return the call that opens it in the demo, if that was chosen."""
    from panel.desk.app import DeskApp

    app = DeskApp(inv.open, by=inv.by, clock=inv.clock, start=start, begun=beginning(inv))
    with unheard():
        app.run()
    if app.failure is not None:
        raise app.failure
    return None if app.demo_folder is None else in_demo(inv, app.demo_folder)


def beginning(inv: Invocation) -> Beginning:
    """Say how a house is made where there is none, and where the demo would go."""
    from panel.cli.demo import FOLDER
    from panel.cli.demo_evening import LEAD, PIN
    from panel.desk.beginning import Beginning

    def make() -> Store:
        from panel.store.opening import make_database

        return make_database(inv.named)

    def where() -> str:
        from panel.store.engine import locate
        from panel.store.faults import shown

        return shown(locate(inv.named))

    words = f"{LEAD} leads there, and everybody's PIN is {PIN}. It takes some ten seconds."
    return Beginning(make, where, FOLDER, words)


def in_demo(inv: Invocation, folder: Path) -> Invocation:
    """Build the demo in a folder, as `oakpanel demo` does; return the call that opens it."""
    from panel.cli.demo import Steps, run_demo
    from panel.cli.demo_evening import LEAD

    done = run_demo(folder, inv.now(), Steps())
    return replace(inv, named=str(done.folder.database), by=LEAD)
