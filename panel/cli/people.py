"""`oakpanel people`: PINs, roles, leaving, and what is kept about a person."""

from __future__ import annotations

import sys
from contextlib import closing
from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.completing import a_person
from panel.cli.documents import Erased, People
from panel.cli.forgetting import say_unfinished, say_waits, show_forgetting
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_date, writing_to
from panel.cli.proving import ask_pin

if TYPE_CHECKING:
    from panel.questions.people import PersonLine
    from panel.store.engine import Store


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
    from panel.words.people_words import past_lines

    with inv.reading() as db:
        today = inv.today(db)
        lines = people_lines(db, today=today)
        past = past_lines(lines)
        lines = [line for line in lines if everybody or not line.has_left(today)]
    if as_json:
        emit_json(People(tuple(lines)))
    elif lines:
        rows = [
            (
                line.code,
                " ".join(line.roles) or "-",
                "yes" if line.has_pin else "none",
                line.joined_on or "-",
                line.left_on or "-",
                _consent(line),
            )
            for line in lines
        ]
        click.echo(table(["code", "roles", "PIN", "joined", "left", "consent"], rows))
        for each in past:
            say(each)
    else:
        say("Nobody is recorded yet: `oakpanel people add CODE` or `oakpanel load assessors FILE`.")


def _consent(line: PersonLine) -> str:
    if line.consent is None:
        return "none"
    gone = line.consent.withdrawn_on
    return f"withdrawn {gone}" if gone else f"{line.consent.text_version}, {line.consent.given_on}"


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
    from panel.records.acts import Act
    from panel.records.people import add_person

    given, by = roles or ("assessor",), inv.proved(Act.ROLES)
    with inv.writing() as db:
        held = add_person(db, code, given, joined_on=joined_on, name=name, now=inv.now(), by=by)
    click.echo(f"{code} is recorded: {', '.join(held)}.")
    say(f"Next, a PIN: oakpanel people pin {code}")


@command.command()
@click.argument("code", shell_complete=a_person)
@click.option("--generate", is_flag=True, help="Make a PIN at random and show it once.")
@click.option(
    "--recover", is_flag=True, help="Without a lead's PIN, by who owns the file. The desk tells it."
)
@pass_invocation
def pin(inv: Invocation, code: str, generate: bool, recover: bool) -> None:
    """Give CODE a PIN of 4 to 12 digits: asked twice, never shown; from a pipe, one line."""
    from panel.records.acts import Act
    from panel.records.people import recover_pin, set_pin
    from panel.store.owning import refuse_stranger

    by = None if recover else inv.proved(Act.PINS, about=code)
    with closing(inv.open()) as store:
        _refuse_unknown(store, code)
        if recover:
            refuse_stranger(store)
            chosen = _new_pin(code, generate)
            recover_pin(store, code, chosen, at=inv.now())
            say("It was given past the leads: the log has it, and the desk tells it for 30 days.")
        else:
            chosen = _new_pin(code, generate)
            with writing_to(store) as db:
                set_pin(db, code, chosen, now=inv.now(), by=by)
    click.echo(f"The PIN of {code} is {chosen}" if generate else f"{code} has a new PIN.")


def _new_pin(code: str, generate: bool) -> str:
    from panel.store.pins import new_pin

    return new_pin() if generate else ask_pin(f"New PIN of {code}", twice=True)


def _refuse_unknown(store: Store, code: str) -> None:
    """Before anybody types more: is there such a person?"""
    from panel.store.who import person_by_code

    with store.read() as db:
        person_by_code(db, code)


@command.command()
@click.argument("code", required=False, shell_complete=a_person)
@pass_invocation
def lock(inv: Invocation, code: str | None) -> None:
    """End the hour in which this account need not type a PIN again; with CODE, theirs anywhere."""
    from panel.records.proving import lock as end
    from panel.words.people_words import passes_words

    with closing(inv.open()) as store:
        ended = end(store, code, now=inv.now())
    click.echo(passes_words(ended))


@command.command(context_settings={"ignore_unknown_options": True})
@click.argument("code", shell_complete=a_person)
@click.argument("changes", nargs=-1, required=True, metavar="+ROLE|-ROLE...")
@pass_invocation
def role(inv: Invocation, code: str, changes: tuple[str, ...]) -> None:
    """Give (+lead) or take (-lead) roles of CODE: lead, pourer, assessor, blender."""
    from panel.records.acts import Act
    from panel.records.people import change_roles

    by = inv.proved(Act.ROLES)
    with inv.writing() as db:
        held = change_roles(db, code, changes, now=inv.now(), by=by)
    click.echo(f"{code}: {', '.join(held) or 'no role'}.")


