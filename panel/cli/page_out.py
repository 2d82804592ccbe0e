"""Where a page to hand on goes: a new file, or stdout."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.answers import RECKONING, say, waiting

if TYPE_CHECKING:
    from datetime import date

    from panel.cli.invocation import Invocation
    from panel.store.engine import Session

HERE = "-"
to_option = click.option(
    "--to",
    "place",
    metavar="FILE|-",
    help="The new file, or - for stdout; else it is named after what it tells, in this folder.",
)


def write_page(
    inv: Invocation,
    place: str | None,
    otherwise: str,
    ask: Callable[[Session, date], str],
    *,
    said: str | None = RECKONING,
) -> None:
    """Ask for a page and write it to a new file; *otherwise* names that where nobody does.

    *said* stands on a terminal meanwhile, unless what is asked tells how far it is itself.

    Raises
    ------
    OakpanelError
        The file is there already, or cannot be written.
    """
    from panel.desk.file_names import free_path, plain_name
    from panel.report.writing import check_new, write_report

    if place not in {None, HERE}:
        check_new(Path(str(place)))
    with inv.reading() as db, waiting(said) if said else nullcontext():
        page = ask(db, inv.today(db))
    if place == HERE:
        click.echo(page, nl=False)
        return
    path = Path(place) if place else free_path(Path(f"{plain_name(otherwise, 'report')}.html"))
    write_report(path, page)
    say(f"The page is in {path}; only you can read it.")
