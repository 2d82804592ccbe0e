"""A session in own words: the map of it, and what a lead has confirmed of its words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from analysis.as_json import keys_of
from panel.frames.judging import agreement_settings
from panel.kinds import SessionStatus

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.agreement.own_words import OwnWords, PlacedWord


@dataclass(frozen=True)
class WordConfirmed:
    """A word on the map, and the house's descriptor that a lead confirmed for it."""

    word: PlacedWord
    confirmed: str | None

    json_keys = (("word", "**"), "confirmed")


@dataclass(frozen=True)
class WordsFound:
    """A session in own words, and what a lead has confirmed of it.

    `confirmed` holds the house's descriptor by assessor and word.
    """

    result: OwnWords
    confirmed: Mapping[tuple[str, str], str]

    json_keys = (("result", "**"), "words")
    json_sometimes = ()

    @property
    def words(self) -> tuple[WordConfirmed, ...]:
        """Every word, with what was confirmed of it."""
        return tuple(
            WordConfirmed(word, self.confirmed.get((word.assessor, word.word)))
            for word in self.result.words
        )

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values, each word with the descriptor a lead confirmed for it.

        Nothing in it is private.
        """
        return keys_of(self)


def words_agreement(db: Session, name: str, *, seed: int = 1) -> WordsFound:
    """Return the map of a session in own words, its words beside the house's notes.

    Before the reveal the samples are codes, so nothing of the house's is laid beside them.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; not closed yet; or scored on the lexicon.
    """
    from analysis.agreement.own_words import assess_own_words
    from panel.frames import find_session, own_words_frame

    words = own_words_frame(db, name)
    revealed = find_session(db, name).status is SessionStatus.REVEALED
    house = _house_scores(db, set(words["sample"])) if revealed else None
    settings = agreement_settings(db)
    result = assess_own_words(words, house=house, settings=settings, seed=seed, coded=not revealed)
    return WordsFound(result, _confirmed(db, name) if revealed else {})


def _house_scores(db: Session, samples: set[str]) -> pd.DataFrame | None:
    """All that revealed sessions know of some samples; None when it is nothing."""
    from panel.frames import scores_frame

    scores = scores_frame(db, revealed_only=True)
    known = scores[scores["sample"].isin(list(samples))]
    return known if len(known) else None


def _confirmed(db: Session, name: str) -> dict[tuple[str, str], str]:
    from panel.session.own_words import session_words

    return {
        (line.assessor, line.word): line.descriptor
        for line in session_words(db, name, by=None)
        if line.descriptor is not None
    }
