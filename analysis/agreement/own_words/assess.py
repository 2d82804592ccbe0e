"""What do different words have in common: one session from its frame to a verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
import threadpoolctl

from ...array_types import Matrix
from ...frames import USED, WAITING
from ..one_session.waiting import Reading, lay_beside, who_waits
from ..settings import AgreementSettings
from ..verdict.own_words import (
    WordsFacts,
    coded_assessor_verdict,
    not_seen,
    words_assessor_verdict,
    words_session_verdict,
)
from ..verdict.words import AssessorWord
from .axes import shared_axes
from .blocks import OwnWordTables, lay_out_words
from .lexicon import HouseNotes, house_notes
from .mfa import consensus_map, fill_holes
from .placing import (
    SHOWN_AXES,
    WorkedOut,
    map_axes,
    placed_samples,
    placed_words,
)
from .procrustes import procrustes_fit, procrustes_test
from .result import (
    OwnWords,
    SecondOpinion,
    WordsAssessor,
)
from .rv import rv_with_others
from .statis import compromise


def assess_own_words(
    words: pd.DataFrame,
    *,
    house: pd.DataFrame | None = None,
    scaled: bool = False,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
    coded: bool = False,
) -> OwnWords:
    """Lay a session in own words on one map, and say who is far from the others.

    Every assessor scored words of his own on the same line. The words themselves are never
    compared, only how they order and space the glasses; so the answer holds for any words.

    Parameters
    ----------
    words
        One row a score: session, assessor, sample, replicate, word, score, and any other
        column of the scores frame (see :mod:`analysis`).
    house
        What the house knows of the same samples: a profile (sample, descriptor, estimate) or
        a scores frame. With it each word is laid beside the house's notes, for the lead to
        confirm.
    scaled
        Whether every word counts alike, however wide its line was used.
    settings
        Thresholds and number of permutations.
    seed
        Seed of permutations and starts.
    coded
        The session is not revealed: a suspected swap can still be cleared, a glass poured twice
        counts as two samples, and nobody is judged yet.

    Returns
    -------
    OwnWords
        ``verdict`` first. The order of the rows does not matter.

    Raises
    ------
    FrameError, NoScoresError, SeveralSessionsError, OneAssessorError, TooFewSamplesError
        In words, when the frame cannot be used or there is nothing to lay side by side.

    Examples
    --------
    >>> rng = np.random.default_rng(2)
    >>> smoke = np.array([80.0, 60, 40, 30, 20, 10, 5, 0])
    >>> names = ["session", "assessor", "sample", "replicate", "word", "score"]
    >>> rows = [("W1", who, f"x{i}", 1, word, round(float(np.clip(y + rng.normal(0, 4), 0, 100))))
    ...         for who, word in (("A", "tar"), ("B", "soot"), ("C", "ash"), ("D", "peat"))
    ...         for i, y in enumerate(smoke)]
    >>> found = assess_own_words(pd.DataFrame(rows, columns=names))
    >>> found.n_axes, [person.verdict.label for person in found.assessors][0]
    (1, 'reads with the panel')
    """

    def read(laid: OwnWordTables) -> OwnWords:
        notes = None if house is None else house_notes(house, laid.samples)
        with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
            return _assessed(laid, notes, scaled, settings, seed, coded)

    found = read(lay_out_words(words))
    if not who_waits(words):
        return found
    other = read(lay_out_words(words, keep=(*USED, WAITING)))
    sides = [Reading(each.verdict.word, {}) for each in (found, other)]
    return replace(found, waiting=lay_beside(words, *sides, coded=coded))


def _assessed(
    laid: OwnWordTables,
    notes: HouseNotes | str | None,
    scaled: bool,
    settings: AgreementSettings,
    seed: int,
    coded: bool,
) -> OwnWords:
    filled, n_filled = fill_holes([block.values for block in laid.blocks])
    tables = tuple(table / table.std(axis=0) if scaled else table for table in filled)
    permutations = settings.permutations
    n_axes, axis_p = shared_axes(tables, permutations=permutations, seed=seed)
    worked = WorkedOut(laid, tables, n_filled, consensus_map(tables), n_axes)
    second = _second_opinion(tables, permutations, seed)
    assessors = _assessors(worked, second[1], permutations, seed, settings)
    if coded:
        assessors = tuple(_unjudged(one) for one in assessors)
    axes = map_axes(worked)
    facts = WordsFacts(
        session=laid.session,
        n_assessors=len(tables),
        n_samples=len(laid.samples),
        n_words=sum(len(block.words) for block in laid.blocks),
        n_axes=n_axes,
        percent=sum(axis.percent for axis in axes if axis.shared),
        ends=(axes[0].low_words, axes[0].high_words),
        second_p=second[0].p,
        far=tuple(one.assessor for one in assessors if one.verdict.word is AssessorWord.APART),
        coded=coded,
    )
    return OwnWords(
        session=laid.session,
        verdict=words_session_verdict(facts, settings),
        n_assessors=facts.n_assessors,
        n_samples=facts.n_samples,
        n_words=facts.n_words,
        n_scores=laid.n_scores,
        n_filled=n_filled,
        n_axes=n_axes,
        axis_p=tuple(axis_p.tolist()),
        seed=seed,
        axes=axes,
        samples=placed_samples(worked),
        assessors=assessors,
        words=placed_words(worked, notes, permutations, seed),
        second_opinion=second[0],
        not_seen=not_seen(n_axes, facts.percent),
        house_reason=_house_reason(notes),
        left_out=laid.left_out_scores,
        left_out_words=laid.left_out_words,
    )


def _unjudged(one: WordsAssessor) -> WordsAssessor:
    """Return an assessor as they stand before the reveal."""
    return replace(one, verdict=coded_assessor_verdict(one.assessor))


def _house_reason(notes: HouseNotes | str | None) -> str | None:
    if isinstance(notes, HouseNotes):
        return None
    return notes or "nothing is known of these samples in the house's own notes"


def _second_opinion(
    tables: Sequence[Matrix], permutations: int, seed: int
) -> tuple[SecondOpinion, list[float]]:
    fit = procrustes_fit(tables, seed=seed)
    test = procrustes_test(tables, permutations=permutations, seed=seed)
    found = SecondOpinion(
        consensus_percent=fit.consensus_percent,
        by_chance_percent=test.by_chance_percent,
        p=test.p,
        n_starts=fit.n_starts,
        n_best=fit.n_best,
    )
    return found, fit.scaling.tolist()


def _assessors(
    worked: WorkedOut,
    stretches: Sequence[float],
    permutations: int,
    seed: int,
    settings: AgreementSettings,
) -> tuple[WordsAssessor, ...]:
    blocks = worked.laid.blocks
    weights = compromise(worked.tables).weights * len(blocks)
    tests = rv_with_others(worked.tables, permutations=permutations, seed=seed)
    found = []
    for at, (block, weight, test) in enumerate(zip(blocks, weights, tests, strict=True)):
        found.append(
            WordsAssessor(
                assessor=block.assessor,
                verdict=words_assessor_verdict(
                    block.assessor, float(weight), test, len(worked.laid.samples), settings
                ),
                n_words=len(block.words),
                n_filled=int(np.isnan(block.values).sum()),
                weight=float(weight),
                rv_standardised=test.standardised,
                p=test.p,
                axis_shares=tuple(worked.shared_map.tables[at, :SHOWN_AXES].tolist()),
                stretch=stretches[at],
            )
        )
    return tuple(found)
