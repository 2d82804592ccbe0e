"""In which order a session was served, and what that does to the scores of one note."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ...array_types import Matrix, Vector
from ...frames import TEST_KINDS, on_house_scale
from ...order import (
    Drawn,
    draw_to_nothing,
    is_smoke,
    moved,
    order_columns,
    taken_out,
)
from ..indices.additive import Additive, additive
from ..indices.layout import ScoreLayout
from ..verdict.serving import Served
from .in_one_order import GLASS, ON_RECORD, classes_of

PLACE, SMOKE_BEFORE = "order_place", "order_smoke_before"
CLASS, ONE_ORDER = "order_class", "order_one"
ANOTHER_SESSION = 0.25
"""Share of the first spread by which sessions may differ in what order does."""
_YEAR = pd.Timedelta(days=365)
_LEAST_AGAIN = 4
"""Glasses nosed again across classes, before they are taken for knowledge."""


@dataclass(frozen=True)
class Serving:
    """In which order the test glasses of a session were served.

    Attributes
    ----------
    classes
        The samples of each class in their order; one class where every glass came before and
        after others.
    by_pouring
        Whether the classes are the pourings: every first glass before every second one.
    """

    served: Served
    classes: tuple[tuple[str, ...], ...] = ()
    by_pouring: bool = False


def with_order(scores: pd.DataFrame) -> pd.DataFrame:
    """Add to each row what its glass has of place and smoke before, and its class."""
    if scores.empty:
        return scores.assign(**{PLACE: 0.0, SMOKE_BEFORE: 0.0, CLASS: 0, ONE_ORDER: False})
    glass = scores.groupby(GLASS, sort=False).ngroup().to_numpy()
    first = np.unique(glass, return_index=True)[1]
    glasses = scores.iloc[first]
    session = pd.factorize(glasses["session"])[0].astype(np.intp)
    assessor = pd.factorize(glasses["assessor"])[0].astype(np.intp)
    tray = session * (int(assessor.max()) + 1) + assessor
    position = glasses["position"].to_numpy(dtype=np.float64)
    x = order_columns(tray, position, _smoke(scores, glasses), session)
    classes, one = np.zeros(len(glasses), dtype=np.intp), np.zeros(len(glasses), dtype=np.bool_)
    for code in range(int(session.max()) + 1):
        rows = np.flatnonzero(session == code)
        classes[rows], one[rows] = classes_of(glasses.iloc[rows])
    found = {PLACE: x[glass, 0], SMOKE_BEFORE: x[glass, 1]}
    return scores.assign(**found, **{CLASS: classes[glass], ONE_ORDER: one[glass]})


def serving_of(scores: pd.DataFrame) -> Serving:
    """Say in which order one session was served; `scores` come from :func:`with_order`."""
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    glasses = tests.drop_duplicates(["assessor", "sample", "replicate"])
    if float(glasses["position"].notna().mean()) < ON_RECORD:
        return Serving(Served.NOT_ON_RECORD)
    each = glasses.drop_duplicates(["sample", "replicate"])
    if in_one_order(each):
        return Serving(Served.ONE_ORDER)
    if each[CLASS].nunique() == 1:
        return Serving(Served.FREE)
    known = each.sort_values(CLASS, kind="stable")
    classes = tuple(
        tuple(sorted(set(part["sample"].astype(str)))) for _, part in known.groupby(CLASS)
    )
    numbers = [list(part["replicate"].unique()) for _, part in known.groupby(CLASS)]
    each_one = all(len(part) == 1 for part in numbers)
    poured = each_one and [part[0] for part in numbers] == sorted({part[0] for part in numbers})
    return Serving(Served.CLASSES, classes, poured)


def in_one_order(rows: pd.DataFrame) -> bool:
    """Whether everybody had these glasses in the same order; rows of one session."""
    return ONE_ORDER in rows and bool(rows[ONE_ORDER].any())


def _smoke(scores: pd.DataFrame, glasses: pd.DataFrame) -> Vector:
    """Smoke of each glass: the panel's mean of its sample over the notes that tell of it."""
    notes = [name for name in scores["descriptor"].unique() if is_smoke(name)]
    told = scores[scores["descriptor"].isin(notes)]
    if told.empty:
        return np.full(len(glasses), np.nan)
    means = on_house_scale(told).groupby(["session", "sample"])["score"].mean()
    wanted = pd.MultiIndex.from_frame(glasses[["session", "sample"]])
    found: Vector = means.reindex(wanted).to_numpy(dtype=np.float64)
    return found


def columns_of(rows: pd.DataFrame) -> Matrix:
    """Place and smoke before of each row."""
    return rows[[PLACE, SMOKE_BEFORE]].to_numpy(dtype=np.float64)


@dataclass(frozen=True)
class NoteOrder:
    """What order does to one note of one session.

    Attributes
    ----------
    effect
        Of place and smoke before, on the scale of the scores.
    spread
        Covariance that not knowing it better adds to the sample means.
    kept
        Share of the F of the samples that is left with it.
    n_again
        Glasses nosed again across classes, this session and twelve months.
    """

    effect: Drawn
    spread: Matrix
    kept: float
    n_again: int

    @property
    def mean_of_pairs(self) -> float:
        """Variance that it adds to the difference of two samples, the mean of all pairs."""
        n = len(self.spread)
        total = 2.0 * n * float(np.trace(self.spread)) - 2.0 * float(self.spread.sum())
        return total / (n * (n - 1))


