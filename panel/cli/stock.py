"""`oakpanel stock`: what the warehouse asks for, and plans of the whole stock."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import emit_json, say, tell, waiting
from panel.cli.completing import a_cask
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.stock_documents import ReviewTold, review_told
from panel.cli.stock_part import part_options, stock_part
from panel.cli.stock_plan import drop, plan, plans
from panel.questions.review.matters import Reason

if TYPE_CHECKING:
    from panel.questions.review.review import Review

REASONS = [reason.value for reason in Reason]


@click.group("stock")
def command() -> None:
    """The whole stock: what needs somebody today, which cask for which release."""


@command.command("review")
@part_options
@click.option("--walk", is_flag=True, help="In walking order, for whoever goes round; else worst.")
@click.option("--seen-to", "seen", is_flag=True, help="What was ticked, the newest first.")
@as_of_option
@json_option
@pass_invocation
def review(
    inv: Invocation, /, walk: bool, seen: bool, as_of: date | None, as_json: bool, **part: Any
) -> None:
    """What needs somebody today: at most twenty lines a warehouse, the worst first."""
    from panel.questions.review.review import house_review

    with inv.reading() as db, waiting("Looking over the stock"):
        found = house_review(db, as_of=as_of or inv.today(db), part=stock_part(**part))
    if as_json:
        emit_json(review_told(found))
        return
    tell("\n".join(_done_lines(found) if seen else _lines(found, walk=walk)))
    if found.n_needing and not seen:
        say("Seen to: oakpanel stock tick CASK. On paper: oakpanel report stock.")


def _lines(found: Review, *, walk: bool) -> list[str]:
    from panel.words.review_words import CAUTIONS, review_lines

    return [*review_lines(found, walk=walk), "", *CAUTIONS]


def _done_lines(found: Review) -> list[str]:
    from panel.words.review_words import tick_words

    return [tick_words(tick) for tick in found.done] or ["Nothing was ticked yet."]


@command.command("tick")
@click.argument("casks", nargs=-1, required=True, metavar="CASK...", shell_complete=a_cask)
@click.option("--reason", type=click.Choice(REASONS), help="Of this reason alone; else all.")
@click.option("--note", help="What was done.")
@json_option
@pass_invocation
def tick(
    inv: Invocation, casks: tuple[str, ...], reason: str | None, note: str | None, as_json: bool
) -> None:
    """Keep that what CASK was in the review for was seen to. It comes back with newer records."""
    from panel.questions.review.tick import tick_casks

    with inv.writing() as db:
        done = tick_casks(
            *(db, casks),
            reason=None if reason is None else Reason(reason),
            note=note,
            now=inv.now(),
            by=inv.by,
        )
    if as_json:
        emit_json(done)
    else:
        click.echo(f"Ticked {', '.join(done.casks)}: {'; '.join(done.reasons)}.")


for each in (plan, plans, drop):
    command.add_command(each)

__all__ = ["ReviewTold", "command"]
