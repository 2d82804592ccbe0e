"""`oakpanel session`: plan, seal, pour, open, watch, close and reveal an evening of glasses."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_date

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

MARKS = ("void", "re-poured", "swap-suspected", "kept")


@click.group()
def command() -> None:
    """Plan, seal, pour, open, close and reveal a session."""


@dataclass(frozen=True)
class Acting:
    """A write transaction and the code of who acts in it."""

    db: Session
    by: str


@contextmanager
def leading(inv: Invocation) -> Iterator[Acting]:
    """Give a write transaction to somebody who leads the panel."""
    from panel.session.blueprint import today_at_site
    from panel.store.people import Role
    from panel.store.who import acting_person

    with closing(inv.open()) as store, store.write() as db:
        on = today_at_site(db, inv.now())
        yield Acting(db, acting_person(db, inv.by, Role.LEAD, on=on).code)


@contextmanager
def reading(inv: Invocation) -> Iterator[Session]:
    """Give a transaction that only reads."""
    with closing(inv.open(readonly=True)) as store, store.read() as db:
        yield db


@command.command()
@click.argument("name")
@click.option("--draw", "draws", multiple=True, metavar="LABEL", help="A draw to nose; repeat it.")
@click.option("--assessor", "assessors", multiple=True, metavar="CODE", help="Repeat it.")
@click.option("--all-assessors", is_flag=True, help="Everybody who assesses on that date.")
@click.option("--descriptor", "descriptors", multiple=True, metavar="NAME", help="Repeat it.")
@click.option("--lexicon", type=click.Choice(["all"]), help="Every descriptor that fits.")
@click.option("--reference", metavar="LABEL", help="A hidden reference, one in every flight.")
@click.option("--duplicate", default="auto", show_default=True, metavar="auto|LABEL|none")
@click.option("--warm-up", metavar="LABEL", help="A declared glass first; its score is not used.")
@click.option("--replicates", type=int, default=1, show_default=True, help="Glasses of each draw.")
@click.option("--held-on", callback=read_date, metavar="DATE", help="Else today.")
@click.option("--site", help="Where it is held.")
@click.option("--taste", is_flag=True, help="Glasses are tasted too; else only nosed.")
@click.option("--no-going-back", is_flag=True, help="A finished glass is finished.")
@click.option("--codes-per-assessor", is_flag=True, help="Every tray has codes of its own.")
@click.option("--pause", "pause_s", type=int, metavar="SECONDS", help="Else by the peat.")
@click.option("--pour", "pour_ml", type=float, metavar="ML", help="Else the house's.")
@click.option("--nosing-abv", type=float, metavar="PERCENT", help="Else the house's.")
@click.option("--seed", type=int, help="Makes it a rehearsal: codes can be worked out from it.")
@click.option("--insist", is_flag=True, help="More descriptors than the house scores.")
@json_option
@pass_invocation
def plan(
    inv: Invocation,
    /,
    as_json: bool,
    all_assessors: bool,
    lexicon: str | None,
    taste: bool,
    no_going_back: bool,
    duplicate: str,
    held_on: date | None,
    assessors: tuple[str, ...],
    descriptors: tuple[str, ...],
    **asked: Any,
) -> None:
    """Write a draft NAME. Everything that speaks against it is said at once."""
    from panel.session.blueprint import today_at_site
    from panel.session.plan import SessionPlan, lexicon_names, plan_session
    from panel.store.people import Role
    from panel.store.sessions import Manner
    from panel.store.who import people_with

    if all_assessors and assessors:
        raise click.UsageError("Give --assessor or --all-assessors, not both.")
    if lexicon and descriptors:
        raise click.UsageError("Give --descriptor or --lexicon all, not both.")
    manner = Manner.TASTE if taste else Manner.NOSE
    with leading(inv) as acting:
        on = held_on or today_at_site(acting.db, inv.now())
        if all_assessors:
            assessors = tuple(who.code for who in people_with(acting.db, Role.ASSESSOR, on))
        wanted = SessionPlan(
            assessors=assessors,
            descriptors=lexicon_names(acting.db, manner, on) if lexicon else descriptors,
            duplicate=None if duplicate == "none" else duplicate,
            manner=manner,
            may_go_back=not no_going_back,
            held_on=on,
            **asked,
        )
        summary = plan_session(acting.db, wanted, now=inv.now(), by=acting.by)
    if as_json:
        emit_json(summary.to_dict())
        return
    click.echo("\n".join(summary.lines()))
    say(f"Next: oakpanel session seal {shown(wanted.name)}")


def shown(name: str) -> str:
    """Return a name as a shell takes it."""
    import shlex

    return shlex.quote(name)


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List all sessions, newest first."""
    from panel.session.progress import list_sessions

    with reading(inv) as db:
        lines = list_sessions(db)
    if as_json:
        emit_json({"sessions": [line.to_dict() for line in lines]})
    elif lines:
        headings = ["session", "held on", "stage", "assessors", "glasses", "scores", ""]
        rows = [
            (
                line.name,
                line.held_on or "-",
                line.status,
                line.n_assessors,
                line.n_glasses,
                line.n_scores,
                line.remarks(),
            )
            for line in lines
        ]
        click.echo(table(headings, rows))
    else:
        say("There is no session yet: `oakpanel session plan NAME ...` or `oakpanel load scores`.")


