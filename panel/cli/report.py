"""`oakpanel report`: pages to hand on, each one file that needs nothing else."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.ageing_options import ageing_options
from panel.cli.answers import progress
from panel.cli.completing import a_cask, a_release, a_session
from panel.cli.invocation import Invocation, as_of_option, pass_invocation, read_date
from panel.cli.looking import confirm_lead, confirm_unfinished
from panel.cli.number import NUMBER
from panel.cli.page_out import to_option, write_page
from panel.cli.report_stock import blend, influences, lot, stock, target
from panel.report.readers import Reader, SheetReader

if TYPE_CHECKING:
    from panel.store.engine import Session


@click.group("report")
def command() -> None:
    """Write a page to hand on: one HTML file that fetches nothing and prints on paper.

    It opens with what was found and what to do, then pictures, tables, how it was reckoned and
    cautions. Only you can read the file until you hand it on.
    """


for _stock in (influences, target, blend, stock, lot):
    command.add_command(_stock)


@command.command("session")
@click.argument("name", shell_complete=a_session)
@click.option(
    "--for",
    "reader",
    type=click.Choice([one.value for one in Reader]),
    default=Reader.OTHERS.value,
    show_default=True,
    help="The lead's page speaks of single assessors and asks a lead's PIN; that for others speaks "
    "of them only from twelve on.",
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

    if Reader(reader) is Reader.LEAD:
        confirm_lead(inv, name)
    else:
        confirm_unfinished(inv, (name,))
    write_page(
        *(inv, place, f"session-{name}"),
        lambda db, today: session_report(
            db, name, today=today, as_of=as_of, reader=Reader(reader), seed=seed
        ),
    )


@command.command("cask")
@click.argument("number", shell_complete=a_cask)
@to_option
@as_of_option
@pass_invocation
def cask(inv: Invocation, number: str, place: str | None, as_of: date | None) -> None:
    """One cask: what lies in it, what the panel found, how it grows, its records."""
    from panel.report.asked import cask_report

    write_page(
        *(inv, place, f"cask-{number}"),
        lambda db, today: cask_report(db, number, today=today, as_of=as_of),
    )


@command.command("ageing")
@ageing_options
@to_option
@as_of_option
@pass_invocation
def ageing(
    inv: Invocation,
    make: str | None,
    wood: str | None,
    casks: tuple[str, ...],
    descriptors: tuple[str, ...],
    target: str | None,
    seed: int,
    place: str | None,
    as_of: date | None,
) -> None:
    """How notes develop with age, for styles or for casks, and when a target is met."""
    from panel.report.asked import ageing_name, ageing_report

    named = ageing_name(make, wood, casks, descriptors, target)
    write_page(
        *(inv, place, f"ageing-{named}"),
        lambda db, today: ageing_report(
            db,
            today=today,
            as_of=as_of,
            make=make,
            wood=wood,
            casks=casks,
            descriptors=descriptors,
            target=target,
            seed=seed,
        ),
    )


@command.command("panel")
@click.argument("sessions", nargs=-1, metavar="[SESSION]...", shell_complete=a_session)
@click.option("--since", callback=read_date, metavar="DATE", help="Sessions from this date on.")
@click.option("--until", callback=read_date, metavar="DATE", help="Sessions up to this date.")
@click.option(
    "--seed", type=int, default=1, show_default=True, help="For permutations, bootstraps."
)
@to_option
@as_of_option
@pass_invocation
def panel(
    inv: Invocation,
    sessions: tuple[str, ...],
    since: date | None,
    until: date | None,
    seed: int,
    place: str | None,
    as_of: date | None,
) -> None:
    """The panel over time, for its lead, whose PIN is asked; all closed sessions unless named."""
    from panel.questions.sessions import sessions_between
    from panel.report.asked import panel_report

    if sessions and (since or until):
        raise click.UsageError("Give either sessions by name or a span of dates, not both.")

    confirm_lead(inv, ", ".join(sessions) or f"sessions since {since}")

    def ask(db: Session, today: date) -> str:
        names = list(dict.fromkeys(sessions)) or sessions_between(db, since, until)
        with progress("Judging sessions") as told:
            return panel_report(db, names, today=today, as_of=as_of, seed=seed, progress=told)

    write_page(inv, place, "panel", ask, said=None)


@command.command("release")
@click.argument("name", shell_complete=a_release)
@click.option(
    "--for",
    "reader",
    type=click.Choice([one.value for one in SheetReader]),
    default=SheetReader.HOUSE.value,
    show_default=True,
    help="All of it; what may be said, and what not; or one page for a guest.",
)
@to_option
@as_of_option
@pass_invocation
def release(inv: Invocation, name: str, reader: str, place: str | None, as_of: date | None) -> None:
    """A release: for the house, for whoever guides and sells, or for a guest."""
    from panel.report.asked import release_report

    write_page(
        *(inv, place, f"release-{name}-{reader}"),
        lambda db, today: release_report(
            db, name, today=today, as_of=as_of, reader=SheetReader(reader)
        ),
    )


@command.command("tasting")
@click.argument("names", nargs=-1, metavar="RELEASE...", shell_complete=a_release)
@click.option("--ml", type=NUMBER, metavar="ML", help="Each pour, 10 mL unless said.")
@click.option("--paper", is_flag=True, help="The sheet on which guests score three notes.")
@click.option(
    "--guests",
    "scores",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Their scores, a CSV of guest, release, note, score: a page of them beside the panel.",
)
@to_option
@as_of_option
@pass_invocation
def tasting(
    inv: Invocation,
    names: tuple[str, ...],
    ml: float | None,
    paper: bool,
    scores: Path | None,
    place: str | None,
    as_of: date | None,
) -> None:
    """Three to six pours of what is bottled: ethanol and order first, then a card a pour.

    Guests may score three notes on paper (--paper) under a number, without a name; --guests sets
    what they wrote beside the middle half of the panel. Nothing of theirs is written to the
    database.
    """
    from panel.report.asked import tasting_report

    if paper and scores:
        raise click.UsageError("Give either --paper or --guests: a page is one of them.")
    kind = "tasting-guests" if scores else "tasting-sheet" if paper else "tasting"
    write_page(
        *(inv, place, "-".join((kind, *names))),
        lambda db, today: tasting_report(
            db, names, today=today, as_of=as_of, ml=ml, paper=paper, guests=scores
        ),
    )
