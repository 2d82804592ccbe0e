"""What a house knows when the next session is chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import pandas as pd

from ..array_types import Flags, Matrix, Stack, Vector
from ..days import DAYS_A_YEAR
from ..frames import usable
from ..profile import Profile
from ..profile.latest import latest_draws
from ..vatting import Stock
from .panel import PanelNoise, panel_noise


@dataclass(frozen=True)
class Nosed:
    """What was nosed of the draw that stands for a cask.

    Attributes
    ----------
    n_glasses
        Glasses of any draw of the filling.
    """

    sample: str
    n_glasses: int
    last_nosed: date | None


@dataclass(frozen=True, eq=False)
class Known:
    """The casks as of a day with all that was nosed, and the people.

    Attributes
    ----------
    stock
        The joint posterior of the casks on the day of the decision: stale nosings moved there
        with the error that adds, casks never nosed foretold where they can be.
    profile
        What the samples were when they were nosed.
    nosed
        By cask.
    glasses
        Scores of each sample and assessor by note: columns `sample, assessor, descriptor, n`.
    n_sessions
        Sessions held.
    said_on
        The day on which it is asked, before that of the stock where bottles are filled later;
        that of the stock without it.
    """

    stock: Stock
    profile: Profile
    nosed: Mapping[str, Nosed]
    glasses: pd.DataFrame = field(repr=False)
    n_sessions: int
    said_on: date | None = None

    def panel(self, assessors: Sequence[str], notes: Sequence[str]) -> PanelNoise:
        """How some people read some notes."""
        return panel_noise(self.profile, assessors, notes)

    def years_since(self, cask: str) -> float | None:
        """Years from the last session that nosed a cask to the day on which it is asked."""
        nosed, day = self.nosed.get(cask), self.said_on or self.stock.as_of
        if nosed is None or nosed.last_nosed is None or day is None:
            return None
        return max(0.0, (day - nosed.last_nosed).days / DAYS_A_YEAR)

    def between(self, notes: Sequence[str]) -> tuple[Vector, Matrix]:
        """Mean and covariance of casks of which nothing is known."""
        columns = self.stock.columns_of(notes)
        found = self.stock.estimate[:, columns]
        mean = np.nan_to_num(np.nanmean(found, axis=0)) if len(found) else np.zeros(len(columns))
        held = self.profile.posterior
        if held is None or not set(notes) <= set(held.descriptors):
            return mean, np.diag(np.nan_to_num(np.nanvar(found, axis=0)))
        at = [held.descriptors.index(name) for name in notes]
        return mean, np.nan_to_num(held.between[np.ix_(at, at)])

    def common(self, notes: Sequence[str]) -> Vector:
        """Variance of what the level of the whole panel may be off on each note.

        As far as sessions tell more of it: what bench blends have shown of the panel stays.
        """
        held = self.profile.posterior
        if held is None:
            return np.zeros(len(notes))
        known = dict(zip(held.descriptors, np.nan_to_num(held.common).tolist(), strict=True))
        return np.array([known.get(note, 0.0) for note in notes])

    def counts(self, samples: Sequence[str], panel: PanelNoise) -> Stack:
        """Scores of each sample by each assessor on each note, (samples, assessors, notes)."""
        counts = np.zeros((len(samples), len(panel.assessors), len(panel.notes)))
        where = [
            {name: k for k, name in enumerate(names)}
            for names in (samples, panel.assessors, panel.notes)
        ]
        places = [
            self.glasses[column].map(place)
            for column, place in zip(("sample", "assessor", "descriptor"), where, strict=True)
        ]
        known = np.column_stack([place.notna().to_numpy(dtype=np.bool_) for place in places])
        here: Flags = np.asarray(known.all(axis=1))
        at = tuple(place[here].to_numpy(dtype=np.intp) for place in places)
        counts[at] = pd.to_numeric(self.glasses["n"]).to_numpy(dtype=np.float64)[here]
        return counts


def known_from(
    profile: Profile, scores: pd.DataFrame, stock: Stock, *, said_on: date | None = None
) -> Known:
    """Put together what the next session is chosen from.

    Parameters
    ----------
    profile
        The fit, over all sessions.
    scores
        The scores frame that it was fitted to.
    stock
        Casks with their notes on the day of the decision, see
        :func:`analysis.on_stock.stock_on` and :func:`analysis.vatting.stock_from_profile`.
    said_on
        The day on which it is asked, where the stock is that of a later day.

    Examples
    --------
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> from oakpanel.analysis.vatting import stock_from_profile
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": s, "filling": s, "replicate": r,
    ...      "descriptor": "smoke", "score": level + 2 * r}
    ...     for a in "AB" for s, level in [("x", 10), ("y", 40)] for r in (1, 2)
    ... ]
    >>> casks = pd.DataFrame({"cask": ["x", "y"], "filling": ["x", "y"], "age_years": 8.0,
    ...     "abv": 60.0, "bulk_l": 180.0})
    >>> scores = pd.DataFrame(rows)
    >>> profile = estimate_profile(scores)
    >>> found = known_from(profile, scores, stock_from_profile(profile, casks))
    >>> found.nosed["x"].n_glasses, found.n_sessions
    (4, 1)
    """
    used = usable(scores).scores
    keys = ["sample", "assessor", "descriptor"]
    glasses = used.groupby(keys, observed=True).size().rename("n").reset_index()
    fillings = {str(name) for name in stock.casks["filling"]}
    return Known(
        stock=stock,
        profile=profile,
        nosed=_nosed(profile, used, fillings),
        glasses=glasses.astype({name: "str" for name in keys}),
        n_sessions=int(used["session"].nunique()),
        said_on=said_on,
    )


def _nosed(profile: Profile, used: pd.DataFrame, fillings: set[str]) -> Mapping[str, Nosed]:
    latest = latest_draws(profile.estimates, fillings)
    latest = latest[latest["is_current"]]
    each = used[["filling", "sample", "session", "assessor", "replicate"]].drop_duplicates()
    owner = each["filling"].where(each["filling"].notna(), each["sample"]).astype("str")
    n = owner.value_counts().to_dict()
    owned = latest["filling"].where(latest["filling"].notna(), latest["sample"]).astype("str")
    dates = pd.to_datetime(latest["last_nosed"])
    there = dates.notna().tolist()
    days = [day.date() if on else None for day, on in zip(dates.tolist(), there, strict=True)]
    columns = (latest["cask"].tolist(), latest["sample"].tolist(), owned.tolist(), days)
    return {
        str(cask): Nosed(str(sample), int(n.get(filling, 0)), day)
        for cask, sample, filling, day in zip(*columns, strict=True)
    }
