"""For whom a page is made, and what that leaves out."""

from __future__ import annotations

from enum import StrEnum

LEAST_TO_NAME = 12
"""In a smaller panel a code is as good as a name to whoever knows the house."""


class Reader(StrEnum):
    """Who reads a page about people: the lead, or anybody it is handed on to."""

    LEAD = "lead"
    OTHERS = "others"

    @property
    def words(self) -> str:
        """What stands at the head of the page."""
        return _WORDS[self]


class SheetReader(StrEnum):
    """For whom the page of a release is made."""

    HOUSE = "house"
    GUIDE = "guide"
    GUEST = "guest"


_WORDS = {
    Reader.LEAD: "For the panel lead: it speaks of single assessors.",
    Reader.OTHERS: "To hand on.",
}


def may_name(reader: Reader, n_assessors: int) -> bool:
    """Tell whether a page may speak of single assessors, by their codes."""
    return reader is Reader.LEAD or n_assessors >= LEAST_TO_NAME
