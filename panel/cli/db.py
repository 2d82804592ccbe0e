"""`oakpanel db`: make, upgrade, check and back up the database."""

from __future__ import annotations

import sys
from contextlib import closing
from pathlib import Path

import click

from panel.cli.answers import emit_json, say, tell
from panel.cli.documents import DatabaseMade
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.figures import in_digits


@click.group()
def command() -> None:
    """Make, upgrade, check and back up the database."""


@command.command()
@click.option("--lead", metavar="CODE", help="The first lead, who types a PIN; else --pin-file.")
@json_option
@pass_invocation
def init(inv: Invocation, lead: str | None, as_json: bool) -> None:
    """Make a new, empty database; at a terminal its first lead is asked for, and their PIN."""
    from panel.cli.proving import at_terminal, first_pin
    from panel.records.founding import Founding, found_house
    from panel.store.faults import shown
    from panel.store.opening import make_database
    from panel.store.revisions import HEAD

    if lead is None and at_terminal():
        lead = click.prompt(ASK_LEAD, default="", show_default=False, err=True).strip() or None
    pin = None if lead is None else first_pin(inv, lead)
    with closing(make_database(inv.named)) as store:
        if lead is not None:
            found_house(store, Founding(lead, pin), now=inv.now())
    if as_json:
        emit_json(DatabaseMade(shown(store.url), HEAD))
        return
    click.echo(f"Made {shown(store.url)}.")
    if lead is not None and pin is None:
        say(f"{lead} leads and has no PIN yet: `oakpanel people pin {lead}`.")
    elif lead is None:
        say("Nobody leads it yet, so that nobody is asked for a PIN.")
    say("Next: `oakpanel load makes FILE`, casks, lexicon, assessors; or `oakpanel people add`.")


ASK_LEAD = "Code of who leads the panel (empty: later)"


@command.command()
@json_option
@pass_invocation
def upgrade(inv: Invocation, as_json: bool) -> None:
    """Bring an older database up to this version, after a backup.

    Not while a session is open: booths would save in the form of before. A booth that runs all the
    same says so at its next score, and keeps nothing until it is started anew.
    """
    from panel.store.upgrading import upgrade_database

    done = upgrade_database(inv.named, now=inv.now())
    if as_json:
        emit_json(done)
    else:
        click.echo(done.sentence())


def read_head(_ctx: click.Context, _param: click.Parameter, value: str | None) -> str | None:
    """Read the first digits of a head of the log, as sheets print it."""
    from panel.errors import EntriesAtFault
    from panel.questions.checked import read_head as read

    try:
        return None if value is None else read(value)
    except EntriesAtFault as error:
        raise click.BadParameter(str(error)) from None


@command.command()
@click.option(
    "--head", callback=read_head, metavar="HASH", help="A head of the log once printed, 12+ digits."
)
@click.option("--seen-anew", is_flag=True, help="A backup was put back on purpose: begin anew.")
@click.option("--fits", is_flag=True, help="Reckon what is kept of the fit anew, and compare.")
@json_option
@pass_invocation
def check(inv: Invocation, head: str | None, seen_anew: bool, fits: bool, as_json: bool) -> None:
    """Say whether the database is whole and its records those of the log. Exit 1 on a fault.

    What was written past the program is found from the database alone, unless the log was rewritten
    with it; then by a head that was printed (--head), or the last one that this account saw.
    """
    from panel.questions.checked import checked, examination_lines
    from panel.store.examine import Level

    with closing(inv.open(readonly=True)) as store:
        found = checked(store, head, seen_anew=seen_anew, fits=fits)
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(examination_lines(found)))
    if found.worst is Level.FAULT:
        sys.exit(1)


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@json_option
@pass_invocation
def backup(inv: Invocation, file: Path, as_json: bool) -> None:
    """Copy the database into the new FILE while it is in use, and check the copy."""
    from panel.store.backup import back_up

    done = back_up(inv.named, file.absolute())
    if as_json:
        emit_json(done)
    else:
        click.echo(
            f"Copied to {done.copy} ({in_digits(done.size_bytes / 2**20, ',.1f')} MiB); the "
            "copy is whole."
        )
        say("It holds the key and people's names as the database does: keep it as carefully.")


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Do not ask again.")
@json_option
@pass_invocation
def restore(inv: Invocation, file: Path, yes: bool, as_json: bool) -> None:
    """Put the backup FILE in the database's place; what is there is kept beside it.

    Not while anybody has the database open. Says which scores have to be keyed again.
    """
    from panel.records.restore import look_at
    from panel.records.restore import restore as put_back
    from panel.words.restored_words import restored_lines

    by = _who_restores(inv)
    look_at(inv.named, file.absolute(), now=inv.now(), by=by)
    if not yes:
        click.confirm(f"Put {file} in the place of the database?", abort=True, err=True)
    done = put_back(inv.named, file.absolute(), now=inv.now(), by=by)
    if as_json:
        emit_json(done)
    else:
        for line in restored_lines(done):
            say(line.text) if line.aside else click.echo(line.text)


def _who_restores(inv: Invocation) -> str | None:
    """Return who acts: proved, as long as the database that is to go can still be asked.

    Of a damaged or missing one nobody can be asked; whoever owns its files may replace them.
    """
    from panel.errors import DatabaseLocked, DatabaseReadOnly, StoreError
    from panel.records.acts import Act

    try:
        return inv.proved(Act.RESTORE)
    except (DatabaseLocked, DatabaseReadOnly):
        raise
    except StoreError:
        return inv.by


@command.command()
@json_option
@pass_invocation
def forget(inv: Invocation, as_json: bool) -> None:
    """Overwrite what was erased: finishes an erasure that others held up. Exit 1 if they still do.

    What is kept of answers for the next command is deleted too. The file is written anew, which
    takes twice its size in room for the time being.
    """
    from panel.cli.forgetting import say_unfinished, say_waits, show_forgetting
    from panel.records.forgetting import forget as overwrite

    with closing(inv.open()) as store:
        done = overwrite(store, say_waits)
    if as_json:
        emit_json(done)
    else:
        show_forgetting(done)
    if not done.overwritten:
        say_unfinished(done)
        sys.exit(1)


@command.command("booth-role")
@click.argument("name")
@click.option("--new-password", is_flag=True, help="Change the password of a user there is.")
@json_option
@pass_invocation
def booth_role(inv: Invocation, name: str, new_password: bool, as_json: bool) -> None:
    """Make (or mend) the booths' own user NAME on PostgreSQL, who cannot read the key."""
    from panel.store.booth_role import make_booth_role

    with closing(inv.open()) as store:
        made = make_booth_role(store, name, new_password=new_password)
    if as_json:
        emit_json(made)
        return
    click.echo(made.url)
    if made.password is None:
        say(f"{name} was there; its rights are as they should be. Its password stays.")
    else:
        say(
            "Start booths with this URL in OAKPANEL_DB: on a command line every account of the "
            "machine could read the password. It is shown this once."
        )
