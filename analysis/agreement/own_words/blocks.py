"""One session in own words, laid out as one table an assessor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ...array_types import Matrix
from ...digits import in_digits
from ...errors import (
    FrameError,
    NoScoresError,
    OneAssessorError,
    SeveralSessionsError,
    TooFewSamplesError,
    TooLittleError,
)
from ...frames import TEST_KINDS, USED, on_house_scale, usable

LEAST_SAMPLES = 4
"""Fewer glasses than these lie on any map: three points always fit a plane."""
_LEAST_SHARE = 0.5
"""An assessor who had less than half of the glasses cannot be placed by the rest."""


@dataclass(frozen=True)
class Block:
    """The scores of one assessor.

    Attributes
    ----------
    words
        This person's own words, in order of the alphabet.
    values
        Mean over replicates in points of the 0-100 line, shape (samples, words); NaN where
        nothing was scored.
    """

    assessor: str
    words: tuple[str, ...]
    values: Matrix


@dataclass(frozen=True)
class WordLeftOut:
    """A word that could not be used, and why; `word` is None when it is the whole assessor."""

    assessor: str
    word: str | None
    reason: str


@dataclass(frozen=True)
class OwnWordTables:
    """All tables of one session over the same samples."""

    session: str
    samples: tuple[str, ...]
    blocks: tuple[Block, ...]
    n_scores: int
    left_out_scores: Mapping[str, int]
    left_out_words: tuple[WordLeftOut, ...]


def lay_out_words(words: pd.DataFrame, *, keep: Sequence[str] = USED) -> OwnWordTables:
    """Check a frame of own words and lay it out.

    Parameters
    ----------
    words
        One row a score: session, assessor, sample, replicate, word, score; any other column
        of the scores frame (see :mod:`analysis`) may be there. Words are each assessor's own:
        the same word of two people is two words.
    keep
        The statuses of the scores that are used.

    Returns
    -------
    OwnWordTables
        Words with one and the same score throughout are left out, with the reason.

    Raises
    ------
    FrameError
        With every fault found: missing columns, a glass scored twice on one word, infinities.
    NoScoresError, SeveralSessionsError, OneAssessorError, TooFewSamplesError
        When there is nothing to lay side by side.

    Examples
    --------
    >>> rows = [("S1", who, f"x{i}", 1, word, 10.0 * i + n)
    ...         for who, word in (("A", "tar"), ("B", "soot")) for n in (0,) for i in range(4)]
    >>> names = ["session", "assessor", "sample", "replicate", "word", "score"]
    >>> found = lay_out_words(pd.DataFrame(rows, columns=names))
    >>> [block.words for block in found.blocks], found.samples
    ([('tar',), ('soot',)], ('x0', 'x1', 'x2', 'x3'))
    """
    used = usable(_as_scores(words), keep=keep, kinds=TEST_KINDS) if len(words) else None
    if used is None or used.scores.empty:
        raise NoScoresError({} if used is None else used.left_out)
    scores = on_house_scale(used.scores)
    sessions = sorted(set(scores["session"]))
    if len(sessions) > 1:
        raise SeveralSessionsError(sessions)
    samples = sorted(set(scores["sample"]))
    if len(samples) < LEAST_SAMPLES:
        raise TooFewSamplesError(sessions[0], len(samples), LEAST_SAMPLES)
    kept: list[Block] = []
    left_out: list[WordLeftOut] = []
    for name, rows in scores.groupby("assessor", sort=True):
        block, gone = _block(str(name), rows, samples)
        left_out += gone
        kept += [block] if block is not None else []
    if len(kept) < 2:
        raise _too_few_people(sessions[0], kept, left_out)
    kept, samples = _shared_samples(kept, samples)
    if len(samples) < LEAST_SAMPLES:
        raise TooFewSamplesError(sessions[0], len(samples), LEAST_SAMPLES)
    return OwnWordTables(
        session=sessions[0],
        samples=tuple(samples),
        blocks=tuple(kept),
        n_scores=len(scores),
        left_out_scores=used.left_out,
        left_out_words=tuple(left_out),
    )


def _too_few_people(
    session: str, kept: Sequence[Block], left_out: Sequence[WordLeftOut]
) -> TooLittleError:
    """Say who is left, and why the others are not."""
    gone = [f"{part.assessor} {part.reason}" for part in left_out if part.word is None]
    if not gone:
        return OneAssessorError(session, kept[0].assessor)
    left = f"only {kept[0].assessor} is left" if kept else "nobody is left"
    return TooLittleError(
        f"Session {session} in own words cannot be laid out: {left}, since {'; '.join(gone)}. "
        "Pour the same six samples for at least two assessors."
    )


def _as_scores(words: pd.DataFrame) -> pd.DataFrame:
    """The same rows as a scores frame, faults told in terms of words."""
    if "word" not in words.columns:
        raise FrameError("own words", ["Missing columns: word. Add it."])
    frame = words.drop(columns="descriptor", errors="ignore")
    return frame.rename(columns={"word": "descriptor"})


def _block(
    assessor: str, rows: pd.DataFrame, samples: Sequence[str]
) -> tuple[Block | None, list[WordLeftOut]]:
    table = rows.pivot_table(index="sample", columns="descriptor", values="score", aggfunc="mean")
    table = table.reindex(index=list(samples))
    seen = int(table.notna().any(axis=1).sum())
    if seen < max(LEAST_SAMPLES, _LEAST_SHARE * len(samples)):
        reason = f"had {seen} of {len(samples)} samples, too few to be placed among the others"
        return None, [WordLeftOut(assessor, None, reason)]
    gone, words = [], []
    for word in table.columns:
        why = _unfit(table[word].to_numpy(dtype=np.float64))
        if why:
            gone.append(WordLeftOut(assessor, str(word), why))
        else:
            words.append(str(word))
    if not words:
        return None, [*gone, WordLeftOut(assessor, None, "no word tells any two samples apart")]
    return Block(assessor, tuple(words), table[words].to_numpy(dtype=np.float64)), gone


def _unfit(column: Matrix) -> str | None:
    known = column[~np.isnan(column)]
    if np.ptp(known) == 0.0:
        return f"the same score for every sample ({in_digits(known[0], 'g')})"
    if len(known) < _LEAST_SHARE * len(column):
        return f"scored in {len(known)} of {len(column)} samples only"
    return None


def _shared_samples(
    blocks: Sequence[Block], samples: Sequence[str]
) -> tuple[list[Block], list[str]]:
    """Drop samples that only one assessor had: nobody can agree on them."""
    n = np.sum([~np.isnan(block.values).all(axis=1) for block in blocks], axis=0)
    kept = np.flatnonzero(n > 1)
    cut = [Block(block.assessor, block.words, block.values[kept]) for block in blocks]
    return cut, [samples[int(i)] for i in kept]
