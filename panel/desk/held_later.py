"""Sessions dated after today, which no answer of the desk has."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from panel.store.engine import Session


def later_here(db: Session, today: date) -> str:
    """Return which sessions answers of today lack, in words; empty for none."""
    from panel.questions.sessions import held_later
    from panel.words.left_out import later_words

    return later_words(held_later(db, today), today)
