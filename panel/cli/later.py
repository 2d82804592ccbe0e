"""What an answer of today lacks because it is dated later: said under it, beside it for JSON."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from panel.cli.answers import say, tell

if TYPE_CHECKING:
    from panel.store.engine import Session


def words_of_later(db: Session, asked: date | None, day: date) -> str:
    """Return what is left out as it is dated after a day that nobody asked for; else nothing."""
    from panel.questions.sessions import revealed_after
    from panel.words.left_out import later_words

    return "" if asked is not None else later_words(revealed_after(db, day), day)


def tell_later(words: str, *, as_json: bool) -> None:
    """Print it under an answer in words; a JSON document stays one, and hears it on stderr."""
    from panel.words.answers import paragraph

    if as_json and words:
        say(words)
    elif words:
        tell("\n".join(["", *paragraph(words, 80)]))