def without_order(rows: pd.DataFrame, before: Drawn | None = None) -> tuple[pd.DataFrame, Drawn]:
    """Take the order out of the scores of one note, in one session or over several alike.

    `rows` come from :func:`with_order`; `before` is what is thought of it, by default nothing,
    on the scale of the scores.
    """
    low, high = (rows[name].to_numpy(dtype=np.float64) for name in ("scale_low", "scale_high"))
    points = float(high[0] - low[0]) / 100.0
    before = before or Drawn.before_looking(points)
    score, x = rows["score"].to_numpy(dtype=np.float64), columns_of(rows)
    if not x.any():
        return rows, before
    tests = rows["kind"].isin(TEST_KINDS).to_numpy()
    shift, _ = moved(score, x, low, high)
    session, assessor, sample = (
        pd.factorize(rows[name])[0].astype(np.intp) for name in ("session", "assessor", "sample")
    )
    tray = session * (int(assessor.max()) + 1) + assessor
    effect = draw_to_nothing(score[tests], shift[tests], tray[tests], sample[tests], before)
    return rows.assign(score=taken_out(score, x, effect, low, high)), effect


def note_order(
    layout: ScoreLayout, tests: pd.DataFrame, effect: Drawn, n_again: int = 0
) -> NoteOrder | None:
    """Say what is not known for not knowing the order's effect better.

    `tests` are the scores as given, `layout` holds them with the order taken out. None where
    the order is not on record.
    """
    x = columns_of(tests)
    if not x.any() or layout.constant:
        return None
    low, high = (tests[name].to_numpy(dtype=np.float64) for name in ("scale_low", "scale_high"))
    shift, _ = moved(tests["score"].to_numpy(dtype=np.float64), x, low, high)
    fit = additive(layout.means)
    if not fit.joined:
        return None
    along = np.column_stack([additive(table).columns for table in _tables(layout, tests, shift)])
    spread = along @ effect.covariance @ along.T
    return NoteOrder(effect, spread, _kept(fit, spread), n_again)


def _tables(layout: ScoreLayout, tests: pd.DataFrame, x: Matrix) -> list[Matrix]:
    """Means of each column by assessor and sample."""
    rows = np.searchsorted(np.array(layout.assessors), tests["assessor"].to_numpy(dtype=str))
    columns = np.searchsorted(np.array(layout.samples), tests["sample"].to_numpy(dtype=str))
    found = []
    for part in x.T:
        sums = np.zeros_like(layout.counts)
        np.add.at(sums, (rows, columns), part)
        empty = np.full_like(sums, np.nan)
        found.append(np.divide(sums, layout.counts, out=empty, where=layout.counts > 0))
    return found


def _kept(fit: Additive, spread: Matrix) -> float:
    """Share of the F of the samples that is left with the spread beside the noise."""
    noise = fit.variance
    if not noise > 0.0 or not fit.between > 0.0:
        return 1.0
    both = np.linalg.pinv(noise * fit.unit + spread, rcond=1e-10, hermitian=True)
    left = noise * float(fit.columns @ both @ fit.columns)
    return min(left / fit.between, 1.0)


def known_before(
    earlier: pd.DataFrame, session: pd.DataFrame, points: float
) -> tuple[Drawn | None, int]:
    """What glasses nosed again across classes said of one note in twelve months.

    Both come from :func:`with_order` and hold one note; the answer is in points of the scale
    of `session`. None where they are too few.
    """
    held = session["held_on"].max()
    recent = earlier[(earlier["held_on"] > held - _YEAR) & (earlier["held_on"] <= held)]
    rows = _again(recent)
    n, own = _n_again(rows), _n_again(_again(session))
    if n < _LEAST_AGAIN:
        return None, n + own
    house = on_house_scale(rows)
    cell = house.groupby(GLASS[:3], sort=False).ngroup().to_numpy()
    low, high = np.zeros(len(house)), np.full(len(house), 100.0)
    score = house["score"].to_numpy(dtype=np.float64)
    shift, _ = moved(score, columns_of(house), low, high)
    one = np.zeros(len(house), dtype=np.intp)
    found = draw_to_nothing(score, shift, cell.astype(np.intp), one, Drawn.before_looking())
    return found.loosened(ANOTHER_SESSION).times(points), n + own


def _again(rows: pd.DataFrame) -> pd.DataFrame:
    """Glasses of a sample that one assessor had in more than one class of a session."""
    if rows.empty:
        return rows
    tests = rows[rows["kind"].isin(TEST_KINDS)]
    cell = tests.groupby(GLASS[:3])[CLASS]
    return tests[(cell.transform("nunique") > 1).to_numpy()]


def _n_again(rows: pd.DataFrame) -> int:
    """How often somebody had a sample again: one less than their glasses of it in classes."""
    return len(rows[[*GLASS[:3], CLASS]].drop_duplicates()) - len(rows[GLASS[:3]].drop_duplicates())


def all_without_order(scores: pd.DataFrame) -> pd.DataFrame:
    """Take the order out of every note, over all sessions: what it does is much the same in each.

    Scores on the house line.
    """
    if scores["position"].isna().all():
        return scores
    ordered = with_order(scores)
    found = ordered["score"].to_numpy(dtype=np.float64).copy()
    for rows in ordered.groupby("descriptor", sort=False).indices.values():
        found[rows] = without_order(ordered.iloc[rows])[0]["score"].to_numpy()
    return ordered.assign(score=found)
