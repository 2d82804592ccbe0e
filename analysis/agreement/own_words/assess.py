"""What do different words have in common: one session from its frame to a verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import threadpoolctl

from analysis.agreement.crossed import Matrix
from analysis.agreement.own_words.blocks import OwnWordTables, lay_out_words
from analysis.agreement.own_words.lexicon import HouseNotes, Matched, house_notes, match_words
from analysis.agreement.own_words.mfa import ConsensusMap, consensus_map, fill_holes
from analysis.agreement.own_words.procrustes import procrustes_fit, procrustes_test
from analysis.agreement.own_words.result import (
    Axis,
    OwnWords,
    PlacedSample,
    PlacedWord,
    SecondOpinion,
    WordsAssessor,
)
from analysis.agreement.own_words.rv import rv_with_others, shared_axes
from analysis.agreement.own_words.statis import compromise
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.verdict.own_words import (
    SessionFacts,
    WordFacts,
    word_sentence,
    words_assessor_verdict,
    words_session_verdict,
)

_SHOWN = 2
_MOST_AXES = 5
_END_WORDS = 3
_END_CORRELATION = 0.6
"""A word stands for an end of an axis from this correlation on: more than a third shared."""


def assess_own_words(
    words: pd.DataFrame,
    *,
    house: pd.DataFrame | None = None,
    scaled: bool = False,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
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

    Returns
    -------
    OwnWords
        ``verdict`` and ``sentence`` first. The order of the rows does not matter.

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
    >>> found.n_axes, [person.verdict for person in found.assessors][0]
    (1, 'reads with the panel')
    """
    laid = lay_out_words(words)
    notes = None if house is None else house_notes(house, laid.samples)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        return _assessed(laid, notes, scaled, settings, seed)


@dataclass(frozen=True)
class _Worked:
    """Everything computed before anything is said."""

    laid: OwnWordTables
    tables: tuple[Matrix, ...]
    n_filled: int
    shared_map: ConsensusMap
    n_axes: int


def _assessed(
    laid: OwnWordTables,
    notes: HouseNotes | str | None,
    scaled: bool,
    settings: AgreementSettings,
    seed: int,
) -> OwnWords:
    filled, n_filled = fill_holes([block.values for block in laid.blocks])
    tables = tuple(table / table.std(axis=0) if scaled else table for table in filled)
    permutations = settings.permutations
    n_axes, axis_p = shared_axes(tables, permutations=permutations, seed=seed)
    worked = _Worked(laid, tables, n_filled, consensus_map(tables), n_axes)
    second = _second_opinion(tables, permutations, seed)
    assessors = _assessors(worked, second[1], permutations, seed, settings)
    axes = _axes(worked)
    facts = SessionFacts(
        session=laid.session,
        n_assessors=len(tables),
        n_samples=len(laid.samples),
        n_words=sum(len(block.words) for block in laid.blocks),
        n_axes=n_axes,
        percent=sum(axis.percent for axis in axes if axis.shared),
        ends=(axes[0].low_words, axes[0].high_words),
        second_p=second[0].p,
        far=tuple(part.assessor for part in assessors if part.p > settings.false_share),
    )
    said = words_session_verdict(facts, settings)
    return OwnWords(
        session=laid.session,
        verdict=said.word,
        sentence=said.sentence,
        next_action=said.next_action,
        n_assessors=facts.n_assessors,
        n_samples=facts.n_samples,
        n_words=facts.n_words,
        n_scores=laid.n_scores,
        n_filled=n_filled,
        n_axes=n_axes,
        axis_p=tuple(axis_p.tolist()),
        seed=seed,
        axes=axes,
        samples=_samples(worked),
        assessors=assessors,
        words=_words(worked, notes, permutations, seed),
        second_opinion=second[0],
        house_reason=_house_reason(notes),
        left_out=laid.left_out_scores,
        left_out_words=laid.left_out_words,
    )


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
    worked: _Worked,
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
        said = words_assessor_verdict(block.assessor, float(weight), test, settings)
        found.append(
            WordsAssessor(
                assessor=block.assessor,
                verdict=said.word,
                sentence=said.sentence,
                next_action=said.next_action,
                n_words=len(block.words),
                n_filled=int(np.isnan(block.values).sum()),
                weight=float(weight),
                rv_standardised=test.standardised,
                p=test.p,
                axis_shares=tuple(worked.shared_map.tables[at, :_SHOWN].tolist()),
                stretch=stretches[at],
            )
        )
    return tuple(found)


