"""What `oakpanel session plan` is asked of a passing session."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from panel.cli.completing import a_session
from panel.kinds import SessionKind

if TYPE_CHECKING:
    from panel.session.passing_asked import PassingAsked

Command = TypeVar("Command", bound=Callable[..., Any])


def passing_options(command: Command) -> Command:
    """Let a command be told which parcel is passed, or whose holds are nosed again."""
    for option in (
        click.option("--parcel", metavar="NAME", help="Passing: the newest draw of each cask."),
        click.option(
            "--casks",
            type=int,
            metavar="N",
            help="Passing: the next N casks of the parcel that no morning has taken; else all.",
        ),
        click.option(
            "--again",
            "again_of",
            metavar="SESSION",
            help="Passing by a second nose: what one nose held, and one in ten of the passed.",
            shell_complete=a_session,
        ),
        click.option("--told", metavar="WORDS", help="Passing: what noses hear; else the records."),
    ):
        command = option(command)
    return command


def passing_asked(
    kind: SessionKind,
    parcel: str | None,
    casks: int | None,
    again_of: str | None,
    told: str | None,
) -> PassingAsked | None:
    """Return what was asked of a passing session, None of another kind.

    Raises
    ------
    click.UsageError
        It was asked of a session in which nothing is passed.
    """
    from panel.session.passing_asked import PassingAsked

    if kind.facts.passes:
        return PassingAsked(told=told, parcel=parcel, again_of=again_of, casks=casks)
    asked = (("--parcel", parcel), ("--casks", casks), ("--again", again_of), ("--told", told))
    for name, value in asked:
        if value is not None:
            raise click.UsageError(f"{name} goes with --passing.")
    return None
