"""From a scores frame to one column of scores a descriptor, all on the same glasses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from ..array_types import Codes, Flags, Matrix, Names, Vector
from ..errors import FrameError
from ..frame_columns import NameCodes, ScoreCodes, distinct, number, or_none
from ..order import is_smoke, order_columns
from .layout import Glasses, sums

ABOUT_SAMPLE = ["cask", "filling", "kind", "drawn_on", "age_years"]


@dataclass(frozen=True)
class ScoreTable:
    """All glasses by all descriptors; NaN where a line was not scored.

    Attributes
    ----------
    filling
        Code of the filling of each sample; a sample without one is a filling of its own.
    scores
        Shape (glasses, descriptors).
    order
        What each glass has of place and of smoke before it, (glasses, 2).
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
    order: Matrix


@dataclass(frozen=True)
class NoteGlasses:
    """The glasses one descriptor was scored on, with codes without gaps.

    Attributes
    ----------
    assessor_ids, sample_ids
        What the codes of `glasses` are in the table.
    order
        As in the table.
    """

    glasses: Glasses
    y: Vector
    assessor_ids: Codes
    sample_ids: Codes
    order: Matrix

    @property
    def n_scores(self) -> Codes:
        """Scores of each sample."""
        return np.bincount(self.glasses.sample, minlength=len(self.sample_ids))

    @property
    def n_found(self) -> Codes:
        """Scores above 0 of each sample."""
        found = self.glasses.sample[self.y > 0.0]
        return np.bincount(found, minlength=len(self.sample_ids))

    @cached_property
    def visits(self) -> tuple[Codes, Codes]:
        """Session and sample of each sample's visits to a session, each once."""
        g = self.glasses
        pairs = distinct(g.sample * g.n_sessions + g.session, g.n_samples * g.n_sessions)
        return pairs % g.n_sessions, pairs // g.n_sessions

    @property
    def n_sessions(self) -> Codes:
        """Sessions of each sample."""
        return np.bincount(self.visits[1], minlength=len(self.sample_ids))

    @property
    def raw_mean(self) -> Vector:
        """Plain mean of the scores of each sample."""
        total = sums(self.glasses.sample, self.y, len(self.sample_ids))
        found: Vector = total / self.n_scores
        return found


def tabulate(frame: pd.DataFrame, codes: ScoreCodes) -> ScoreTable:
    """Lay out checked scores on the house scale; `codes` are its rows as numbers."""
    session, assessor = codes.session.without_gaps(), codes.assessor.without_gaps()
    sample, descriptor = codes.sample.without_gaps(), codes.descriptor.without_gaps()
    row, n_glasses = number(codes.glass, int(codes.glass.max()) + 1)
    some = np.empty(n_glasses, dtype=np.intp)
    some[row] = np.arange(len(row))
    scores = np.full((n_glasses, len(descriptor.names)), np.nan)
    scores[row, descriptor.codes] = frame["score"].to_numpy()
    of_glass = session.codes[some], assessor.codes[some], sample.codes[some]
    position = frame["position"].to_numpy(dtype=np.float64)[some]
    return ScoreTable(
        sessions=session.names,
        assessors=assessor.names,
        samples=sample.names,
        descriptors=descriptor.names,
        session=of_glass[0],
        assessor=of_glass[1],
        sample=of_glass[2],
        filling=_fillings(frame["filling"], sample),
        scores=scores,
        order=_order(of_glass, position, scores[:, [is_smoke(name) for name in descriptor.names]]),
    )


def _order(of_glass: tuple[Codes, Codes, Codes], position: Vector, told: Matrix) -> Matrix:
    """What each glass has of place and of smoke before it; 0 where places are not on record.

    `told` are the scores of the notes that tell of smoke: that of a glass is the panel's mean.
    """
    session, assessor, sample = of_glass
    if np.isnan(position).all():
        return np.zeros((len(position), 2))
    flight = session * (int(sample.max()) + 1) + sample
    n = sums(flight, np.sum(~np.isnan(told), axis=1), int(flight.max()) + 1)
    total = sums(flight, np.nansum(told, axis=1), len(n))
    smoke = np.divide(total, n, out=np.full_like(n, np.nan), where=n > 0.0)[flight]
    tray = session * (int(assessor.max()) + 1) + assessor
    return order_columns(tray, position, smoke, session)