@command.command()
@click.argument("name")
@json_option
@pass_invocation
def show(inv: Invocation, name: str, as_json: bool) -> None:
    """Show NAME: a draft's plan, then codes and progress, and the key once it is revealed."""
    from panel.session.showing import session_view

    with reading(inv) as db:
        view = session_view(db, name)
    if as_json:
        emit_json(view.to_dict())
    else:
        click.echo("\n".join(view.lines()))


@command.command()
@click.argument("name")
@json_option
@pass_invocation
def seal(inv: Invocation, name: str, as_json: bool) -> None:
    """Fix the codes, orders and key of NAME before a glass is poured."""
    from panel.session.seal import seal_session

    with leading(inv) as acting:
        sealed = seal_session(acting.db, name, now=inv.now(), by=acting.by)
    if as_json:
        emit_json(sealed.to_dict())
        return
    click.echo(f"Session {name} is sealed.")
    click.echo(f"Key SHA-256  {sealed.key_hash}")
    click.echo(f"Log head     {sealed.log_head}")
    say(
        "Both stand on the pour sheet too; a copy on paper is what makes a changed key show. "
        f"Next: oakpanel session sheets {shown(name)}"
    )


@command.command()
@click.argument("name")
@click.argument("which", type=click.Choice(["both", "pour", "trays"]), default="both")
@click.option("--out", type=click.Path(path_type=Path), help="Write a new file only you can read.")
@click.option("--insist", is_flag=True, help="Print the key although it costs blindness.")
@json_option
@pass_invocation
def sheets(
    inv: Invocation, name: str, which: str, out: Path | None, insist: bool, as_json: bool
) -> None:
    """Print the pour sheet (which tells the key) and the tray labels of NAME."""
    from panel.cli.session_sheets import print_sheets

    printed = print_sheets(inv, name, which, out=out, insist=insist)
    if as_json:
        emit_json(printed.to_dict())
    elif out is None:
        click.echo(printed.text, nl=False)
    else:
        click.echo(f"Written to {out}; only you can read it.")
    for cost in printed.costs:
        say(cost)


@command.command("open")
@click.argument("name")
@click.option("--held-on", callback=read_date, metavar="DATE", help="Correct the planned date.")
@json_option
@pass_invocation
def open_(inv: Invocation, name: str, held_on: date | None, as_json: bool) -> None:
    """Let the booths of NAME in."""
    from panel.session.blueprint import today_at_site
    from panel.session.found import find_session
    from panel.session.stages import open_session

    with leading(inv) as acting:
        open_session(acting.db, name, now=inv.now(), by=acting.by, held_on=held_on)
        planned, today = find_session(acting.db, name).held_on, today_at_site(acting.db, inv.now())
    _answer_stage(name, "open", as_json, next_="The booths: `oakpanel booth` or `oakpanel serve`.")
    if planned != today and held_on is None:
        say(f"It keeps its planned date {planned}, though today is {today}.")


def _answer_stage(name: str, stage: str, as_json: bool, *, next_: str) -> None:
    if as_json:
        emit_json({"session": name, "status": stage})
        return
    click.echo(f"Session {name} is {stage}.")
    say(next_)


