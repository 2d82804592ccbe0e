"""`oakpanel report`: pages to hand on, each one file that needs nothing else."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.answers import RECKONING, say, waiting
from panel.cli.invocation import Invocation, as_of_option, pass_invocation
from panel.report.readers import Reader

if TYPE_CHECKING:
    from panel.store.engine import Session

HERE = "-"
to_option = click.option(
    "--to",
    "place",
    metavar="FILE|-",
    help="The new file, or - for stdout; else it is named after what it tells, in this folder.",
)


@click.group("report")
def command() -> None:
    """Write a page to hand on: one HTML file that fetches nothing and prints on paper.

    It opens with what was found and what to do, then pictures, tables, how it was reckoned and
    cautions. Only you can read the file until you hand it on.
    """


def write_page(
    inv: Invocation,
    place: str | None,
    otherwise: str,
    ask: Callable[[Session, date], str],
) -> None:
    """Ask for a page and write it to a new file; *otherwise* names that where nobody does.

    Raises
    ------
    OakpanelError
        The file is there already, or cannot be written.
    """
    from panel.desk.file_names import free_path, plain_name
    from panel.report.writing import check_new, write_report

    if place not in {None, HERE}:
        check_new(Path(str(place)))
    with inv.reading() as db, waiting(RECKONING):
        page = ask(db, inv.today(db))
    if place == HERE:
        click.echo(page, nl=False)
        return
    path = Path(place) if place else free_path(Path(f"{plain_name(otherwise, 'report')}.html"))
    write_report(path, page)
    say(f"The page is in {path}; only you can read it.")


@command.command("session")
@click.argument("name")
@click.option(
    "--for",
    "reader",
    type=click.Choice([one.value for one in Reader]),
    default=Reader.OTHERS.value,
    show_default=True,
    help="The lead's page speaks of single assessors; that for others only from twelve on.",
)
@click.option(
    "--seed", type=int, default=1, show_default=True, help="For permutations, bootstraps."
)
@to_option
@as_of_option
@pass_invocation
def session(
    inv: Invocation, name: str, reader: str, seed: int, place: str | None, as_of: date | None
) -> None:
    """Can the panel of a session be trusted, and what was found; before the reveal by codes."""
    from panel.report.asked import session_report

    write_page(
        *(inv, place, f"session-{name}"),
        lambda db, today: session_report(
            db, name, today=today, as_of=as_of, reader=Reader(reader), seed=seed
        ),
    )
