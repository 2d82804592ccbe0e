"""`oakpanel booth`: an assessor's screen."""

from __future__ import annotations

import os
import sys

import click

from panel.cli.invocation import Invocation, pass_invocation
from panel.errors import BoothError


@click.command("booth")
@click.argument("session", required=False)
@pass_invocation
def command(inv: Invocation, session: str | None) -> None:
    """Open an assessor's booth on SESSION, or on the only session that is open.

    Sign in with code and PIN. Every score is on disk before it is shown as kept; after any
    interruption, signing in again leads back to the same glass.
    """
    if not sys.stdout.isatty() and not os.environ.get("TEXTUAL_DRIVER"):
        raise BoothError("The booth needs a terminal; its output cannot go into a file or a pipe.")
    from panel.booth.app import BoothApp

    app = BoothApp(inv.open, session=session, clock=inv.now)
    app.run()
    if app.fault is not None:
        raise app.fault
    sys.exit(app.return_code or 0)
