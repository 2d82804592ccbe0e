"""`oakpanel profile`: what each cask is like, over all sessions."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.completing import a_cask, a_person
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.later import tell_later
from panel.cli.looking import confirm_lead, confirm_own
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.told_again import ProfileTold

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.questions.asked_profile import AskedProfile
    from panel.store.engine import Session


@click.command("profile")
@click.argument("samples", nargs=-1, metavar="[SAMPLE|CASK ...]", shell_complete=a_cask)
@click.option(
    "--assessor",
    metavar="CODE",
    help="How one assessor uses the line instead; asks their PIN, or a lead's.",
    shell_complete=a_person,
)
@click.option(
    "--private",
    is_flag=True,
    help="Add how everybody uses the line, by their codes; asks a lead's PIN.",
)
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    samples: tuple[str, ...],
    assessor: str | None,
    private: bool,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Show what each sample is like: the mean score the panel would be expected to give.

    A cask that nobody nosed is foretold from its wood, fill, age and peat, and says so. --picture
    draws what is alike in the store: all casks, or those named.
    """
    from panel.questions.asked_profile import asked_profile
    from panel.questions.sessions import held_later

    check_picture(picture, as_json=as_json)
    if picture is not None and (assessor is not None or private):
        raise click.UsageError("--picture draws casks, not how people use the line.")
    if private:
        confirm_lead(inv, "profile")
    elif assessor is not None:
        confirm_own(inv, assessor)
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        asked = asked_profile(db, samples, as_of=day)
        drawn = _alike(db, asked, day) if picture else ()
        later = held_later(db, day)
    if drawn_here(picture, drawn):
        return
    if as_json:
        told = _with_people(asked, assessor) if private or assessor else asked
        emit_json(ProfileTold(told, later))
    else:
        click.echo("\n".join(_lines(asked, samples, assessor, private=private)))
        tell_later(later, day)


def _with_people(asked: AskedProfile, assessor: str | None) -> AskedProfile:
    from panel.questions.asked_profile import assessor_rows

    return replace(asked, people=assessor_rows(asked.profile, assessor))


def _lines(
    asked: AskedProfile, samples: tuple[str, ...], assessor: str | None, *, private: bool
) -> list[str]:
    from panel.words.line_words import assessor_lines, everybody_lines
    from panel.words.profile_words import asked_lines, list_lines

    if assessor is not None:
        return assessor_lines(asked.profile, assessor)
    lines = asked_lines(asked) if samples else list_lines(asked)
    return [*lines, "", *everybody_lines(asked.profile)] if private else lines


def _alike(db: Session, asked: AskedProfile, day: date) -> tuple[Picture, ...]:
    from panel.pictures.casks import alike_casks, alike_in_house

    if asked.named:
        found = alike_casks(asked.profile, set(asked.rows["sample"].astype(str)))
    else:
        found = alike_in_house(db, asked.profile, as_of=day)
    return () if found is None else (found,)
