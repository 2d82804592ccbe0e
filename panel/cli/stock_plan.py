"""`oakpanel stock plan`: which cask for which release over the years, and what a change moves."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from signal import SIGINT, getsignal, signal
from threading import Event, current_thread, main_thread
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say, table, waiting
from panel.cli.completing import a_plan
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.number import NUMBER
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.questions.plan_records import PlanRecord
    from panel.questions.plan_since import CaskSince
    from panel.questions.stock_plans import PlanFound

LOOKING = "Looking for casks, release by release (ctrl-c gives the best so far)"


@dataclass(frozen=True)
class PlanTold:
    """A plan of the stock; `kept_on` is the day its casks were kept, `since` what changed after.

    `kept_otherwise` are the releases of which other casks are kept than those that are shown.
    """

    found: PlanFound
    kept_on: date | None
    since: tuple[CaskSince, ...]
    kept_otherwise: tuple[str, ...]

    json_keys = (("found", "**"), "kept_on", "since", "kept_otherwise")


@dataclass(frozen=True)
class PlansTold:
    """All plans as they are recorded."""

    plans: tuple[PlanRecord, ...]


@contextmanager
def asked_to_stop() -> Iterator[Event]:
    """Give what is set by ctrl-c, so that a search ends with the best it has; twice ends it all."""
    stop = Event()
    if current_thread() is not main_thread():
        yield stop
        return
    before = getsignal(SIGINT)

    def ask(_number: int, _frame: object) -> None:
        signal(SIGINT, before)
        stop.set()

    signal(SIGINT, ask)
    try:
        yield stop
    finally:
        signal(SIGINT, before)


@click.command("plan")
@click.argument("name", shell_complete=a_plan)
@click.option("--hold", multiple=True, metavar="CASK", help="See what moves without this cask.")
@click.option(
    "--move",
    multiple=True,
    nargs=2,
    type=(str, int),
    metavar="RELEASE YEAR",
    help="See what moves with a release in another year.",
)
@click.option(
    "--widen",
    multiple=True,
    nargs=2,
    type=(str, NUMBER),
    metavar="NOTE POINTS",
    help="See what moves with a note so many points wider.",
)
@click.option(
    "--anew", is_flag=True, help="See it planned anew, not from the last plan: takes longer."
)
@picture_option
@click.option("--keep", is_flag=True, help="Keep its casks beside the plan; reserves nothing.")
@click.option(
    "--seconds",
    type=NUMBER,
    default=180.0,
    show_default=True,
    help="To search; then the best so far, with its bound.",
)
@as_of_option
@json_option
@pass_invocation
def plan(
    inv: Invocation,
    /,
    name: str,
    hold: tuple[str, ...],
    move: tuple[tuple[str, int], ...],
    widen: tuple[tuple[str, float], ...],
    anew: bool,
    picture: str | None,
    keep: bool,
    seconds: float,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Choose casks for every release of the plan NAME at once, each cask spent once.

    A plan comes in by `oakpanel load plans FILE`. It reserves nothing: `oakpanel release propose
    RELEASE --from-plan NAME` does, with the casks that were kept by --keep. What has changed
    since then is told cask by cask.
    """
    from panel.pictures.plans import casks_by_year
    from panel.questions.plan_changes import PlanChange
    from panel.questions.plan_records import stored_plan
    from panel.questions.plan_since import changed_since, kept_otherwise
    from panel.questions.stock_plans import house_plan
    from panel.release.from_plan import keep_plan
    from panel.words.plan_words import plan_lines

    if not seconds > 0.0:
        raise click.BadParameter(
            f"{in_digits(seconds, 'g')}: give more than 0", param_hint="--seconds"
        )
    check_picture(picture, as_json=as_json)
    change = PlanChange(hold, move, widen, anew)
    if anew and not change:
        raise click.UsageError("Say what changes: --hold, --move or --widen. Without, it is anew.")
    if keep and change:
        raise click.UsageError("Keep the plan as it is recorded, or see what a change moves.")
    with inv.reading() as db, asked_to_stop() as stop, waiting(LOOKING, stopped=stop.is_set):
        day = as_of or inv.today(db)
        found = house_plan(db, name, as_of=day, change=change, seconds=seconds)
        stored = stored_plan(db, name)
        kept_on, since = stored.kept_on, changed_since(db, stored, as_of=day)
        otherwise = kept_otherwise(stored, found)
    if keep:
        with inv.writing() as db:
            kept_on = keep_plan(db, found, on=day, now=inv.now(), by=inv.by).kept_on
            since, otherwise = (), ()
    if drawn_here(picture, casks_by_year(found) if picture else ()):
        return
    if as_json:
        emit_json(PlanTold(found, kept_on, since, otherwise))
        return
    click.echo("\n".join(plan_lines(found, since, otherwise=otherwise)))
    if keep:
        say(f"Kept on {kept_on}; nothing is reserved.")


@click.command("plans")
@json_option
@pass_invocation
def plans(inv: Invocation, as_json: bool) -> None:
    """List the plans of the stock as they are recorded."""
    from panel.questions.plan_records import plan_records

    with inv.reading() as db:
        found = plan_records(db)
    if as_json:
        emit_json(PlansTold(tuple(found)))
        return
    rows = [
        (
            *(each.plan, len(each.lines)),
            f"{min(line.year for line in each.lines)}-{max(line.year for line in each.lines)}"
            if each.lines
            else "-",
            each.kept_on or "-",
        )
        for each in found
    ]
    empty = "No plan yet: `oakpanel load plans FILE` brings one in."
    click.echo(table(("plan", "releases", "years", "casks kept on"), rows) if rows else empty)


@dataclass(frozen=True)
class Dropped:
    """A plan that was taken out of the records, or one release of it."""

    plan: str
    release: str | None


@click.command("drop")
@click.argument("name", shell_complete=a_plan)
@click.option("--release", metavar="RELEASE", help="Only this release of it.")
@json_option
@pass_invocation
def drop(inv: Invocation, name: str, release: str | None, as_json: bool) -> None:
    """Take a plan out, or one release out of it; what was proposed from it stays."""
    from panel.release.from_plan import drop_plan

    with inv.writing() as db:
        drop_plan(db, name, release=release, on=inv.today(db), now=inv.now(), by=inv.by)
    if as_json:
        emit_json(Dropped(name, release))
    else:
        click.echo(f"{release or 'All'} of plan {name} is taken out.")
