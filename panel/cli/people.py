"""`oakpanel people`: PINs, roles, leaving, and what is kept about a person."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_date

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.erase import Erasure


@click.group()
def command() -> None:
    """PINs, roles and leaving; what is kept about a person, and its erasure."""


@dataclass
class Deed:
    """One change under one log entry: who did it, and what the entry will hold."""

    db: Session
    by: str
    on: date
    details: dict[str, object] = field(default_factory=dict)


@contextmanager
def deed(inv: Invocation, action: str) -> Iterator[Deed]:
    """Give a write transaction of the lead's, logged as *action* at its end."""
    from panel.store.log import append_entry
    from panel.store.who import lead_or_first

    with closing(inv.open()) as store, store.write() as db:
        today = site_today(db, inv)
        done = Deed(db, lead_or_first(db, inv.by, on=today), today)
        yield done
        append_entry(db, at=inv.now(), by=done.by, action=action, details=done.details)


def site_today(db: Session, inv: Invocation) -> date:
    """Return today's date at the site."""
    from panel.clock import site_date
    from panel.store.house import read_setting

    return site_date(inv.now(), str(read_setting(db, "time_zone")))


@command.command("list")
@click.option("--all", "everybody", is_flag=True, help="Also who has left or was erased.")
@json_option
@pass_invocation
def list_people(inv: Invocation, everybody: bool, as_json: bool) -> None:
    """List codes and roles. Names stay out, and so do PINs."""
    from panel.store.people_queries import people_lines

    with closing(inv.open(readonly=True)) as store, store.read() as db:
        lines = people_lines(db, on=site_today(db, inv), everybody=everybody)
    if as_json:
        emit_json({"people": lines})
    elif lines:
        rows = [
            (
                line.code,
                " ".join(line.roles) or "-",
                "yes" if line.has_pin else "none",
                line.joined_on or "-",
                line.left_on or "-",
            )
            for line in lines
        ]
        click.echo(table(["code", "roles", "PIN", "joined", "left"], rows))
    else:
        say("Nobody is recorded yet: `oakpanel people add CODE` or `oakpanel load assessors FILE`.")


@command.command()
@click.argument("code")
@click.option(
    "--role", "roles", multiple=True, help="assessor (the default), lead, pourer, blender"
)
@click.option("--joined-on", callback=read_date, metavar="DATE")
@click.option("--name", help="A real name: kept apart, left out of every export unless asked for.")
@pass_invocation
def add(
    inv: Invocation, code: str, roles: tuple[str, ...], joined_on: date | None, name: str | None
) -> None:
    """Record a new person of the code CODE."""
    from panel.store.people_queries import add_person, read_role

    given = [read_role(role) for role in roles or ("assessor",)]
    with deed(inv, "person added") as done:
        add_person(done.db, code, given, joined_on=joined_on, name=name)
        done.details.update(person=code, roles=[role.value for role in given])
    click.echo(f"{code} is recorded: {', '.join(role.value for role in given)}.")
    say(f"Next, a PIN: oakpanel people pin {code}")


@command.command()
@click.argument("code")
@click.option("--generate", is_flag=True, help="Make a PIN at random and show it once.")
@pass_invocation
def pin(inv: Invocation, code: str, generate: bool) -> None:
    """Give CODE a PIN of 4 to 12 digits: asked twice, never shown; from a pipe, one line."""
    from panel.store.pins import new_pin, set_pin

    _refuse_early(inv, code)
    chosen = new_pin() if generate else ask_pin(f"New PIN of {code}", twice=True)
    with deed(inv, "PIN set") as done:
        set_pin(done.db, code, chosen)
        done.details.update(person=code)
    click.echo(f"The PIN of {code} is {chosen}" if generate else f"{code} has a new PIN.")


def _refuse_early(inv: Invocation, code: str) -> None:
    """Before anybody types a PIN: is there such a person, and may the caller set it?"""
    from panel.store.who import lead_or_first, person_by_code

    with closing(inv.open(readonly=True)) as store, store.read() as db:
        person_by_code(db, code)
        lead_or_first(db, inv.by, on=site_today(db, inv))


