"""How somebody uses the line and how steadily, over all notes together."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Vector
from ..indices.distributions import t_two_sided
from ..indices.layout import ScoreLayout
from ..settings import AgreementSettings
from ..verdict import AssessorWord
from .with_panel import Told

_LEAST_DF = 3
OwnTold = Sequence[Sequence[Told | None]]
"""Note by note, somebody beside the others session by session; None where nothing is told."""


@dataclass(frozen=True)
class Habits:
    """What is said of a person's way with the line, over notes and sessions.

    Attributes
    ----------
    scale, scale_p
        Points for one point of the others, and the chance of a scale so far from 1 in one who
        uses the line as they do; None where too little is known.
    unsteady, unsteady_p
        How far two nosings of one glass lie apart, for one of the others, and the chance of so
        much in one who repeats as they do.
    width
        A wider or a narrower line; None when that is not sure.
    less_steady
        Whether the person is surely less steady than the others.
    """

    scale: float | None = None
    scale_p: float | None = None
    unsteady: float | None = None
    unsteady_p: float | None = None
    width: AssessorWord | None = None
    less_steady: bool = False

    @property
    def word(self) -> AssessorWord | None:
        """The word of the person, the more urgent one first."""
        return AssessorWord.UNSTEADY if self.less_steady else self.width


@dataclass(frozen=True)
class Repeats:
    """Glasses nosed again in one session: sd within each, by assessor and note.

    `apart` is keyed by sample, then by assessor: distances, each over the note's usual one.
    """

    apart: Mapping[str, Mapping[str, Sequence[float]]]

    @classmethod
    def of(cls, layouts: Sequence[ScoreLayout]) -> Repeats:
        """Lay out the repeats of one session, all notes."""
        found: dict[str, dict[str, list[float]]] = {}
        for layout in layouts:
            again = layout.counts > 1
            if not again.any():
                continue
            apart = np.sqrt(layout.within_squares[again] / (layout.counts[again] - 1.0))
            usual = float(apart.mean())
            if usual <= 0.0:
                continue
            for (row, column), value in zip(np.argwhere(again), apart / usual, strict=True):
                each = found.setdefault(layout.samples[column], {})
                each.setdefault(layout.assessors[row], []).append(float(value))
        return cls(found)


def habits(
    name: str,
    told: OwnTold,
    repeats: Sequence[Repeats],
    settings: AgreementSettings,
    astray: Collection[str] = (),
) -> Habits:
    """Pool one person's line and steadiness over the notes of one or more sessions.

    `told` holds the person beside the others, note by note, session by session. Who goes `astray`
    is no measure of anybody's line: with one who has the notes the other way round among them, the
    mean of the others is narrow and everybody else looks wide.
    """
    pooled = _scale([[part and part.without(astray) for part in note] for note in told])
    scale, scale_p = (None, None) if pooled is None else (pooled.scale, pooled.p)
    sure = settings.habit_p
    width = None if pooled is None else pooled.width(settings)
    stretch = scale if width is AssessorWord.WIDER and scale is not None else 1.0
    unsteady, unsteady_p = _unsteady(name, repeats, stretch, settings.permutations)
    less = bool(unsteady and unsteady_p and unsteady_p <= sure)
    less = less and (unsteady or 0.0) > settings.unsteady_multiple
    return Habits(scale, scale_p, unsteady, unsteady_p, width, less)


@dataclass(frozen=True)
class _Pooled:
    """Points for one point of the others; `low` and `high` leave out the note furthest off.

    The note as a whole, in all sessions: one that is read the other way round is no narrow line.
    """

    scale: float
    p: float
    low: float
    high: float

    def width(self, settings: AgreementSettings) -> AssessorWord | None:
        """A line that is wider or narrower, and not by one note alone."""
        if self.p > settings.habit_p:
            return None
        if self.low > settings.habit_multiple:
            return AssessorWord.WIDER
        return AssessorWord.NARROWER if self.high < 1.0 / settings.habit_multiple else None


def pooled_scale(told: OwnTold) -> float | None:
    """Points for one point of the others over all notes; None where too little is known."""
    found = _scale(told)
    return None if found is None else found.scale


def _scale(told: OwnTold) -> _Pooled | None:
    """Points for one point of the others over all notes, and how likely by chance.

    With c the others' means (n of them, variance s2 a cell, J glasses), ``V = sum c^2 -
    s2 (J - 1) / n`` is the squares of the samples alone, and ``S(y, c) - V`` is centred on 0 for
    one who uses the line as the others do. Its variance is ``s2_own sum c^2 + s2 V / n +
    2 s2^2 (J - 1) / n^2``, each note over its own s2; the first term is taken from the person's
    own residuals, glass by glass where that is more, so that notes which go astray together in
    a glass count once.
    """
    each: list[tuple[int, float, float]] = []
    others, df = 0.0, 0
    pairs: list[tuple[Told, Vector, Vector]] = []
    for at, note in ((at, part) for at, by in enumerate(told) for part in by if part is not None):
        own, c = note.both
        if note.noise <= 1e-9 or len(c) < 3:
            continue
        j, n = len(c) - 1, note.n_others
        v = max(float(c @ c) / note.noise - j / n, 0.0)
        each.append((at, float(own @ c) / note.noise, v))
        others += v / n + 2.0 * j / n**2
        df += j
        pairs.append((note, own, c))
    if not each:
        return None
    of = np.unique([at for at, _, _ in each], return_inverse=True)[1]
    products, squares = (np.bincount(of, [part[k] for part in each]) for k in (1, 2))
    if squares.sum() <= 0.0 or df < _LEAST_DF:
        return None
    t = (products.sum() - squares.sum()) / np.sqrt(_own_error(pairs, df) + others)
    scale = float(products.sum() / squares.sum())
    without = scale
    left = squares.sum() - squares
    if len(products) > 1 and (left > 0.0).all():
        without = (products.sum() - products) / left
    return _Pooled(
        scale=scale,
        p=t_two_sided(float(t), df - 1),
        low=min(scale, float(np.min(without))),
        high=max(scale, float(np.max(without))),
    )


def _own_error(pairs: Sequence[tuple[Told, Vector, Vector]], df: int) -> float:
    """Variance of ``sum y c`` by the person's own noise, at least that of whole glasses."""
    all_own = np.concatenate([own / np.sqrt(note.noise) for note, own, _ in pairs])
    all_c = np.concatenate([c / np.sqrt(note.noise) for note, _, c in pairs])
    cc = float(all_c @ all_c)
    left = all_own - (all_own @ all_c) / cc * all_c
    plain = float(left @ left) / (df - 1) * cc
    glasses = np.concatenate(
        [
            np.array(note.samples)[~(np.isnan(note.own) | np.isnan(note.others))]
            for note, _, _ in pairs
        ]
    )
    codes = np.unique(glasses, return_inverse=True)[1]
    by_glass = np.bincount(codes, left * all_c)
    n = len(by_glass)
    return max(plain, float(by_glass @ by_glass) * n / max(n - 1, 1))


def _unsteady(
    name: str, repeats: Sequence[Repeats], stretch: float, draws: int
) -> tuple[float | None, float | None]:
    """Distance between two nosings for one of the others, and how likely by chance.

    A repeated glass gives one value a person, the mean over its notes; under the null a person
    may have had anybody's value of each glass. So heavy tails, and notes that go astray
    together, count as what they are.
    """
    events = [
        {who: float(np.mean(values)) for who, values in people.items()}
        for session in repeats
        for _, people in sorted(session.apart.items())
        if name in people and len(people) > 1
    ]
    if not events:
        return None, None
    own = sum(people[name] for people in events) / stretch
    others = sum(
        float(np.mean([value for who, value in people.items() if who != name])) for people in events
    )
    rng = np.random.default_rng(len(events))
    drawn = np.zeros(draws)
    for people in events:
        values = np.array([people[who] / (stretch if who == name else 1.0) for who in people])
        drawn += values[rng.integers(len(values), size=draws)]
    p = (1.0 + float(np.count_nonzero(drawn >= own - 1e-9))) / (draws + 1.0)
    return (own / others if others > 0.0 else None), p
