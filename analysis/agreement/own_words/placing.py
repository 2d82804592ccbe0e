"""Axes, samples and words on the consensus map, and words beside the house's notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix
from ..verdict.own_words import WordFacts, word_sentence
from .blocks import OwnWordTables
from .lexicon import HouseNotes, Matched, match_words
from .mfa import ConsensusMap
from .result import Axis, PlacedSample, PlacedWord

SHOWN_AXES = 2
_MOST_AXES = 5
_END_WORDS = 3
_END_CORRELATION = 0.6
"""A word stands for an end of an axis from this correlation on: more than a third shared."""


@dataclass(frozen=True)
class WorkedOut:
    """Everything computed before anything is said."""

    laid: OwnWordTables
    tables: tuple[Matrix, ...]
    n_filled: int
    shared_map: ConsensusMap
    n_axes: int


def map_axes(worked: WorkedOut) -> tuple[Axis, ...]:
    """Every axis of the map, with the words at its ends."""
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


def _end(worked: WorkedOut, axis: int, sign: float) -> tuple[str, ...]:
    """The words furthest out on one side of an axis, at most one of each assessor."""
    best: list[tuple[float, str]] = []
    for block, placed in zip(worked.laid.blocks, worked.shared_map.words, strict=True):
        at = int((sign * placed[:, axis]).argmax())
        if sign * placed[at, axis] >= _END_CORRELATION:
            name = f"{block.words[at]} ({block.assessor})"
            best.append((-abs(float(placed[at, axis])), name))
    return tuple(name for _, name in sorted(best)[:_END_WORDS])


def placed_samples(worked: WorkedOut) -> tuple[PlacedSample, ...]:
    """Every sample on the first two axes."""
    places = _two(worked.shared_map.coordinates)
    apart = _two(worked.shared_map.partial) - places
    spread = np.linalg.norm(apart, axis=2).mean(axis=0)
    return tuple(
        PlacedSample(name, float(place[0]), float(place[1]), float(far))
        for name, place, far in zip(worked.laid.samples, places, spread, strict=True)
    )


def _two(values: np.ndarray) -> np.ndarray:
    """The first two axes; where there is only one, the second is zero throughout."""
    lacking = max(SHOWN_AXES - values.shape[-1], 0)
    pads = [(0, 0)] * (values.ndim - 1) + [(0, lacking)]
    found: np.ndarray = np.pad(values[..., :SHOWN_AXES], pads)
    return found


def placed_words(
    worked: WorkedOut, notes: HouseNotes | str | None, permutations: int, seed: int
) -> tuple[PlacedWord, ...]:
    """Every word on the map, and beside the house's notes where those are known."""
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


def _axes_used(worked: WorkedOut, n_samples: int) -> int:
    """Axes to match on: the shared ones, two when there is none, fewer than the samples allow."""
    return min(worked.n_axes or SHOWN_AXES, _MOST_AXES, n_samples - 2)


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
        chance=max(match.chance, match.chance_by_scores) if match else None,
        likeness=candidates[0].correlation if candidates else None,
        by_scores=match.by_scores.descriptor if match else None,
        best_likeness=match.by_scores.correlation if match else None,
        chance_by_scores=match.chance_by_scores if match else None,
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
        by_scores=match.by_scores if match else None,
        proposed=proposed,
        sentence=sentence,
        next_action=action,
    )
