"""Scores that wait until a suspected swap is cleared up, and what would be said with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from ...frames import WAITING
from ..verdict import PanelWord, WaitingFacts, waiting_sentence

_GLASS = ["assessor", "sample", "replicate"]


@dataclass(frozen=True)
class WaitingNote:
    """A descriptor whose verdict hangs on the scores that wait."""

    descriptor: str
    without: PanelWord
    with_them: PanelWord


@dataclass(frozen=True)
class Waiting:
    """Scores that are kept and not used: two glasses may have changed places.

    Attributes
    ----------
    n_scores, n_glasses, assessors
        How many wait, and whose.
    verdict_with
        Of the session, had they been used as they were recorded.
    changed
        Descriptors whose verdict would be another.
    """

    n_scores: int
    n_glasses: int
    assessors: tuple[str, ...]
    verdict_with: PanelWord
    changed: tuple[WaitingNote, ...]
    sentence: str
    next_action: str


@dataclass(frozen=True)
class Reading:
    """One way to read a session: its word and that of each note, where notes get one."""

    line: PanelWord
    notes: Mapping[str, PanelWord]


def who_waits(scores: pd.DataFrame) -> tuple[str, ...]:
    """Return the assessors whose glasses may have changed places."""
    if "status" not in scores.columns:
        return ()
    return tuple(sorted(set(scores.loc[scores["status"] == WAITING, "assessor"])))


def lay_beside(
    scores: pd.DataFrame, without: Reading, with_them: Reading, *, coded: bool
) -> Waiting:
    """Say how many scores wait and what would be said with them."""
    waiting = scores[(scores["status"] == WAITING) & scores["score"].notna()]
    people = who_waits(scores)
    changed = tuple(
        WaitingNote(name, without.notes[name], word)
        for name, word in with_them.notes.items()
        if name in without.notes and word is not without.notes[name]
    )
    facts = WaitingFacts(
        n_scores=len(waiting),
        n_glasses=len(waiting[_GLASS].drop_duplicates()),
        assessors=people,
        without=without.line,
        with_them=with_them.line,
        changed=tuple((part.descriptor, part.without, part.with_them) for part in changed)
        if with_them.notes
        else None,
        revealed=not coded,
    )
    said = waiting_sentence(facts)
    return Waiting(
        n_scores=facts.n_scores,
        n_glasses=facts.n_glasses,
        assessors=people,
        verdict_with=with_them.line,
        changed=changed,
        sentence=said.sentence,
        next_action=said.next_action,
    )
