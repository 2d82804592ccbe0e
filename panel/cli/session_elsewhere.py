"""`oakpanel session pack, unpack, return, join, away, recall`: seats nosed at another site."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click

from panel.cli.answers import emit_json, say
from panel.cli.completing import a_person, a_session
from panel.cli.invocation import Invocation, json_option, pass_invocation, writing_to
from panel.cli.number import NUMBER
from panel.cli.session_acting import leading, shown
from panel.figures import in_digits
from panel.words.elsewhere_words import (
    NO_WAY_BACK,
    away_lines,
    joined_lines,
    opened_lines,
    packed_lines,
)

A_FILE = click.Path(path_type=Path)


@click.command()
@click.argument("name", shell_complete=a_session)
@click.argument("file", type=A_FILE)
@click.option("--to", "site", required=True, metavar="SITE", help="The other site.")
@click.option("--water", required=True, help="Which water, so that they take the same there.")
@click.option(
    "--assessor",
    "assessors",
    multiple=True,
    metavar="CODE",
    help="Who sits there; repeat it. Else all.",
    shell_complete=a_person,
)
@json_option
@pass_invocation
def pack(
    inv: Invocation,
    name: str,
    file: Path,
    site: str,
    water: str,
    assessors: tuple[str, ...],
    as_json: bool,
) -> None:
    """Write seats of the sealed NAME into the new FILE for another site: no key, no PIN.

    What is sent is noted by mL and litres of pure alcohol; `session sheets NAME carriage` goes
    with the bottles.
    """
    from panel.records.acts import Act
    from panel.session.elsewhere.packing import pack_session
    from panel.session.paper import write_private

    with leading(inv, Act.PACK) as acting:
        made = pack_session(
            *(acting.db, name, assessors), site=site, water=water, now=inv.now(), by=acting.by
        )
        write_private(file, made.contents)
    if as_json:
        emit_json(made)
        return
    click.echo("\n".join(packed_lines(made)))
    say(f"Next: oakpanel session sheets {shown(name)} carriage. Send file and sheet apart.")


@click.command()
@click.argument("file", type=A_FILE)
@click.option(
    "--received", type=NUMBER, required=True, metavar="ML", help="What arrived, all bottles."
)
@click.option("--lead", metavar="CODE", help="Who leads at this site, in a new database.")
@click.option("--hash", "digits", metavar="HASH", help="12+ digits of it, from the sheet.")
@json_option
@pass_invocation
def unpack(
    inv: Invocation,
    file: Path,
    received: float,
    lead: str | None,
    digits: str | None,
    as_json: bool,
) -> None:
    """Open the pack FILE at another site, in a database of its own (--db).

    A new database is made where there is none. PINs are chosen here: `people pin CODE`.
    """
    from panel.cli.proving import first_pin
    from panel.errors import NoDatabase
    from panel.records.acts import Act
    from panel.records.people import set_pin
    from panel.session.elsewhere.opening import check_new, open_pack
    from panel.session.elsewhere.sealed_file import check_digits, read_pack
    from panel.store.opening import make_database

    read = read_pack(file)
    check_digits(read, digits)
    pin = None
    try:
        store = inv.open()
    except NoDatabase:
        check_new(read.body, received, lead, inv.now())
        pin = first_pin(inv, lead) if lead else None
        store = make_database(inv.named)
    with closing(store):
        by = inv.proved(Act.UNPACK) if lead is None else None
        with writing_to(store) as db:
            done = open_pack(db, read, received_ml=received, now=inv.now(), by=by, lead=lead)
        if lead is not None and pin is not None:
            with writing_to(store) as db:
                set_pin(db, lead, pin, now=inv.now(), by=lead)
    if as_json:
        emit_json(done)
        return
    click.echo("\n".join(opened_lines(done)))
    say(f"Next: `oakpanel people pin CODE`, then oakpanel session open {shown(done.session)}")


@click.command("return")
@click.argument("name", shell_complete=a_session)
@click.argument("file", type=A_FILE)
@click.option(
    "--destroyed", type=NUMBER, metavar="ML", help="Leftovers and glasses poured away, all."
)
@json_option
@pass_invocation
def return_(inv: Invocation, name: str, file: Path, destroyed: float | None, as_json: bool) -> None:
    """Write what was said in the closed NAME, which came in a pack, into the new FILE for home."""
    from panel.records.acts import Act
    from panel.session.elsewhere.returning import return_session
    from panel.session.paper import write_private

    with leading(inv, Act.RETURN) as acting:
        done = return_session(acting.db, name, destroyed_ml=destroyed, now=inv.now(), by=acting.by)
        write_private(file, done.contents)
    if as_json:
        emit_json(done)
        return
    click.echo(
        f"{done.finished} of {done.glasses} glasses are finished. Destroyed: "
        f"{in_digits(done.destroyed_ml, 'g')} mL, "
        f"{in_digits(done.destroyed_lpa, '.4f')} L of pure alcohol."
    )
    say(f"Written to {file}: it holds people's scores. At home: oakpanel session join FILE")


@click.command()
@click.argument("file", type=A_FILE)
@click.option(
    "--without",
    multiple=True,
    metavar="CODE",
    help="Who sat down here as well: what they scored here stands.",
    shell_complete=a_person,
)
@json_option
@pass_invocation
def join(inv: Invocation, file: Path, without: tuple[str, ...], as_json: bool) -> None:
    """Join the return FILE from another site, all of it or nothing; only once."""
    from panel.records.acts import Act
    from panel.session.elsewhere.joining import join_return
    from panel.session.elsewhere.sealed_file import read_return

    with leading(inv, Act.JOIN) as acting:
        done = join_return(
            acting.db, read_return(file), without=without, now=inv.now(), by=acting.by
        )
    if as_json:
        emit_json(done)
        return
    click.echo("\n".join(joined_lines(done)))


@click.command()
@click.argument("name", shell_complete=a_session)
@json_option
@pass_invocation
def away(inv: Invocation, name: str, as_json: bool) -> None:
    """List which seats of NAME are at which other site, and what became of the spirit."""
    from panel.session.elsewhere.recalled import session_away

    with inv.reading() as db:
        found = session_away(db, name)
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(away_lines(found)))


@click.command()
@click.argument("name", shell_complete=a_session)
@click.argument("site")
@click.option("--reason", required=True, help="Why; kept.")
@click.option("--yes", is_flag=True, help="Do not ask again.")
@json_option
@pass_invocation
def recall(inv: Invocation, name: str, site: str, reason: str, yes: bool, as_json: bool) -> None:
    """Give up what is away at SITE for good: its return is refused, seats may be scored here."""
    from panel.records.acts import Act
    from panel.session.elsewhere.recalled import recall_pack

    if not yes:
        say(NO_WAY_BACK)
        click.confirm(f"Call back what of {name} is at {site}?", abort=True, err=True)
    with leading(inv, Act.PACK) as acting:
        found = recall_pack(acting.db, name, site, reason=reason, now=inv.now(), by=acting.by)
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(away_lines(found)))