@command.command()
@click.argument("code", shell_complete=a_person)
@click.argument("left_on", metavar="DATE", callback=read_date)
@pass_invocation
def leave(inv: Invocation, code: str, left_on: date) -> None:
    """Record that CODE left on DATE. Scores stay; `erase` is another matter."""
    from panel.records.acts import Act
    from panel.records.people import record_leaving

    by = inv.proved(Act.ROLES)
    with inv.writing() as db:
        record_leaving(db, code, left_on, now=inv.now(), by=by)
    click.echo(f"{code} left on {left_on}.")


@command.command()
@click.argument("code", shell_complete=a_person)
@click.option("--text", metavar="VERSION", help="Of your text; else the setting consent_text.")
@click.option("--given-on", callback=read_date, metavar="DATE", help="Else today.")
@click.option("--keep-scores", is_flag=True, help="Scores may stay under a pseudonym, if erased.")
@json_option
@pass_invocation
def consent(
    inv: Invocation,
    code: str,
    text: str | None,
    given_on: date | None,
    keep_scores: bool,
    as_json: bool,
) -> None:
    """Record that CODE consented, on a day, to a version of the house's text."""
    from panel.records.acts import Act
    from panel.records.consents import give_consent

    by = inv.proved(Act.CONSENT, about=code)
    with inv.writing() as db:
        given = give_consent(
            *(db, code),
            text_version=text,
            keeps_scores=keep_scores,
            given_on=given_on,
            now=inv.now(),
            by=by,
        )
    if as_json:
        emit_json(given)
    else:
        click.echo(f"{code} consented on {given.given_on} to text {given.text_version}.")


@command.command()
@click.argument("code", shell_complete=a_person)
@json_option
@pass_invocation
def withdraw(inv: Invocation, code: str, as_json: bool) -> None:
    """Withdraw the consent of CODE: out of every draft, and planned into nothing from here on.

    What is kept about them stays until `people erase`, which is said with it.
    """
    from panel.records.acts import Act
    from panel.records.consents import withdraw_consent
    from panel.words.people_words import withdrawn_lines

    by = inv.proved(Act.CONSENT, about=code)
    with inv.writing() as db:
        done = withdraw_consent(db, code, now=inv.now(), by=by)
    if as_json:
        emit_json(done)
    else:
        click.echo("\n".join(withdrawn_lines(done)))


@command.command()
@click.argument("code", shell_complete=a_person)
@click.option("--private", is_flag=True, help="Health-like facts too; asks for the lead's PIN.")
@pass_invocation
def export(inv: Invocation, code: str, private: bool) -> None:
    """Print all that is kept about CODE as one JSON document, for the person to have."""
    from panel.records.acts import Act
    from panel.records.people import give_out_private
    from panel.store.person_record import person_record

    by = inv.proved(Act.PRIVATE if private else Act.EXPORT, about=code)
    if private:
        with inv.writing() as db:
            record = give_out_private(db, code, now=inv.now(), by=by)
    else:
        with inv.reading() as db:
            record = person_record(db, code)
    emit_json(record)


@command.command()
@click.argument("code", shell_complete=a_person)
@click.option("--keep-scores", is_flag=True, help="Keep the scores under a pseudonym.")
@click.option("--yes", is_flag=True, help="Do not ask again.")
@json_option
@pass_invocation
def erase(inv: Invocation, code: str, keep_scores: bool, yes: bool, as_json: bool) -> None:
    """Erase CODE: name, PIN, roles, notes, and the scores unless --keep-scores is given.

    The file is written anew then, so that nothing of it is left in it. While others hold the file
    that waits half a minute; ends with 1 if it could not be, and `oakpanel db forget` finishes it.
    """
    from panel.records.acts import Act
    from panel.records.forgetting import erase_and_overwrite
    from panel.words.erasure_words import erasure_lines

    by = inv.proved(Act.ERASE)
    with closing(inv.open()) as store:
        _refuse_unknown(store, code)
    if not yes:
        scores = "keep the scores under a pseudonym" if keep_scores else "delete the scores too"
        click.confirm(f"Erase {code} for good, and {scores}?", abort=True, err=True)
    with closing(inv.open()) as store:
        gone, done = erase_and_overwrite(
            store, code, keep_scores=keep_scores, now=inv.now(), by=by, tell=say_waits
        )
    if as_json:
        emit_json(Erased(gone, done))
    else:
        click.echo("\n".join(erasure_lines(code, gone)))
        show_forgetting(done)
    if not done.overwritten:
        say_unfinished(done)
        sys.exit(1)
