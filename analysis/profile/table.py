"""From a scores frame to one column of scores a descriptor, all on the same glasses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.errors import FrameError
from analysis.profile.layout import Codes, Glasses, Matrix, Vector, sums

ABOUT_SAMPLE = ["cask", "filling", "kind", "drawn_on", "age_years"]
Names = NDArray[np.object_]


@dataclass(frozen=True)
class Table:
    """All glasses by all descriptors; NaN where a line was not scored.

    Attributes
    ----------
    filling
        Code of the filling of each sample; a sample without one is a filling of its own.
    scores
        Shape (glasses, descriptors).
    """

    sessions: Names
    assessors: Names
    samples: Names
    descriptors: Names
    session: Codes
    assessor: Codes
    sample: Codes
    filling: Codes
    scores: Matrix


@dataclass(frozen=True)
class Part:
    """The glasses one descriptor was scored on, with codes without gaps.

    Attributes
    ----------
    assessor_ids, sample_ids
        What the codes of `glasses` are in the table.
    """

    glasses: Glasses
    y: Vector
    assessor_ids: Codes
    sample_ids: Codes

    @property
    def n_scores(self) -> Codes:
        """Scores of each sample."""
        return np.bincount(self.glasses.sample, minlength=len(self.sample_ids))

    @property
    def n_sessions(self) -> Codes:
        """Sessions of each sample."""
        g = self.glasses
        pairs = np.unique(g.sample.astype(np.int64) * g.n_sessions + g.session)
        return np.bincount(pairs // g.n_sessions, minlength=len(self.sample_ids))

    @property
    def raw_mean(self) -> Vector:
        """Plain mean of the scores of each sample."""
        total = sums(self.glasses.sample, self.y, len(self.sample_ids))
        found: Vector = total / self.n_scores
        return found


def tabulate(frame: pd.DataFrame) -> Table:
    """Lay out checked scores on the house scale."""
    names, codes = {}, {}
    for column in ("session", "assessor", "sample", "descriptor"):
        codes[column], names[column] = _coded(frame[column])
    replicate = pd.factorize(frame["replicate"], sort=True)[0]
    keys = np.zeros(len(frame), dtype=np.int64)
    for part, size in (
        (codes["session"], len(names["session"])),
        (codes["assessor"], len(names["assessor"])),
        (codes["sample"], len(names["sample"])),
        (replicate, int(replicate.max()) + 1),
    ):
        keys = keys * size + part
    _, first, row = np.unique(keys, return_index=True, return_inverse=True)
    scores = np.full((len(first), len(names["descriptor"])), np.nan)
    scores[row, codes["descriptor"]] = frame["score"].to_numpy()
    return Table(
        sessions=names["session"],
        assessors=names["assessor"],
        samples=names["sample"],
        descriptors=names["descriptor"],
        session=codes["session"][first],
        assessor=codes["assessor"][first],
        sample=codes["sample"][first],
        filling=_fillings(frame, codes["sample"], len(names["sample"])),
        scores=scores,
    )


def part_of(table: Table, descriptor: int) -> Part:
    """The glasses of one descriptor."""
    y = table.scores[:, descriptor]
    rows = np.flatnonzero(~np.isnan(y))
    _, session = _dense(table.session[rows])
    assessor_ids, assessor = _dense(table.assessor[rows])
    sample_ids, sample = _dense(table.sample[rows])
    _, filling = _dense(table.filling[sample_ids])
    glasses = Glasses(session, assessor, sample, filling)
    return Part(glasses, y[rows], assessor_ids, sample_ids)


def about_samples(frame: pd.DataFrame) -> pd.DataFrame:
    """One row a sample; refuse a sample that is two things."""
    known = frame[["sample", *ABOUT_SAMPLE]].drop_duplicates()
    counts = known.groupby("sample")[["cask", "filling", "kind"]].nunique()
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
    about = known.groupby("sample", as_index=False)[ABOUT_SAMPLE].first()
    last = frame.groupby("sample")["held_on"].max().rename("last_nosed").reset_index()
    return about.merge(last, on="sample")


def design_of(
    covariates: pd.DataFrame | None, samples: Sequence[str]
) -> tuple[Matrix, tuple[str, ...]]:
    """Columns of ``x`` for the samples, about the mean of those that have them.

    Samples without covariates, such as references, share a mean of their own.

    Raises
    ------
    FrameError
        When a covariate is no number.
    """
    if covariates is None or covariates.shape[1] == 0:
        return np.empty((len(samples), 0)), ()
    faults = [
        f"Covariate {name} holds what is no finite number. Give a number for each sample."
        for name in covariates.columns
        if not np.isfinite(pd.to_numeric(covariates[name], errors="coerce")).all()
    ]
    if faults:
        raise FrameError("covariates", faults)
    x = covariates.reindex(list(samples)).to_numpy(dtype=np.float64)
    lacking = np.isnan(x).any(axis=1)
    names = tuple(str(name) for name in covariates.columns)
    if lacking.all():
        return np.empty((len(samples), 0)), ()
    x = np.where(lacking[:, None], 0.0, x - x[~lacking].mean(axis=0))
    if lacking.any():
        return np.column_stack([x, lacking.astype(np.float64)]), (*names, "no covariates")
    return x, names


def _coded(column: pd.Series) -> tuple[Codes, Names]:
    codes, names = pd.factorize(column, sort=True)
    return codes.astype(np.intp), np.asarray(names, dtype=object)


def _dense(codes: Codes) -> tuple[Codes, Codes]:
    """Values in use, and codes without gaps."""
    used = np.flatnonzero(np.bincount(codes)).astype(np.intp)
    place = np.zeros(int(used[-1]) + 1, dtype=np.intp)
    place[used] = np.arange(len(used))
    return used, place[codes]


def _fillings(frame: pd.DataFrame, sample: Codes, n_samples: int) -> Codes:
    filling, names = pd.factorize(frame["filling"])
    found = len(names) + np.arange(n_samples)
    known = filling >= 0
    found[sample[known]] = filling[known]
    return _dense(found.astype(np.intp))[1]