def part_of(table: ScoreTable, descriptor: int) -> NoteGlasses:
    """The glasses of one descriptor."""
    y = table.scores[:, descriptor]
    rows = np.flatnonzero(~np.isnan(y))
    _, session = _dense(table.session[rows])
    assessor_ids, assessor = _dense(table.assessor[rows])
    sample_ids, sample = _dense(table.sample[rows])
    _, filling = _dense(table.filling[sample_ids])
    glasses = Glasses(session, assessor, sample, filling)
    return NoteGlasses(glasses, y[rows], assessor_ids, sample_ids, table.order[rows])


def about_samples(frame: pd.DataFrame, codes: ScoreCodes) -> pd.DataFrame:
    """One row a sample; refuse a sample that is two things."""
    sample = codes.sample.without_gaps()
    values = {name: pd.factorize(frame[name])[0] for name in ("cask", "filling")}
    values["kind"] = np.where(_names_kind(frame, sample), codes.kind.codes, -1)
    known = {name: value >= 0 for name, value in values.items()}
    known |= {name: frame[name].notna().to_numpy() for name in ("drawn_on", "age_years")}
    first = {name: _first_row(sample, known[name]) for name in ABOUT_SAMPLE}
    _refuse_torn(sample, values, first)
    about = {name: frame[name].reindex(rows).reset_index(drop=True) for name, rows in first.items()}
    about |= {name: or_none(about[name]) for name in ("cask", "filling")}
    last = frame["held_on"].groupby(sample.codes).max().reset_index(drop=True)
    return pd.DataFrame({"sample": sample.names, **about, "last_nosed": last})


def _names_kind(frame: pd.DataFrame, sample: NameCodes) -> Flags:
    """Say which rows name the kind of their sample.

    A reference can be a glass among others on another day, and a cask's draw a hidden reference: a
    sample of a filling is what it is beside that, one of none is a reference once it stood as one.
    """
    reference = frame["kind"].eq("reference").to_numpy()
    filled = frame["filling"].notna().to_numpy()

    def some(rows: Flags) -> Flags:
        found = np.zeros(len(sample.names), dtype=np.bool_)
        found[sample.codes[rows]] = True
        return found[sample.codes]

    both = some(reference) & some(~reference)
    named: Flags = ~both | (reference != some(filled))
    return named


def _refuse_torn(
    sample: NameCodes, values: Mapping[str, Codes], first: Mapping[str, Codes]
) -> None:
    torn = np.zeros(len(sample.names), dtype=np.bool_)
    for name, value in values.items():
        own = np.append(value, -1)[first[name]]
        torn[sample.codes[(value >= 0) & (value != own[sample.codes])]] = True
    if torn.any():
        shown = ", ".join(sample.names[torn][:5])
        raise FrameError(
            "scores",
            [
                f"Sample {shown} belongs to more than one cask, filling or kind. Give each draw "
                "a sample name of its own."
            ],
        )


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


def _dense(codes: Codes) -> tuple[Codes, Codes]:
    """Values in use, and codes without gaps."""
    used = np.flatnonzero(np.bincount(codes)).astype(np.intp)
    place = np.zeros(int(used[-1]) + 1, dtype=np.intp)
    place[used] = np.arange(len(used))
    return used, place[codes]


def _first_row(sample: NameCodes, known: Flags) -> Codes:
    """First row of each sample of which something is known; beyond the last where none is."""
    rows = np.flatnonzero(known)
    first = np.full(len(sample.names), len(known), dtype=np.intp)
    np.minimum.at(first, sample.codes[rows], rows)
    return first


def _fillings(filling: pd.Series, sample: NameCodes) -> Codes:
    """Number the fillings in the order in which they come, then samples without one."""
    first = _first_row(sample, filling.notna().to_numpy())
    order = np.argsort(first, kind="stable")
    known = order[: np.count_nonzero(first < len(filling))]
    found = len(first) + np.arange(len(first))
    found[known] = pd.factorize(filling.iloc[first[known]])[0]
    return _dense(found.astype(np.intp))[1]
