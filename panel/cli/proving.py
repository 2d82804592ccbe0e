"""Asking for a PIN: at the terminal, unseen; without one from a file that was named."""

from __future__ import annotations

import sys
from contextlib import closing
from typing import TYPE_CHECKING

import click

from panel.cli.pin_file import STDIN, pin_in
from panel.errors import NotProved, OakpanelError, SignInRefused, SignInWaits

if TYPE_CHECKING:
    from panel.cli.invocation import Invocation
    from panel.records.acts import Act
    from panel.records.proving import Asked

TRIES = 3
"""So often a new PIN that cannot be is asked for again."""


def prove_who(inv: Invocation, act: Act, about: str | None) -> str | None:
    """Return the code of who does *act*, once they have proved that they are it.

    None in a house that nobody leads yet, where nobody was named.

    Raises
    ------
    NotProved
        There is no terminal to ask at, and no --pin-file.
    UnknownRecord, NotAllowed, SignInRefused, SignInWaits
        They may not; their PIN is wrong; too many wrong ones.
    """
    from panel.records.proving import Wants, asked_of, prove

    with closing(inv.open()) as store:
        asked = asked_of(store, act, inv.by, now=inv.now(), about=about)
        if asked.wants is Wants.NOTHING:
            return asked.code
        first = asked.wants is Wants.NEW_PIN
        pin = None if first else pin_of_file(inv.pin_file)
        typed = pin is None
        if pin is None:
            _need_terminal(asked, first=first)
            pin = ask_pin(asked.question, twice=first)
        try:
            prove(store, asked, pin, now=inv.now(), keep_pass=typed)
        except (SignInRefused, SignInWaits) as error:
            raise type(error)(f"The PIN of {asked.code} was asked. {error}") from error
    return asked.code


def first_pin(inv: Invocation, lead: str) -> str | None:
    """Return the PIN of a house's first lead: from the file, else asked; None without either.

    Raises
    ------
    OakpanelError
        It is not 4 to 12 digits, or easily guessed.
    """
    from panel.store.pins import pin_fault

    pin = pin_of_file(inv.pin_file)
    if pin is None and at_terminal():
        pin = ask_pin(f"PIN of {lead}", twice=True)
    if pin is not None and (fault := pin_fault(pin)):
        raise OakpanelError(fault)
    return pin


def _need_terminal(asked: Asked, *, first: bool) -> None:
    if at_terminal():
        return
    if first:
        raise NotProved(
            f"{asked.code} leads and has no PIN yet. Set one first: `oakpanel people pin "
            f"{asked.code}`."
        )
    raise NotProved(
        f"For {asked.act.words} the PIN of {asked.code} is asked, and there is no terminal to ask "
        "at. Name a file that holds it in one line, before the command: "
        f"`{_with_pin_file()}` (- is stdin)."
    )


def _with_pin_file() -> str:
    """Return the command that runs, with the option where it stands."""
    context = click.get_current_context(silent=True)
    words = context.command_path.split()[1:] if context is not None else []
    return " ".join(["oakpanel --pin-file FILE", *(words or ["COMMAND"]), "..."])


def pin_of_file(named: str | None) -> str | None:
    """Return the one line of a file that holds a PIN; None where none is named.

    At a terminal `-` is no file: what is typed there would show.
    """
    if named is None or (named == STDIN and at_terminal()):
        return None
    return pin_in(named)


def ask_pin(question: str, *, twice: bool) -> str:
    """Ask for a PIN without showing it, a new one twice; from a pipe read one line."""
    if not at_terminal():
        return sys.stdin.readline().rstrip("\r\n")
    return _ask_new(question) if twice else _ask(question)


def _ask(question: str) -> str:
    answer: str = click.prompt(question, hide_input=True, err=True)
    return answer


def _ask_new(question: str) -> str:
    """Ask for a new PIN; one that cannot be is refused before it is typed a second time.

    Raises
    ------
    OakpanelError
        So many in a row could not be.
    """
    from panel.store.pins import pin_fault

    faults = 0
    while True:
        pin = _ask(question)
        if fault := pin_fault(pin):
            faults += 1
            if faults == TRIES:
                raise OakpanelError(fault)
            click.echo(fault, err=True)
        elif _ask("The same again") == pin:
            return pin
        else:
            click.echo("The two do not match. Type both again.", err=True)


def at_terminal() -> bool:
    """Tell whether somebody sits there who can be asked."""
    return sys.stdin.isatty()
