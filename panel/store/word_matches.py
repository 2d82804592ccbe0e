"""What an assessor's own word means in the house's lexicon, as a lead confirmed it.

No booth reads this: an assessor's words are their own until the evening is over.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import Bound
from panel.store.lexicon import Descriptor
from panel.store.own_words import OwnWord


class OwnWordMatch(Bound):
    """One own word and the one descriptor it stands for; `confirmed_by` is a lead's code."""

    __tablename__ = "own_word_match"

    own_word_id: Mapped[int] = mapped_column(ForeignKey("own_word.id"), primary_key=True)
    descriptor_id: Mapped[int] = mapped_column(ForeignKey("descriptor.id"), index=True)
    confirmed_by: Mapped[str]
    confirmed_at: Mapped[datetime]

    own_word: Mapped[OwnWord] = relationship()
    descriptor: Mapped[Descriptor] = relationship()
