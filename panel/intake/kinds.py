"""The kinds of records that files carry."""

from __future__ import annotations

from enum import StrEnum


class Kind(StrEnum):
    """What a file holds, in the order in which an empty database takes them."""

    MAKES = "makes"
    CASKS = "casks"
    EVENTS = "events"
    REGAUGES = "regauges"
    DRAWS = "draws"
    LEXICON = "lexicon"
    ASSESSORS = "assessors"
    TARGETS = "targets"
    PLANS = "plans"
    SCORES = "scores"
    OWN_SCORES = "own-scores"
    ANSWERS = "answers"
    TRACES = "traces"
    STAGES = "stages"


LAID = ("stock", "drawn", "mixing")
"""What is reckoned from many records for a notebook: saved, never loaded."""
SCORE_KINDS = frozenset({Kind.SCORES, Kind.OWN_SCORES})
"""What brings whole sessions in: read and written in its own way."""
OF_PEOPLE = SCORE_KINDS | {Kind.ANSWERS, Kind.TRACES, Kind.STAGES, Kind.ASSESSORS}
"""What single people said, or who they are: a saved file of it is its owner's alone."""
GOES_WITH: dict[str, tuple[Kind, ...]] = {
    "names": (Kind.ASSESSORS,),
    "wide": (Kind.SCORES,),
    "session": (Kind.SCORES, Kind.OWN_SCORES),
}
"""What may be chosen when records are saved, and with which kinds of them."""


def goes_with(choice: str) -> str:
    """Say which kinds of records a choice goes with."""
    return f"goes with {' and '.join(GOES_WITH[choice])} only"
