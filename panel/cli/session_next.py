"""`oakpanel session next`: what to nose next, why, what it saves, and when to stop."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import RECKONING, emit_json, folded, say, tell, waiting
from panel.cli.completing import a_person, a_release, a_target
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_near_date,
)
from panel.cli.later import tell_later
from panel.cli.session_acting import leading, shown
from panel.cli.stock_part import part_options, stock_part
from panel.cli.told_again import NextTold
from panel.errors import PlanRefused
from panel.kinds import Manner
from panel.questions.next_wanted import RECORDS, NextWanted
from panel.questions.session_room import RoomAsked
from panel.questions.stock_part import FOLDS
from panel.questions.usual_best import USUAL_BEST

if TYPE_CHECKING:
    from panel.questions.next_session import NextAnswer
    from panel.store.engine import Session


def read_swaps(
    _ctx: click.Context, _param: click.Parameter, given: tuple[str, ...]
) -> tuple[tuple[str, str], ...]:
    """Read pairs of casks written as OUT=IN."""
    found = []
    for text in given:
        out, equals, into = text.partition("=")
        if not (out and equals and into):
            raise click.BadParameter(f"{text!r} is not OUT=IN, such as SW1604=SW1608")
        found.append((out, into))
    return tuple(found)


@click.command("next")
@click.argument("target", required=False, shell_complete=a_target)
@click.option("--vat", "release", shell_complete=a_release, help="Is this release within?")
@click.option("--ready", "make", metavar="MAKE", help="When is which cask of it ready for TARGET?")
@click.option("--record", type=click.Choice(list(RECORDS)), help="Does this record matter?")
@click.option("--best", type=click.IntRange(1), default=USUAL_BEST, show_default=True, metavar="K")
@click.option("--in-bottles", is_flag=True, help="Tell the loss in bottles too.")
@click.option(
    "--with", "only", multiple=True, metavar="CODE", shell_complete=a_person, help="Who comes."
)
@click.option(
    "--without", multiple=True, metavar="CODE", shell_complete=a_person, help="Who does not."
)
@click.option("--glasses", type=int, metavar="N", help="Each; else what one flight holds.")
@click.option("--casks", type=click.IntRange(1), metavar="N", help="Different ones, at most.")
@click.option("--at-hand", is_flag=True, help="Only samples that stand on the shelf.")
@click.option("--shelf", multiple=True, metavar="LABEL", help="A sample kept, whatever was told.")
@part_options
@click.option("--taste", is_flag=True, help="Tasted: the house's caps on ethanol limit glasses.")
@click.option(
    "--swap", "swaps", multiple=True, callback=read_swaps, metavar="OUT=IN", help="Repeat it."
)
@click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it.")
@click.option("--plan", "name", metavar="NAME", help="Write it as the draft NAME.")
@click.option(
    "--held-on", callback=read_near_date, metavar="DATE", help="Of the draft; else today."
)
@as_of_option
@json_option
@pass_invocation
def next_(
    inv: Invocation,
    /,
    target: str | None,
    release: str | None,
    name: str | None,
    held_on: date | None,
    as_of: date | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Propose the next session for TARGET, or another question: who noses what, and why.

    What deciding today would cost comes first, then what the session is expected to save.
    Reference and duplicate are added blind when it is planned.
    """
    from panel.questions.sessions import held_later

    if sum(part is not None for part in (release, given["make"], given["record"])) > 1:
        raise click.UsageError("Ask one question: a target, --vat, --ready or --record.")
    if not (target or release or given["record"] or given["make"]):
        raise click.UsageError("Name a TARGET, or ask with --vat, --ready or --record.")
    wanted = _wanted(target, **given)
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        answer = _asked(db, release, wanted, day)
        later = held_later(db, day)
    planned = None
    if name is not None:
        planned = _planned(inv, answer, name, held_on, wanted.room.manner)
        answer = replace(answer, planned=name)
    if as_json:
        emit_json(NextTold(answer, later))
        return
    _tell(answer, as_of)
    tell_later(later, day)
    if planned is not None:
        click.echo("\n" + planned)
        say(f"Next: oakpanel session seal {shown(answer.planned or '')}")


def _wanted(
    target: str | None,
    *,
    only: tuple[str, ...],
    without: tuple[str, ...],
    glasses: int | None,
    casks: int | None,
    at_hand: bool,
    shelf: tuple[str, ...],
    taste: bool,
    in_bottles: bool,
    **given: Any,
) -> NextWanted:
    manner = Manner.TASTE if taste else Manner.NOSE
    part = stock_part(**{name: given.pop(name) for name in FOLDS})
    room = RoomAsked(only, without, glasses, casks, at_hand, shelf, manner, part)
    return NextWanted(target=target, room=room, bottles=in_bottles, **given)


def _asked(db: Session, release: str | None, wanted: NextWanted, as_of: date) -> NextAnswer:
    if release is not None:
        from panel.release.next_glasses import next_of_release

        return next_of_release(db, release, wanted, as_of=as_of)
    from panel.questions.next_session import next_session

    return next_session(db, wanted, as_of=as_of)


def _planned(
    inv: Invocation, answer: NextAnswer, name: str, held_on: date | None, manner: Manner
) -> str:
    from panel.questions.next_plan import plan_of
    from panel.session.plan import AUTO, plan_session
    from panel.words.next_words import no_glass_words

    if not answer.found.glasses:
        raise PlanRefused(f"Session {name!r} was not planned. {no_glass_words(answer.found)}")
    with leading(inv) as acting:
        on = held_on or inv.today(acting.db)
        wanted = plan_of(acting.db, answer, name, held_on=on, manner=manner)
        summary = plan_session(acting.db, wanted, now=inv.now(), by=acting.by)
    if AUTO in wanted.duplicates:
        summary = summary.without_pours()
    return folded(summary.lines())


def _tell(answer: NextAnswer, asked: date | None) -> None:
    from panel.words.next_words import next_lines

    tell("\n".join(next_lines(answer, asked=asked)))
