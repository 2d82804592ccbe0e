"""`oakpanel people`: PINs, roles, leaving, and what is kept about a person."""

from __future__ import annotations

import sys
from contextlib import closing
from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.forgetting import finish, say_unfinished, show_forgetting
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_date, writing_to
from panel.questions.plain_values import plain_values

if TYPE_CHECKING:
    from panel.records.erase import Erasure


@click.group()
def command() -> None:
    """PINs, roles and leaving; what is kept about a person, and its erasure."""


@command.command("list")
@click.option("--all", "everybody", is_flag=True, help="Also who has left or was erased.")
@json_option
@pass_invocation
def list_people(inv: Invocation, everybody: bool, as_json: bool) -> None:
    """List codes and roles. Names stay out, and so do PINs."""
    from panel.questions.people import people_lines

    with inv.reading() as db:
        lines = people_lines(db, there_on=None if everybody else inv.today(db))
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
    from panel.records.people import add_person

    given = roles or ("assessor",)
    with inv.writing() as db:
        held = add_person(db, code, given, joined_on=joined_on, name=name, now=inv.now(), by=inv.by)
    click.echo(f"{code} is recorded: {', '.join(held)}.")
    say(f"Next, a PIN: oakpanel people pin {code}")


@command.command()
@click.argument("code")
@click.option("--generate", is_flag=True, help="Make a PIN at random and show it once.")
@pass_invocation
def pin(inv: Invocation, code: str, generate: bool) -> None:
    """Give CODE a PIN of 4 to 12 digits: asked twice, never shown; from a pipe, one line."""
    from panel.records.people import set_pin
    from panel.store.pins import new_pin

    _refuse_early(inv, code)
    chosen = new_pin() if generate else ask_pin(f"New PIN of {code}", twice=True)
    with inv.writing() as db:
        set_pin(db, code, chosen, now=inv.now(), by=inv.by)
    click.echo(f"The PIN of {code} is {chosen}" if generate else f"{code} has a new PIN.")


def _refuse_early(inv: Invocation, code: str) -> None:
    """Before anybody types a PIN: is there such a person, and may the caller set it?"""
    from panel.store.who import lead_or_first, person_by_code

    with inv.reading() as db:
        person_by_code(db, code)
        lead_or_first(db, inv.by, on=inv.today(db))


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
    from panel.records.people import change_roles

    with inv.writing() as db:
        held = change_roles(db, code, changes, now=inv.now(), by=inv.by)
    click.echo(f"{code}: {', '.join(held) or 'no role'}.")


@command.command()
@click.argument("code")
@click.argument("left_on", metavar="DATE", callback=read_date)
@pass_invocation
def leave(inv: Invocation, code: str, left_on: date) -> None:
    """Record that CODE left on DATE. Scores stay; `erase` is another matter."""
    from panel.records.people import record_leaving

    with inv.writing() as db:
        record_leaving(db, code, left_on, now=inv.now(), by=inv.by)
    click.echo(f"{code} left on {left_on}.")


@command.command()
@click.argument("code")
@click.option("--private", is_flag=True, help="Health-like facts too; asks for the lead's PIN.")
@pass_invocation
def export(inv: Invocation, code: str, private: bool) -> None:
    """Print all that is kept about CODE as one JSON document, for the person to have."""
    from panel.records.people import give_out_private
    from panel.session.gate import prove_lead
    from panel.store.person_record import person_record
    from panel.store.who import lead_or_first

    if private:
        given = ask_pin("The lead's PIN", twice=False)
        with closing(inv.open()) as store:
            prove_lead(store, inv.by, given, now=inv.now())
            with writing_to(store) as db:
                record = give_out_private(db, code, now=inv.now(), by=inv.by)
    else:
        with inv.reading() as db:
            if inv.by != code:
                lead_or_first(db, inv.by, on=inv.today(db))
            record = person_record(db, code)
    emit_json(record)


@command.command()
@click.argument("code")
@click.option("--keep-scores", is_flag=True, help="Keep the scores under a pseudonym.")
@click.option("--yes", is_flag=True, help="Do not ask again.")
@json_option
@pass_invocation
def erase(inv: Invocation, code: str, keep_scores: bool, yes: bool, as_json: bool) -> None:
    """Erase CODE: name, PIN, roles, notes, and the scores unless --keep-scores is given.

    The file is written anew then, so that nothing of it is left in it. While others hold the file
    that waits half a minute; ends with 1 if it could not be, and `oakpanel db forget` finishes it.
    """
    from panel.records.erase import erase_person
    from panel.store.erasing import marked, need_room

    _refuse_early(inv, code)
    if not yes:
        scores = "keep the scores under a pseudonym" if keep_scores else "delete the scores too"
        click.confirm(f"Erase {code} for good, and {scores}?", abort=True, err=True)
    with closing(inv.open()) as store:
        need_room(store)
        with marked(store, inv.now()), writing_to(store) as db:
            gone = erase_person(db, code, keep_scores=keep_scores, now=inv.now(), by=inv.by)
        done = finish(store)
    if as_json:
        emit_json({**plain_values(gone), **plain_values(done)})
    else:
        show_erasure(code, gone)
        show_forgetting(done)
    if not done.overwritten:
        say_unfinished(done)
        sys.exit(1)


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
    if gone.releases_no_longer_checkable:
        names = ", ".join(gone.releases_no_longer_checkable)
        click.echo(f"Figures that named them differ now from those that were signed: {names}.")
    for said in gone.still_named:
        click.echo(f"Holds the word still, change it if it means them: {said}")
