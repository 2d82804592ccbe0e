"""`oakpanel session`: plan, seal, pour, open, watch, close and reveal an evening of glasses."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from panel.cli.answers import emit_json, folded, say, table
from panel.cli.completing import a_note, a_person, a_session
from panel.cli.documents import Sessions
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_near_date
from panel.cli.kinds import BY_COMMAND, kind_asked, kind_options, naming_options
from panel.cli.number import NUMBER
from panel.cli.session_acting import leading, shown
from panel.cli.session_elsewhere import away, join, pack, recall, return_, unpack
from panel.cli.session_key import key
from panel.cli.session_marks import clear, mark
from panel.cli.session_next import next_
from panel.cli.session_passing import passing_asked, passing_options
from panel.cli.session_power import power
from panel.cli.session_seats import seats
from panel.cli.session_show import show
from panel.cli.session_steps import calls, close, drop, open_, reopen, reveal
from panel.cli.session_trays import assigned_in, in_what_order, tray_options
from panel.cli.session_words import words


@click.group()
def command() -> None:
    """Plan, seal, pour, open, close and reveal a session."""


@command.command()
@click.argument("name")
@click.option("--draw", "draws", multiple=True, metavar="LABEL", help="A draw to nose; repeat it.")
@click.option(
    "--assessor",
    "assessors",
    multiple=True,
    metavar="CODE",
    help="Repeat it.",
    shell_complete=a_person,
)
@click.option("--all-assessors", is_flag=True, help="Everybody who assesses on that date.")
@click.option(
    "--descriptor",
    "descriptors",
    multiple=True,
    metavar="NAME",
    help="Repeat it.",
    shell_complete=a_note,
)
@click.option("--lexicon", type=click.Choice(["all"]), help="Every descriptor that fits.")
@kind_options
@naming_options
@click.option(
    "--most-words", type=int, metavar="N", help="Own words each at most; else the house's."
)
@click.option(
    "--reference",
    metavar="LABEL",
    help="A hidden one in every flight; of --like-the-first: always the marked one.",
)
@click.option(
    "--duplicate",
    "duplicates",
    multiple=True,
    default=("auto",),
    show_default=True,
    metavar="auto|LABEL|none",
    help="A draw poured once more; repeat it.",
)
@click.option("--warm-up", metavar="LABEL", help="A declared glass first; its score is not used.")
@click.option(
    "--replicates",
    type=int,
    default=1,
    show_default=True,
    help="Glasses of each draw; of pairs, threes, fours and rankings: sets each.",
)
@click.option(
    "--alike-within",
    type=NUMBER,
    metavar="DPRIME",
    help="Two draws are called alike only within this d-prime.",
)
@click.option(
    "--stronger",
    metavar="LABEL",
    help="Of a pair: the draw that is expected to have more; else either may.",
)
@click.option("--held-on", callback=read_near_date, metavar="DATE", help="Else today.")
@tray_options
@passing_options
@click.option("--site", help="Where it is held.")
@click.option("--taste", is_flag=True, help="Glasses are tasted too; else only nosed.")
@click.option("--no-going-back", is_flag=True, help="A finished glass is finished.")
@click.option("--codes-per-assessor", is_flag=True, help="Every tray has codes of its own.")
@click.option("--pause", "pause_s", type=int, metavar="SECONDS", help="Else by the peat.")
@click.option("--pour", "pour_ml", type=NUMBER, metavar="ML", help="Else the house's.")
@click.option("--nosing-abv", type=NUMBER, metavar="PERCENT", help="Else the house's.")
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
    kind: str | None,
    duplicates: tuple[str, ...],
    held_on: date | None,
    assigned_file: Path | None,
    peat: str | None,
    assessors: tuple[str, ...],
    descriptors: tuple[str, ...],
    parcel: str | None,
    casks: int | None,
    again_of: str | None,
    told: str | None,
    stages: tuple[str, ...],
    **asked: Any,
) -> None:
    """Write a draft NAME. Everything that speaks against it is said at once."""
    from panel.kinds import Manner
    from panel.session.plan import SessionPlan, lexicon_names, plan_session
    from panel.store.house import today_at_site
    from panel.store.training import assessors_for

    if all_assessors and assessors:
        raise click.UsageError("Give --assessor or --all-assessors, not both.")
    if lexicon and descriptors:
        raise click.UsageError("Give --descriptor or --lexicon all, not both.")
    wanted_kind = kind_asked(kind, stages)
    if wanted_kind.facts.own_lines and (lexicon or descriptors):
        flag = BY_COMMAND[wanted_kind].flag
        raise click.UsageError(f"Give {flag} or descriptors of the lexicon, not both.")
    manner = Manner.TASTE if taste else Manner.NOSE
    with leading(inv) as acting:
        on = held_on or today_at_site(acting.db, inv.now())
        if all_assessors:
            there = assessors_for(acting.db, wanted_kind.facts, on)
            assessors = tuple(who.code for who in there)
        wanted = SessionPlan(
            assessors=assessors,
            descriptors=lexicon_names(acting.db, manner, on) if lexicon else descriptors,
            duplicates=tuple(label for label in duplicates if label != "none"),
            manner=manner,
            may_go_back=not no_going_back,
            held_on=on,
            kind=wanted_kind,
            stages=stages,
            assigned=assigned_in(assigned_file),
            peat=in_what_order(peat),
            passing=passing_asked(wanted_kind, parcel, casks, again_of, told),
            **asked,
        )
        summary = plan_session(acting.db, wanted, now=inv.now(), by=acting.by)
    summary = summary.as_told_for(wanted)
    if as_json:
        if summary.replaces is not None:
            say(summary.replaces)
        emit_json(summary)
        return
    click.echo(folded(summary.lines()))
    say(f"Next: oakpanel session seal {shown(wanted.name)}")


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List all sessions, newest first."""
    from panel.session.listed import list_sessions

    with inv.reading() as db:
        lines = list_sessions(db)
    if as_json:
        emit_json(Sessions(tuple(lines)))
    elif lines:
        headings = ["session", "held on", "stage", "assessors", "glasses", "kept", ""]
        rows = [
            (
                line.name,
                line.held_on or "-",
                line.status,
                line.n_assessors,
                line.n_glasses,
                line.n_kept,
                line.remarks(),
            )
            for line in lines
        ]
        click.echo(table(headings, rows))
    else:
        say("There is no session yet: `oakpanel session plan NAME ...` or `oakpanel load scores`.")


