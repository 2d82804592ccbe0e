"""A session's steps: a draft dropped, a sealed one opened, closed, reopened, revealed, calls."""

from __future__ import annotations

from datetime import date
from typing import Literal

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.completing import a_session
from panel.cli.documents import Calls, StepTaken
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_near_date
from panel.cli.session_acting import leading, shown
from panel.words.register_words import open_words


@click.command("open")
@click.argument("name", shell_complete=a_session)
@click.option(
    "--held-on", callback=read_near_date, metavar="DATE", help="Correct the planned date."
)
@json_option
@pass_invocation
def open_(inv: Invocation, name: str, held_on: date | None, as_json: bool) -> None:
    """Let the booths of NAME in."""
    from panel.records.acts import Act
    from panel.session.stages import open_session
    from panel.store.finding import find_session
    from panel.store.house import today_at_site

    with leading(inv, Act.OPEN) as acting:
        open_session(acting.db, name, now=inv.now(), by=acting.by, held_on=held_on)
        planned, today = find_session(acting.db, name).held_on, today_at_site(acting.db, inv.now())
    _answer_stage(name, "open", as_json, next_=f"The booths: `oakpanel booth {shown(name)}`.")
    if planned != today and held_on is None:
        say(f"It keeps its planned date {planned}, though today is {today}.")


def _answer_stage(
    name: str, stage: Literal["open", "closed"], as_json: bool, *, next_: str
) -> None:
    if as_json:
        emit_json(StepTaken(name, stage))
        return
    click.echo(f"Session {name} is {stage}.")
    say(next_)


@click.command()
@click.argument("name", shell_complete=a_session)
@json_option
@pass_invocation
def close(inv: Invocation, name: str, as_json: bool) -> None:
    """End the scoring of NAME; booths save no more."""
    from panel.questions.register import untold_samples
    from panel.records.acts import Act
    from panel.session.progress import session_progress
    from panel.session.stages import close_session
    from panel.store.finding import find_session
    from panel.store.site_packs import pack_it_came_in

    with leading(inv, Act.CLOSE) as acting:
        close_session(acting.db, name, now=inv.now(), by=acting.by)
        progress = session_progress(acting.db, name)
        untold = len(untold_samples(acting.db, name))
        from_home = pack_it_came_in(acting.db, find_session(acting.db, name).id) is not None
    home = f"session return {shown(name)} FILE --destroyed ML"
    unfinished = progress.unfinished
    next_ = home if from_home else f"session reveal {shown(name)}"
    _answer_stage(name, "closed", as_json, next_=f"Next: oakpanel {next_}")
    if words := progress.suspected_words():
        say(f"{words} `oakpanel session clear {shown(name)} ASSESSOR CODE` says how they stood.")
    if unfinished:
        say(
            f"{', '.join(unfinished)} had not finished; what they scored is kept. "
            f"`oakpanel session reopen {shown(name)} --reason ...` lets them go on."
        )
    if untold:
        say(
            f"{open_words(untold)} Leftovers, references made up, samples posted: "
            f"`oakpanel register session {shown(name)} --fate ...` tells of all at once."
        )


@click.command()
@click.argument("name", shell_complete=a_session)
@click.option("--reason", required=True, help="Why; kept in the log.")
@json_option
@pass_invocation
def reopen(inv: Invocation, name: str, reason: str, as_json: bool) -> None:
    """Let the booths of a closed NAME in again, before the reveal only."""
    from panel.records.acts import Act
    from panel.session.reopened import STAYS_KNOWN
    from panel.session.stages import reopen_session

    with leading(inv, Act.OPEN) as acting:
        reopen_session(acting.db, name, now=inv.now(), by=acting.by, reason=reason)
    _answer_stage(name, "open", as_json, next_=f"The booths go on where they were. {STAYS_KNOWN}")


@click.command()
@click.argument("name", shell_complete=a_session)
@click.option("--insist", is_flag=True, help="Although the key is not the sealed one.")
@json_option
@pass_invocation
def reveal(inv: Invocation, name: str, insist: bool, as_json: bool) -> None:
    """Check the key of NAME against its hash, and show what the codes were."""
    from panel.records.acts import Act
    from panel.session.showing import key_lines
    from panel.session.stages import reveal_session

    with leading(inv, Act.REVEAL) as acting:
        revealed = reveal_session(acting.db, name, now=inv.now(), by=acting.by, insist=insist)
    if as_json:
        emit_json(revealed)
        return
    click.echo("\n".join(key_lines(revealed)))
    say(f"Next: oakpanel agreement {shown(name)}")


@click.command()
@click.argument("name", shell_complete=a_session)
@click.option("--answer", type=int, metavar="NUMBER", help="Note that this call was seen to.")
@click.option("--take-back", type=int, metavar="NUMBER", help="Let an answered call wait again.")
@json_option
@pass_invocation
def calls(
    inv: Invocation, name: str, answer: int | None, take_back: int | None, as_json: bool
) -> None:
    """List the calls that wait for the lead in NAME."""
    from panel.session.calls import answer_call, take_answer_back
    from panel.session.progress import open_calls
    from panel.store.finding import find_session

    if answer is not None:
        with leading(inv) as acting:
            stopped = answer_call(acting.db, answer, now=inv.now(), by=acting.by)
        for draw in stopped:
            say(draw.sentence())
    if take_back is not None:
        with leading(inv) as acting:
            take_answer_back(acting.db, take_back, now=inv.now(), by=acting.by)
    with inv.reading() as db:
        waiting = open_calls(db, find_session(db, name))
    if as_json:
        emit_json(Calls(name, tuple(waiting)))
    elif waiting:
        headings = ["call", "assessor", "glass", "reason", "since (UTC)"]
        rows = [
            (call.id, call.assessor, call.code or "-", call.reason, f"{call.called_at:%H:%M}")
            for call in waiting
        ]
        click.echo(table(headings, rows))
    else:
        say("Nobody is waiting for the lead.")


@click.command()
@click.argument("name", shell_complete=a_session)
@json_option
@pass_invocation
def drop(inv: Invocation, name: str, as_json: bool) -> None:
    """Drop the draft NAME; what was sealed stays."""
    from panel.session.drafts import drop_draft

    with leading(inv) as acting:
        drop_draft(acting.db, name, now=inv.now(), by=acting.by)
    if as_json:
        emit_json(StepTaken(name, "dropped"))
    else:
        click.echo(f"Draft {name} is dropped.")
