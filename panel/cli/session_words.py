"""`oakpanel session words`: what assessors named, and what a lead says it means."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import closing
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.completing import a_session
from panel.cli.documents import Named
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.looking import confirm_unfinished
from panel.cli.session_acting import leading
from panel.errors import UnknownRecord

if TYPE_CHECKING:
    from panel.session.own_words import Meaning, WordLine


@click.command()
@click.argument("name", shell_complete=a_session)
@click.option(
    "--confirm",
    "confirmed",
    multiple=True,
    metavar="ASSESSOR:WORD=DESCRIPTOR",
    help="Say what a word means in the lexicon; repeat it.",
)
@click.option(
    "--take-back",
    "taken_back",
    multiple=True,
    metavar="ASSESSOR:WORD",
    help="Take such a meaning back; repeat it.",
)
@json_option
@pass_invocation
def words(
    inv: Invocation,
    name: str,
    confirmed: tuple[str, ...],
    taken_back: tuple[str, ...],
    as_json: bool,
) -> None:
    """List what assessors named in NAME once it is closed, and what was confirmed of it."""
    if confirmed or taken_back:
        _settle(inv, name, confirmed, taken_back)
    confirm_unfinished(inv, (name,))
    found = _listed(inv, name)
    if as_json:
        emit_json(Named(name, found))
    elif found:
        click.echo(table(["assessor", "word", "scores", "means", "confirmed by"], _rows(found)))
    else:
        say(f"Nobody named a word in {name}.")


def _settle(
    inv: Invocation, name: str, confirmed: Sequence[str], taken_back: Sequence[str]
) -> None:
    from panel.session.own_words import confirm_words, words_by_assessor

    with leading(inv) as acting:
        named = words_by_assessor(acting.db, name)
        wishes = [read_meaning(text, named, confirming=True) for text in confirmed]
        wishes += [read_meaning(text, named, confirming=False) for text in taken_back]
        confirm_words(acting.db, name, wishes, by=acting.by, now=inv.now())


def read_meaning(text: str, named: Mapping[str, Sequence[str]], *, confirming: bool) -> Meaning:
    """Read ASSESSOR:WORD=DESCRIPTOR (or ASSESSOR:WORD); codes and words may hold `:` and `=`.

    Raises
    ------
    UnknownRecord
        It begins with nobody of the session, or goes on with no word of theirs.
    """
    from panel.session.own_words import Meaning

    assessor, rest = _known_start(text, named, ":", "assessor of this session")
    if not confirming:
        return Meaning(assessor, rest, None)
    word, descriptor = _known_start(rest, named[assessor], "=", f"word of {assessor}")
    return Meaning(assessor, word, descriptor)


def _known_start(text: str, known: Iterable[str], mark: str, what: str) -> tuple[str, str]:
    known = list(known)
    begun = [name for name in known if text.casefold().startswith(f"{name}{mark}".casefold())]
    if begun:
        longest = max(begun, key=len)
        return longest, text[len(longest) + len(mark) :]
    there = ", ".join(known) or "none"
    raise UnknownRecord(
        f"{text!r} does not begin with a {what} and {mark!r}: write "
        f"ASSESSOR:WORD=DESCRIPTOR. There are: {there}."
    )


def _listed(inv: Invocation, name: str) -> tuple[WordLine, ...]:
    from panel.session.own_words import session_words

    with closing(inv.open(readonly=True)) as store, store.read() as db:
        return session_words(db, name, by=inv.by)


def _rows(found: Iterable[WordLine]) -> list[tuple[object, ...]]:
    return [
        (
            line.assessor,
            line.word,
            line.n_scores,
            line.descriptor or "-",
            line.confirmed_by or "-",
        )
        for line in found
    ]