@command.command()
@click.argument("name", shell_complete=a_session)
@json_option
@pass_invocation
def seal(inv: Invocation, name: str, as_json: bool) -> None:
    """Fix the codes, orders and key of NAME before a glass is poured."""
    from panel.records.acts import Act
    from panel.session.seal import seal_session

    with leading(inv, Act.SEAL) as acting:
        sealed = seal_session(acting.db, name, now=inv.now(), by=acting.by)
    if as_json:
        emit_json(sealed)
        return
    click.echo(f"Session {name} is sealed.")
    click.echo(f"Key SHA-256  {sealed.key_hash}")
    click.echo(f"Log head     {sealed.log_head}")
    say(
        "Both stand on the pour sheet too; a copy on paper is what makes a changed key show. "
        f"Next: oakpanel session sheets {shown(name)}"
    )


@command.command()
@click.argument("name", shell_complete=a_session)
@click.argument(
    "which",
    type=click.Choice(
        [
            *("both", "pour", "trays", "day", "ballots", "bottles", "draws", "labels", "mats"),
            "carriage",
        ]
    ),
    default="both",
)
@click.option("--out", type=click.Path(path_type=Path), help="Write a new file only you can read.")
@click.option("--insist", is_flag=True, help="Print the key although it costs blindness.")
@click.option(
    "--labels",
    type=click.Choice(["3x8", "3x7", "4x10", "5x13"]),
    default="3x8",
    show_default=True,
    help="Columns and rows of a sheet of labels.",
)
@json_option
@pass_invocation
def sheets(
    inv: Invocation,
    name: str,
    which: str,
    out: Path | None,
    insist: bool,
    labels: str,
    as_json: bool,
) -> None:
    """Print the pour sheet (which tells the key) and the tray labels of NAME.

    `bottles`: the pour sheet by bottle, in grams. `day`: one page with what to weigh, when to pour,
    seats and breaks. It names no draw, yet grams tell strengths: both are for whoever pours.
    `ballots`: one page an assessor to answer on paper. `draws`: casks in walking order, of a draft
    too. `labels` and `mats` are pages for a browser to print: codes three digits large.
    `carriage` goes with the bottles of a pack to another site; it names no draw.
    """
    from panel.cli.session_sheets import print_sheets

    printed = print_sheets(inv, name, which, out=out, insist=insist, labels=labels)
    if as_json:
        emit_json(printed)
    elif out is None:
        click.echo(printed.text, nl=False)
    else:
        click.echo(f"Written to {out}; only you can read it.")
    for cost in printed.costs:
        say(cost)


STEPS = (
    *(next_, power, show, drop, seats, open_, close, reopen, reveal),
    *(mark, clear, calls, words, key),
    *(pack, unpack, return_, join, away, recall),
)
for step in STEPS:
    command.add_command(step)
