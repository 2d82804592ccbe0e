"""What a session in own words says: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...as_json import AsJson
from ..one_session.waiting import Waiting
from ..verdict import AssessorWord, PanelWord, Verdict
from ..verdict.own_words import NEAR
from .blocks import WordLeftOut
from .lexicon import Candidate


@dataclass(frozen=True)
class Axis:
    """One direction of the consensus map.

    Attributes
    ----------
    eigenvalue
        Inertia; at most the number of assessors, when it is everybody's first direction.
    percent
        Share of the whole inertia.
    shared
        Whether it is more than chance.
    low_words, high_words
        Words that stand for its ends, each with whose it is.
    """

    eigenvalue: float
    percent: float
    shared: bool
    low_words: tuple[str, ...]
    high_words: tuple[str, ...]


@dataclass(frozen=True)
class PlacedSample:
    """A sample on the map.

    Attributes
    ----------
    x, y
        Places on the first two axes.
    spread
        Mean distance of the assessors' own places from this one on those axes: how far they
        disagree about it.
    """

    sample: str
    x: float
    y: float
    spread: float


@dataclass(frozen=True)
class PlacedWord:
    """One word of one assessor on the map, and what it may be in the house's notes.

    Attributes
    ----------
    x, y
        Correlations with the first two axes.
    on_map
        Share of the word's variance that the shared axes show, 0 to 1.
    candidates
        Notes of the house, nearest first.
    chance
        How often a word of chance numbers would come as near to some note, on the map or by its
        own scores, whichever is more often: a word has a part in the map that it is laid on. None
        without notes.
    by_scores
        The note that the word's own scores correlate with best, whatever the map shows.
    proposed
        The note put to the lead to confirm; None when nothing is near enough to propose, or another
        note fits the word's own scores best.
    """

    assessor: str
    word: str
    x: float
    y: float
    on_map: float
    candidates: tuple[Candidate, ...]
    chance: float | None
    by_scores: Candidate | None
    proposed: str | None
    sentence: str
    next_action: str

    @property
    def perhaps(self) -> bool:
        """Whether what is proposed is nosed beside its reference before it is confirmed."""
        return self.proposed is not None and self.chance is not None and self.chance > NEAR


@dataclass(frozen=True)
class WordsAssessor:
    """One assessor in a session in own words.

    Attributes
    ----------
    weight
        STATIS weight; 1 is the average of the panel, below is further from the others.
    rv_standardised, p
        RV with the layout of all others, against 999 rearrangements of this person's rows.
    axis_shares
        How far each of the first two axes is a direction of this person's, 0 to 1.
    stretch
        Stretch in the second opinion, above 1 for a narrow line.
    """

    assessor: str
    verdict: Verdict[AssessorWord]
    n_words: int
    n_filled: int
    weight: float
    rv_standardised: float
    p: float
    axis_shares: tuple[float, ...]
    stretch: float


@dataclass(frozen=True)
class SecondOpinion:
    """Generalised Procrustes beside the map.

    Attributes
    ----------
    consensus_percent
        Of the best of `n_starts` starts; `n_best` came to it.
    by_chance_percent, p
        Of tables whose rows were rearranged, both sides given the same few sweeps.
    """

    consensus_percent: float
    by_chance_percent: float
    p: float
    n_starts: int
    n_best: int


@dataclass(frozen=True)
class OwnWords(AsJson):
    """One session in own words: what the panel's different words have in common.

    Attributes
    ----------
    n_axes
        Directions that are more than chance.
    axis_p
        P of each axis in turn, up to the first that fails.
    n_filled
        Holes filled from the map: glasses or words that somebody did not score.
    not_seen
        What the map cannot show, where it has one direction only; None where it has more.
    house_reason
        Why no word is matched to the house's notes, if none is.
    left_out
        Scores not used, by reason.
    waiting
        Scores that are not used until a suspected swap is cleared; None without any.
    """

    session: str
    verdict: Verdict[PanelWord]
    n_assessors: int
    n_samples: int
    n_words: int
    n_scores: int
    n_filled: int
    n_axes: int
    axis_p: tuple[float, ...]
    seed: int
    axes: tuple[Axis, ...]
    samples: tuple[PlacedSample, ...]
    assessors: tuple[WordsAssessor, ...]
    words: tuple[PlacedWord, ...]
    second_opinion: SecondOpinion
    not_seen: str | None
    house_reason: str | None
    left_out: Mapping[str, int]
    left_out_words: tuple[WordLeftOut, ...]
    waiting: Waiting | None = None
