"""`oakpanel booth`: an assessor's screen."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

import click

from panel.cli.completing import a_session
from panel.cli.invocation import Invocation, pass_invocation
from panel.cli.unheard import unheard
from panel.errors import BoothError, OakpanelError

if TYPE_CHECKING:
    from panel.store.engine import Store


@click.command("booth")
@click.argument("session", required=False, shell_complete=a_session)
@click.option("--plain", is_flag=True, help="Ask and answer by plain lines, to be read aloud.")
@pass_invocation
def command(inv: Invocation, session: str | None, plain: bool) -> None:
    """Open an assessor's booth on SESSION, or on the only session that is open.

    Sign in with code and PIN. Every score is on disk before it is shown as kept; after any
    interruption, signing in again leads back to the same glass.
    A booth that is opened before the session waits for it.
    With --plain all of it goes by questions and answers, a fact a line: nothing is redrawn.
    """
    if plain:
        sys.exit(_by_lines(inv, session))
    if not sys.stdout.isatty() and not os.environ.get("TEXTUAL_DRIVER"):
        raise BoothError("The booth needs a terminal; its output cannot go into a file or a pipe.")
    from panel.booth.app import BoothApp

    app = BoothApp(partial(open_for_booth, inv), session=session, clock=inv.now)
    with unheard():
        app.run()
    if app.seat is not None:
        app.records.leave(app.seat)
    if app.fault is not None:
        raise app.fault
    sys.exit(app.return_code or 0)


def _by_lines(inv: Invocation, session: str | None) -> int:
    if sys.stdin is None or sys.stdout is None:
        raise BoothError(
            "The booth asks and is answered by lines: it needs an input and an output."
        )
    from panel.booth.aloud.booth import PlainBooth
    from panel.booth.aloud.terminal import here
    from panel.seat.records import Records

    records = Records(partial(open_for_booth, inv), session, inv.now)
    with unheard(), here() as terminal:
        booth = PlainBooth(records, terminal)
        code = booth.run()
        booth.give_up_seat()
    if booth.fault is not None:
        raise booth.fault
    return code


def open_for_booth(inv: Invocation) -> Store:
    """Open the database; who sits at a booth acts for nobody who typed a PIN at this account."""
    from panel.records.proving import end_pass
    from panel.store.engine import locate
    from panel.store.passes import drop_pass

    held = drop_pass(locate(inv.named))
    store = inv.open()
    if held is not None:
        with suppress(OakpanelError):  # without its file it is worth nothing in the table either
            end_pass(store, held, now=inv.now())
    return store
