"""`oakpanel training`: who is in training, on what, how far, and taking them in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, folded, say, tell
from panel.cli.completing import a_person
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_date,
)
from panel.cli.pictured import check_picture, drawn_here, picture_option

if TYPE_CHECKING:
    from panel.questions.training import KnownSample, TrainingLine


@dataclass(frozen=True)
class TrainingsTold:
    """Who is or was in training."""

    trainings: tuple[TrainingLine, ...]


@dataclass(frozen=True)
class KnownTold:
    """What an exercise can be poured from."""

    samples: tuple[KnownSample, ...]


@click.group("training")
def command() -> None:
    """People in training: what they score counts for nothing until the lead takes them in.

    An exercise is an ordinary session of samples that the panel knows (`training known`): the
    person sits in it alone or beside the panel, and is held against the panel's own values.
    """


@command.command("begin")
@click.argument("code", shell_complete=a_person)
@click.option("--on", "begun_on", callback=read_date, metavar="DATE", help="Else today.")
@json_option
@pass_invocation
def begin(inv: Invocation, code: str, begun_on: date | None, as_json: bool) -> None:
    """Put CODE into training: what they score from that day on counts for nothing."""
    from panel.records.acts import Act
    from panel.records.training import begin_training

    by = inv.proved(Act.ROLES)
    with inv.writing() as db:
        done = begin_training(db, code, begun_on=begun_on, now=inv.now(), by=by)
    if as_json:
        emit_json(done)
        return
    click.echo(folded([done.words()]))
    say("Next, exercises: `oakpanel training known` says what can be poured.")


@command.command("list")
@as_of_option
@json_option
@pass_invocation
def list_all(inv: Invocation, as_of: date | None, as_json: bool) -> None:
    """List who is or was in training, and how many exercises they had; nothing of how they do."""
    from panel.questions.training import training_lines
    from panel.words.training_words import list_lines

    with inv.reading() as db:
        found = training_lines(db, as_of=as_of or inv.today(db))
    if as_json:
        emit_json(TrainingsTold(found))
    else:
        tell("\n".join(list_lines(found)))


@command.command("known")
@json_option
@pass_invocation
def known(inv: Invocation, as_json: bool) -> None:
    """List the samples that the panel has values of: references first, then by noses."""
    from panel.questions.training import known_samples
    from panel.words.training_words import known_lines

    with inv.reading() as db:
        found = known_samples(db)
    if as_json:
        emit_json(KnownTold(found))
    else:
        tell("\n".join(known_lines(found)))


@command.command("show")
@click.argument("code", shell_complete=a_person)
@as_of_option
@picture_option
@json_option
@pass_invocation
def show(
    inv: Invocation, code: str, as_of: date | None, picture: str | None, as_json: bool
) -> None:
    """Show how far CODE is, exercise by exercise: to them or a lead, by their PIN."""
    from panel.cli.looking import confirm_own
    from panel.pictures.people import learning
    from panel.questions.training import training_standing
    from panel.words.training_words import training_lines

    check_picture(picture, as_json=as_json)
    confirm_own(inv, code)
    with inv.reading() as db:
        found = training_standing(db, code, as_of=as_of or inv.today(db))
    if drawn_here(picture, learning(found) if picture else ()):
        return
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(training_lines(found)))


@command.command("take-in")
@click.argument("code", shell_complete=a_person)
@click.option("--on", "on", callback=read_date, metavar="DATE", help="Else as soon as may be.")
@json_option
@pass_invocation
def take_in(inv: Invocation, code: str, on: date | None, as_json: bool) -> None:
    """Take CODE in, who is called ready: from that day on their scores count for the house."""
    from panel.records.acts import Act
    from panel.records.training import take_in as take
    from panel.words.training_words import taken_in_words

    by = inv.proved(Act.ROLES)
    with inv.writing() as db:
        done = take(db, code, on=on, now=inv.now(), by=by)
    if as_json:
        emit_json(done)
    else:
        click.echo(taken_in_words(done))
