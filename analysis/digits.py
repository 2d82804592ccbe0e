"""Numbers as people read them: the one writer of all sentences, screens and pages.

A house writes decimals with a point or with a comma; what machines read (JSON, saved frames,
coordinates, the log) has points in any house and is not written here. Standard library only.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

PERHAPS_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}")
"""A number whose sign may stand for decimals or for thousands."""
_IN_SENTENCE = re.compile(r"\d+\.\d+")
_CHANGED = str.maketrans(".,", ",.")


@dataclass
class Hand:
    """How numbers are written by one desk or one command, in all its threads.

    A process writes for one house. Threads of a screen take over nothing of whoever started them,
    so this is held by the process.
    """

    comma: bool = False
    """Whether decimals have a comma, and thousands a point."""
    for_machines: bool = False
    """Whether what is said goes into a document for machines, with points in any house."""

    @property
    def writes_commas(self) -> bool:
        """Whether what is written now has commas."""
        return self.comma and not self.for_machines


class _Process:
    hand = Hand()


def hand() -> Hand:
    """Return the hand that writes in this process."""
    return _Process.hand


def take_hand() -> Hand:
    """Take a hand of one's own from here on: it writes points until its house says otherwise."""
    _Process.hand = Hand()
    return _Process.hand


@contextmanager
def own_hand() -> Iterator[Hand]:
    """Write by a hand of one's own to the end of a block."""
    before = _Process.hand
    try:
        yield take_hand()
    finally:
        _Process.hand = before


def writes_commas() -> bool:
    """Tell whether decimals are written with a comma here."""
    return _Process.hand.writes_commas


def in_digits(value: object, form: str) -> str:
    """Return a number as people read it, by a format such as ``.1f`` or ``,``.

    Examples
    --------
    >>> in_digits(12450.5, ",.1f")
    '12,450.5'
    >>> with own_hand() as hand:
    ...     hand.comma = True
    ...     in_digits(12450.5, ",.1f"), in_digits(58.2, "g"), in_digits(12.125, "g")
    ('12.450,5', '58,2', '12,1250')
    """
    return as_here(format(value, form))


def as_here(text: str) -> str:
    """Return a number that was written with a point as it is written here.

    A comma that might be taken for thousands is followed by a nought too many, as in saved files.
    """
    if not writes_commas():
        return text
    changed = text.translate(_CHANGED)
    alone = "," not in text and PERHAPS_THOUSANDS.fullmatch(changed.strip())
    return f"{changed}0" if alone else changed


def sentence_here(text: str) -> str:
    """Return a fixed sentence with its numbers as they are written here; no version, no name."""
    return _IN_SENTENCE.sub(lambda number: as_here(number[0]), text) if writes_commas() else text
