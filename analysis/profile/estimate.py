"""From the scores frame to a profile of every sample."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
import threadpoolctl
from numpy.typing import NDArray

from analysis.agreement.crossed import Codes, Vector
from analysis.errors import FitError, FrameError, NoScoresError
from analysis.frames import on_house_scale, usable
from analysis.profile.links import components, links
from analysis.profile.model import Estimates, Glasses, ProfileModel
from analysis.profile.result import DescriptorFit, Profile
from analysis.profile.settings import ProfileSettings

_ABOUT_SAMPLE = ["cask", "filling", "kind", "drawn_on", "age_years"]
_KINDS = ("test", "trial", "market", "reference")


@dataclass(frozen=True)
class _Table:
    """All glasses by all descriptors; NaN where a line was not scored."""

    sessions: NDArray[np.str_]
    assessors: NDArray[np.str_]
    samples: NDArray[np.str_]
    descriptors: NDArray[np.str_]
    glasses: Glasses
    scores: NDArray[np.float64]


def estimate_profile(
    scores: pd.DataFrame,
    *,
    as_of: date | None = None,
    settings: ProfileSettings = ProfileSettings(),  # noqa: B008  (frozen)
) -> Profile:
    """Estimate what each sample is on each descriptor, over all sessions.

    Each descriptor has a mixed model of its own with random sample, assessor, session,
    assessor by session and assessor by sample; terms that the data cannot tell apart are left
    out with the reason. A sample nosed once is drawn towards the mean of all, a sample nosed
    often hardly.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions. The warm-up is no part
        of it; references are, they tie sessions together.
    as_of
        Use sessions held on or before this date only; one without a date is used.
    settings
        The standing panel and the statuses to use.

    Returns
    -------
    Profile
        In points of the 0-100 line; estimates are kept inside it.

    Raises
    ------
    FrameError
        With every fault of the frame, or a sample that belongs to two casks.
    NoScoresError
        When nothing is left to compute with.

    Examples
    --------
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "replicate": r, "descriptor": "smoke",
    ...      "score": level + shift + 3 * (r == 2) + ("AC".find(a) > 0) * (s == "y") * 4}
    ...     for a, shift in [("A", 0), ("B", 6), ("C", -2)]
    ...     for s, level in [("x", 10), ("y", 40), ("z", 70)] for r in (1, 2)
    ... ]
    >>> found = estimate_profile(pd.DataFrame(rows)).estimates
    >>> found.loc[found["sample"] == "z", "estimate"].round().tolist()
    [73.0]
    """
    used = usable(scores, keep=settings.keep, kinds=_KINDS)
    frame = used.scores
    if as_of is not None:
        late = frame["held_on"] > pd.Timestamp(as_of)
        frame = frame[~late]
    if frame.empty:
        raise NoScoresError(used.left_out)
    about = _about_samples(frame)
    table = _table(on_house_scale(frame))
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        parts = list(_fits(table, settings.standing_panel))
    estimates = pd.concat([part for part, _ in parts], ignore_index=True)
    estimates = estimates.merge(about, on="sample", how="left").sort_values(
        ["sample", "descriptor"], ignore_index=True
    )
    g = table.glasses
    return Profile(
        estimates=estimates[_COLUMNS],
        fits=tuple(fit for _, fit in sorted(parts, key=lambda part: part[1].descriptor)),
        links=links(table.sessions, table.samples, g.session, g.sample),
        as_of=as_of,
        n_scores=len(frame),
        left_out=used.left_out,
    )


_COLUMNS = [
    "sample",
    *_ABOUT_SAMPLE,
    "descriptor",
    "estimate",
    "se",
    "raw_mean",
    "n_scores",
    "n_sessions",
    "last_nosed",
    "component",
    "reason",
]


def _about_samples(frame: pd.DataFrame) -> pd.DataFrame:
    """One row a sample; refuse a sample that is two things."""
    known = frame[["sample", *_ABOUT_SAMPLE]].drop_duplicates()
    counts = frame.groupby("sample")[["cask", "filling", "kind"]].nunique()
    torn = counts[(counts > 1).any(axis=1)].index.tolist()
    if torn:
        shown = ", ".join(str(name) for name in torn[:5])
        raise FrameError(
            "scores",
            [
                f"Sample {shown} belongs to more than one cask, filling or kind. Give each draw "
                "a sample name of its own."
            ],
        )
    about = known.groupby("sample", as_index=False)[_ABOUT_SAMPLE].first()
    last = frame.groupby("sample")["held_on"].max().rename("last_nosed").reset_index()
    return about.merge(last, on="sample")


def _table(frame: pd.DataFrame) -> _Table:
    names, codes = {}, {}
    for column in ("session", "assessor", "sample", "descriptor"):
        values = frame[column].to_numpy(dtype=str)
        names[column], inverse = np.unique(values, return_inverse=True)
        codes[column] = inverse.astype(np.intp)
    replicate = pd.factorize(frame["replicate"], sort=True)[0]
    keys = np.stack([codes["session"], codes["assessor"], codes["sample"], replicate], axis=1)
    glasses, row = np.unique(keys, axis=0, return_inverse=True)
    scores = np.full((len(glasses), len(names["descriptor"])), np.nan)
    scores[row, codes["descriptor"]] = frame["score"].to_numpy()
    return _Table(
        sessions=names["session"],
        assessors=names["assessor"],
        samples=names["sample"],
        descriptors=names["descriptor"],
        glasses=Glasses(glasses[:, 0], glasses[:, 1], glasses[:, 2]),
        scores=scores,
    )


def _fits(
    table: _Table, standing: Sequence[str] | None
) -> list[tuple[pd.DataFrame, DescriptorFit]]:
    """Fit every descriptor; those scored on the same glasses share a design."""
    patterns: dict[bytes, list[int]] = {}
    present = ~np.isnan(table.scores)
    for column in range(present.shape[1]):
        patterns.setdefault(present[:, column].tobytes(), []).append(column)
    found = []
    for columns in patterns.values():
        shared = _Shared(table, np.flatnonzero(present[:, columns[0]]), standing)
        start: Mapping[str, float] | None = None
        for column in columns:
            frame, fit, start = shared.fit(column, start)
            found.append((frame, fit))
    return found


class _Shared:
    """The glasses that some descriptors were scored on."""

    def __init__(self, table: _Table, rows: Codes, standing: Sequence[str] | None) -> None:
        self.table, self.rows = table, rows
        g = table.glasses
        _, session = np.unique(g.session[rows], return_inverse=True)
        self.assessor_ids, assessor = np.unique(g.assessor[rows], return_inverse=True)
        self.sample_ids, sample = np.unique(g.sample[rows], return_inverse=True)
        self.glasses = Glasses(session, assessor, sample)
        self.model = ProfileModel(self.glasses)
        names = table.assessors[self.assessor_ids]
        wanted = np.ones(len(names), bool) if standing is None else np.isin(names, list(standing))
        self.panel = np.flatnonzero(wanted)
        self.panel_names = tuple(str(name) for name in names[wanted])
        self.component = components(self.glasses.session, self.glasses.sample)[1]

    def fit(
        self, column: int, start: Mapping[str, float] | None
    ) -> tuple[pd.DataFrame, DescriptorFit, Mapping[str, float] | None]:
        """Estimates and fit of one descriptor, and ratios for the next to start from."""
        y = self.table.scores[self.rows, column]
        name = str(self.table.descriptors[column])
        found, reason = self._estimates(y, start)
        frame = self._frame(name, y, found, reason)
        fit = DescriptorFit(
            descriptor=name,
            n_scores=len(y),
            variances=found.fit.components if found else {},
            residual=found.fit.residual if found else None,
            log_likelihood=found.fit.log_likelihood if found else None,
            left_out=self.model.terms.left_out,
            panel=self.panel_names,
            reason=reason,
        )
        return frame, fit, _inside(found.fit.ratios) if found else start

    def _estimates(
        self, y: Vector, start: Mapping[str, float] | None
    ) -> tuple[Estimates | None, str | None]:
        if not len(self.panel):
            return None, "nobody of the standing panel scored it"
        if np.ptp(y) == 0.0:
            return None, f"every score is the same ({y[0]:g})"
        if not self.model.estimable:
            return None, "no sample was scored twice, so noise cannot be told from difference"
        try:
            return self.model.estimates(y, self.panel, start), None
        except FitError as error:
            return None, str(error)

    def _frame(
        self, name: str, y: Vector, found: Estimates | None, reason: str | None
    ) -> pd.DataFrame:
        samples, q = self.glasses.sample, len(self.sample_ids)
        n = np.bincount(samples, minlength=q)
        pairs = np.unique(samples * (int(self.glasses.session.max()) + 1) + self.glasses.session)
        n_sessions = np.bincount(pairs // (int(self.glasses.session.max()) + 1), minlength=q)
        raw = np.bincount(samples, y, minlength=q) / n
        constant = float(y[0]) if np.ptp(y) == 0.0 else np.nan
        estimate = np.full(q, constant) if found is None else found.estimate
        se = np.full(q, np.nan) if found is None else np.sqrt(found.variance)
        return pd.DataFrame(
            {
                "sample": self.table.samples[self.sample_ids],
                "descriptor": name,
                "estimate": np.clip(estimate, 0.0, 100.0),
                "se": se,
                "raw_mean": raw,
                "n_scores": n,
                "n_sessions": n_sessions,
                "component": self.component,
                "reason": [reason or _apart(part) for part in self.component],
            }
        )


def _apart(component: int) -> str | None:
    if component == 0:
        return None
    return (
        "nosed only in sessions that share no glass with the others: do not compare it with "
        "their samples until a reference or a returning cask ties them together"
    )


def _inside(ratios: Mapping[str, float]) -> dict[str, float]:
    """Starting ratios for the next descriptor, none at zero."""
    return {name: min(max(value, 0.02), 20.0) for name, value in ratios.items()}
