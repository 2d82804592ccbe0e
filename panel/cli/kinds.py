"""The commands' registry by kind of session: how it is asked for, and which part of an answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import click

from panel.cli.completing import a_note
from panel.errors import UnknownRecord
from panel.kinds import USUAL_KIND, SessionKind

if TYPE_CHECKING:
    from panel.words.kinds import Part

Command = TypeVar("Command", bound=Callable[..., Any])


@dataclass(frozen=True)
class ByCommand:
    """What the commands need of a kind of session.

    `part` takes an answer's JSON down to the assessor or descriptor asked for. `flag` is the option
    of `session plan` that asks for the kind (None: the usual one), `meaning` its help. `waiting` is
    said where the answer takes long. Where the flag names notes, `takes` is what it takes.
    """

    part: Callable[[dict[str, Any], Part], dict[str, Any]]
    flag: str | None = None
    meaning: str = ""
    waiting: str | None = None
    takes: str | None = None


def part_of_agreement(found: dict[str, Any], part: Part) -> dict[str, Any]:
    """Return one assessor or one descriptor of a document, if asked for."""
    for name, what in ((part.descriptor, "descriptor"), (part.assessor, "assessor")):
        if name is not None:
            parts = found[f"{what}s"]
            known(name, [each[what] for each in parts], what)
            found[f"{what}s"] = [each for each in parts if each[what] == name]
    if part.assessor is not None and "private" in found:
        found["private"] = [one for one in found["private"] if one["assessor"] == part.assessor]
    return found


def _part_of_words(found: dict[str, Any], part: Part) -> dict[str, Any]:
    if part.assessor is not None:
        known(part.assessor, [each["assessor"] for each in found["assessors"]], "assessor")
        for key in ("assessors", "words"):
            found[key] = [each for each in found[key] if each["assessor"] == part.assessor]
    return found


def _part_of_passing(found: dict[str, Any], part: Part) -> dict[str, Any]:
    if part.assessor is not None:
        known(part.assessor, [each["assessor"] for each in found["noses"]], "assessor")
        for key in ("noses", "blocks"):
            found[key] = [each for each in found[key] if each["assessor"] == part.assessor]
    return found


def _whole(found: dict[str, Any], part: Part) -> dict[str, Any]:
    """Refuse a part: what is one answer of all its glasses has none."""
    if part.assessor is not None or part.descriptor is not None:
        raise UnknownRecord(
            "This session has one answer of all its glasses: ask for the whole of it."
        )
    return found


def known(name: str, names: list[str], what: str) -> None:
    """Refuse a name that an answer does not have.

    Raises
    ------
    UnknownRecord
        It is none of *names*.
    """
    if name not in names:
        raise UnknownRecord(
            f"{name!r} is no {what} of this session. There are: {', '.join(names)}."
        )


BY_COMMAND: dict[SessionKind, ByCommand] = {
    SessionKind.PROFILE: ByCommand(
        part_of_agreement, waiting="Judging the session beside those before it"
    ),
    SessionKind.OWN_WORDS: ByCommand(
        _part_of_words, "--own-words", "Assessors name and score words of their own."
    ),
    SessionKind.PASSING: ByCommand(
        _part_of_passing, "--passing", "Each cask of a parcel is passed or held; nosed only."
    ),
    SessionKind.STRONGER: ByCommand(
        _whole, "--pairs", "Pairs: which of two draws has more of one descriptor (2-AFC)."
    ),
    SessionKind.TWO_AND_TWO: ByCommand(
        _whole, "--two-and-two", "Fours of two draws, sorted two and two (tetrad)."
    ),
    SessionKind.RANKING: ByCommand(
        _whole, "--ranking", "Three to eight draws, ranked by one descriptor."
    ),
    SessionKind.TRACE: ByCommand(
        _whole, "--trace", "One descriptor of one or two draws, followed for a minute; tasted."
    ),
    SessionKind.ODD_ONE_OUT: ByCommand(
        _whole, "--odd-one-out", "Threes, two of one draw: which is the odd one (triangle)."
    ),
    SessionKind.LIKE_THE_FIRST: ByCommand(
        _whole,
        "--like-the-first",
        "Threes, the first a marked reference: which other is the same (duo-trio).",
    ),
    SessionKind.STAGES: ByCommand(
        part_of_agreement,
        "--stages",
        "A descriptor scored at nose, arrival, development and finish; repeat it. Tasted.",
        waiting="Judging the session beside those before it",
        takes="NAME",
    ),
}


def kind_asked(flag: str | None, stages: tuple[str, ...]) -> SessionKind:
    """Return the kind of session that was asked for.

    Raises
    ------
    click.UsageError
        Two were.
    """
    if stages and flag is not None:
        raise click.UsageError(f"Ask for {BY_COMMAND[SessionKind(flag)].flag} or --stages.")
    if stages:
        return SessionKind.STAGES
    return SessionKind(flag) if flag is not None else USUAL_KIND


def kind_options(command: Command) -> Command:
    """Let a command be told the kind of session by a flag of its own for each but the usual one."""
    for kind, asked in reversed(BY_COMMAND.items()):
        if asked.flag is not None and asked.takes is None:
            flag = click.option(asked.flag, "kind", flag_value=kind.value, help=asked.meaning)
            command = flag(command)
    return command


def naming_options(command: Command) -> Command:
    """Let a command be told the kind of session by the notes that a flag of its own names."""
    for asked in reversed(BY_COMMAND.values()):
        if asked.flag is not None and asked.takes is not None:
            named = click.option(
                asked.flag,
                multiple=True,
                metavar=asked.takes,
                help=asked.meaning,
                shell_complete=a_note,
            )
            command = named(command)
    return command