@command.command()
@click.argument("name")
@json_option
@pass_invocation
def close(inv: Invocation, name: str, as_json: bool) -> None:
    """End the scoring of NAME; booths save no more."""
    from panel.session.progress import session_progress
    from panel.session.stages import close_session

    with leading(inv) as acting:
        close_session(acting.db, name, now=inv.now(), by=acting.by)
        unfinished = session_progress(acting.db, name).unfinished
    _answer_stage(name, "closed", as_json, next_=f"Next: oakpanel session reveal {shown(name)}")
    if unfinished:
        say(
            f"{', '.join(unfinished)} had not finished; what they scored is kept. "
            f"`oakpanel session reopen {shown(name)} --reason ...` lets them go on."
        )


@command.command()
@click.argument("name")
@click.option("--reason", required=True, help="Why; kept in the log.")
@json_option
@pass_invocation
def reopen(inv: Invocation, name: str, reason: str, as_json: bool) -> None:
    """Let the booths of a closed NAME in again, before the reveal only."""
    from panel.session.stages import reopen_session

    with leading(inv) as acting:
        reopen_session(acting.db, name, now=inv.now(), by=acting.by, reason=reason)
    _answer_stage(name, "open", as_json, next_="The booths go on where they were.")


@command.command()
@click.argument("name")
@click.option("--insist", is_flag=True, help="Although the key is not the sealed one.")
@json_option
@pass_invocation
def reveal(inv: Invocation, name: str, insist: bool, as_json: bool) -> None:
    """Check the key of NAME against its hash, and show what the codes were."""
    from panel.session.showing import key_lines
    from panel.session.stages import reveal_session

    with leading(inv) as acting:
        revealed = reveal_session(acting.db, name, now=inv.now(), by=acting.by, insist=insist)
    if as_json:
        emit_json(revealed.to_dict())
        return
    click.echo("\n".join(key_lines(revealed)))
    say(f"Next: oakpanel agreement {shown(name)}")


@command.command()
@click.argument("name")
@click.argument("assessor")
@click.argument("code")
@click.argument("status", type=click.Choice(MARKS))
@click.option("--note", help="Why; kept with the mark.")
@json_option
@pass_invocation
def mark(
    inv: Invocation,
    name: str,
    assessor: str,
    code: str,
    status: str,
    note: str | None,
    as_json: bool,
) -> None:
    """Mark glass CODE of ASSESSOR in NAME before the reveal. Scores are kept."""
    from panel.session.marks import mark_glass
    from panel.store.sessions import ServingStatus

    wanted = ServingStatus(status.replace("swap-", "swap_"))
    with leading(inv) as acting:
        standing = mark_glass(
            acting.db, name, assessor, code, wanted, now=inv.now(), by=acting.by, note=note
        )
    if as_json:
        emit_json(
            {
                "session": name,
                "assessor": assessor,
                "code": code,
                "status": wanted.value,
                "pouring": standing.pouring,
            }
        )
    else:
        click.echo(f"Glass {code} of {assessor}: {status}. Its scores are kept.")


@command.command()
@click.argument("name")
@click.option("--answer", type=int, metavar="NUMBER", help="Note that this call was seen to.")
@json_option
@pass_invocation
def calls(inv: Invocation, name: str, answer: int | None, as_json: bool) -> None:
    """List the calls that wait for the lead in NAME."""
    from panel.session.found import find_session
    from panel.session.marks import answer_call
    from panel.session.progress import open_calls

    if answer is not None:
        with leading(inv) as acting:
            answer_call(acting.db, answer, now=inv.now(), by=acting.by)
    with reading(inv) as db:
        waiting = open_calls(db, find_session(db, name))
    if as_json:
        emit_json({"session": name, "calls": [call.to_dict() for call in waiting]})
    elif waiting:
        headings = ["call", "assessor", "glass", "reason", "since (UTC)"]
        rows = [
            (call.id, call.assessor, call.code or "-", call.reason, f"{call.called_at:%H:%M}")
            for call in waiting
        ]
        click.echo(table(headings, rows))
    else:
        say("Nobody is waiting for the lead.")