def _axes(worked: _Worked) -> tuple[Axis, ...]:
    shared_map = worked.shared_map
    return tuple(
        Axis(
            eigenvalue=float(shared_map.eigenvalues[at]),
            percent=float(shared_map.percent[at]),
            shared=at < worked.n_axes,
            low_words=_end(worked, at, -1.0),
            high_words=_end(worked, at, 1.0),
        )
        for at in range(len(shared_map.eigenvalues))
    )


def _end(worked: _Worked, axis: int, sign: float) -> tuple[str, ...]:
    """The words furthest out on one side of an axis, at most one of each assessor."""
    best: list[tuple[float, str]] = []
    for block, placed in zip(worked.laid.blocks, worked.shared_map.words, strict=True):
        at = int((sign * placed[:, axis]).argmax())
        if sign * placed[at, axis] >= _END_CORRELATION:
            name = f"{block.words[at]} ({block.assessor})"
            best.append((-abs(float(placed[at, axis])), name))
    return tuple(name for _, name in sorted(best)[:_END_WORDS])


def _samples(worked: _Worked) -> tuple[PlacedSample, ...]:
    places = _two(worked.shared_map.coordinates)
    apart = _two(worked.shared_map.partial) - places
    spread = np.linalg.norm(apart, axis=2).mean(axis=0)
    return tuple(
        PlacedSample(name, float(place[0]), float(place[1]), float(far))
        for name, place, far in zip(worked.laid.samples, places, spread, strict=True)
    )


def _two(values: np.ndarray) -> np.ndarray:
    """The first two axes; where there is only one, the second is zero throughout."""
    lacking = max(_SHOWN - values.shape[-1], 0)
    pads = [(0, 0)] * (values.ndim - 1) + [(0, lacking)]
    found: np.ndarray = np.pad(values[..., :_SHOWN], pads)
    return found


def _words(
    worked: _Worked, notes: HouseNotes | str | None, permutations: int, seed: int
) -> tuple[PlacedWord, ...]:
    joined = np.hstack(worked.tables)
    matched: Sequence[Matched | None] = [None] * joined.shape[1]
    if isinstance(notes, HouseNotes):
        rows = [worked.laid.samples.index(name) for name in notes.samples]
        axes = worked.shared_map.coordinates[:, : _axes_used(worked, len(rows))]
        usable = np.ptp(joined[rows], axis=0) > 0.0
        found = iter(
            match_words(
                joined[rows][:, usable], axes[rows], notes, permutations=permutations, seed=seed
            )
        )
        matched = [next(found) if known else None for known in usable]
    owners = [(block.assessor, word) for block in worked.laid.blocks for word in block.words]
    places = np.vstack(worked.shared_map.words)
    n_axes = max(worked.n_axes, 1)
    return tuple(
        _word(owner, place, n_axes, match)
        for owner, place, match in zip(owners, places, matched, strict=True)
    )


def _axes_used(worked: _Worked, n_samples: int) -> int:
    """Axes to match on: the shared ones, two when there is none, fewer than the samples allow."""
    return min(worked.n_axes or _SHOWN, _MOST_AXES, n_samples - 2)


def _word(
    owner: tuple[str, str], place: np.ndarray, n_axes: int, match: Matched | None
) -> PlacedWord:
    on_map = float(np.sum(place[:n_axes] ** 2))
    candidates = match.candidates if match else ()
    facts = WordFacts(
        assessor=owner[0],
        word=owner[1],
        on_map=on_map,
        nearest=candidates[0].descriptor if candidates else None,
        closeness=candidates[0].on_map if candidates else None,
        chance=match.chance if match else None,
    )
    proposed, sentence, action = word_sentence(facts)
    x, y = (float(part) for part in _two(place))
    return PlacedWord(
        assessor=owner[0],
        word=owner[1],
        x=x,
        y=y,
        on_map=on_map,
        candidates=candidates,
        chance=facts.chance,
        proposed=proposed,
        sentence=sentence,
        next_action=action,
    )