def ask_pin(question: str, *, twice: bool) -> str:
    """Ask for a PIN without showing it; from a pipe read one line."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    again = "The same again" if twice else False
    answer: str = click.prompt(question, hide_input=True, confirmation_prompt=again, err=True)
    return answer


@command.command(context_settings={"ignore_unknown_options": True})
@click.argument("code")
@click.argument("changes", nargs=-1, required=True, metavar="+ROLE|-ROLE...")
@pass_invocation
def role(inv: Invocation, code: str, changes: tuple[str, ...]) -> None:
    """Give (+lead) or take (-lead) roles of CODE: lead, pourer, assessor, blender."""
    from panel.store.people_queries import change_roles

    with deed(inv, "roles changed") as done:
        held = [kept.role.value for kept in change_roles(done.db, code, changes).roles]
        done.details.update(person=code, roles=held)
    click.echo(f"{code}: {', '.join(held) or 'no role'}.")


@command.command()
@click.argument("code")
@click.argument("left_on", metavar="DATE", callback=read_date)
@pass_invocation
def leave(inv: Invocation, code: str, left_on: date) -> None:
    """Record that CODE left on DATE. Scores stay; `erase` is another matter."""
    from panel.store.people_queries import record_leaving

    with deed(inv, "person left") as done:
        record_leaving(done.db, code, left_on)
        done.details.update(person=code, left_on=left_on.isoformat())
    click.echo(f"{code} left on {left_on}.")


@command.command()
@click.argument("code")
@click.option("--private", is_flag=True, help="Health-like facts too; asks for the lead's PIN.")
@pass_invocation
def export(inv: Invocation, code: str, private: bool) -> None:
    """Print all that is kept about CODE as one JSON document, for the person to have."""
    from panel.kinds import Role
    from panel.store.person_record import person_record
    from panel.store.pins import confirm_pin
    from panel.store.who import acting_person, lead_or_first

    if private:
        given = ask_pin("The lead's PIN", twice=False)
        with deed(inv, "private record given out") as done:
            confirm_pin(acting_person(done.db, inv.by, Role.LEAD, on=done.on), given)
            record = person_record(done.db, code, private=True)
            done.details.update(person=code)
    else:
        with closing(inv.open(readonly=True)) as store, store.read() as db:
            if inv.by != code:
                lead_or_first(db, inv.by, on=site_today(db, inv))
            record = person_record(db, code)
    emit_json(record)


@command.command()
@click.argument("code")
@click.option("--keep-scores", is_flag=True, help="Keep the scores under a pseudonym.")
@click.option("--yes", is_flag=True, help="Do not ask again.")
@json_option
@pass_invocation
def erase(inv: Invocation, code: str, keep_scores: bool, yes: bool, as_json: bool) -> None:
    """Erase CODE: name, PIN, roles, notes, and the scores unless --keep-scores is given."""
    from panel.store.erase import empty_write_ahead_log, erase_person

    _refuse_early(inv, code)
    if not yes:
        scores = "keep the scores under a pseudonym" if keep_scores else "delete the scores too"
        click.confirm(f"Erase {code} for good, and {scores}?", abort=True, err=True)
    with deed(inv, "person erased") as done:
        gone = erase_person(done.db, code, on=done.on, keep_scores=keep_scores)
        done.by = gone.pseudonym if done.by == code else done.by
        done.details.update(asdict(gone))
    with closing(inv.open()) as store:
        empty_write_ahead_log(store)
    if as_json:
        emit_json(gone)
    else:
        show_erasure(code, gone)


def show_erasure(code: str, gone: Erasure) -> None:
    """Say what went, what stays and what the house still has to do."""
    click.echo(f"{code} is erased: name, PIN, roles, code and {gone.notes_deleted} notes.")
    if gone.own_words_cleared:
        what = "are numbers now" if gone.scores_kept else "are gone too"
        click.echo(f"{gone.own_words_cleared} words of their own {what}.")
    if gone.scores_kept:
        click.echo(f"{gone.scores_kept:,} scores stay under {gone.pseudonym}.")
    if gone.scores_deleted:
        click.echo(f"{gone.scores_deleted:,} scores were deleted.")
    click.echo(f"{gone.log_entries_cleared} log entries were emptied; the chain still holds.")
    if gone.keys_no_longer_checkable:
        names = ", ".join(gone.keys_no_longer_checkable)
        click.echo(f"Keys that named their tray can no longer be checked again: {names}.")
    say("Backups and saved files made before still hold this person: delete those too.")
