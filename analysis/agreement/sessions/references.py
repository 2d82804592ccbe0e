"""The pours of the hidden reference, laid out for its charts."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ...array_types import Matrix, Vector
from ..indices.layout import additive_levels

LEAST_OVERLAP = 3
"""Sessions in which an old and a new batch of the reference were both nosed (house rule)."""


@dataclass(frozen=True)
class Series:
    """Values to draw a line through.

    Attributes
    ----------
    value
        In points of the 0-100 line.
    session
        Number of the session in order of dates.
    group
        Code of batch and note: values of one group share a level.
    batch
        Code of the batch.
    """

    value: Vector
    session: np.ndarray
    group: np.ndarray
    batch: np.ndarray


@dataclass(frozen=True)
class PanelLine:
    """The panel on the hidden reference: a value a session, in points off the middle.

    Values of one code in `level` share a level that nothing is known of beforehand.
    """

    session: np.ndarray
    off: Vector
    level: np.ndarray


@dataclass(frozen=True)
class Pours:
    """Every pour of a reference: one batch in one session.

    Attributes
    ----------
    session, batch
        Number of each pour's session, in order of dates, and code of its batch.
    adjusted
        For each descriptor the scores with each assessor's own level taken out, shape
        (assessors, pours); NaN where not scored.
    note
        What has to be known of the batches.
    """

    assessors: tuple[str, ...]
    sessions: tuple[str, ...]
    dates: Mapping[str, str | None]
    session: np.ndarray
    batch: np.ndarray
    adjusted: Mapping[str, Matrix]
    note: str | None

    @property
    def descriptors(self) -> tuple[str, ...]:
        """The notes there are, in the order asked for."""
        return tuple(self.adjusted)

    def without(self, moving: Collection[tuple[str | None, str | None]]) -> Pours:
        """The same with the scores of some assessors (on a note, or None: on all) left out.

        A note on which fewer than two would remain stays as it is.
        """
        kept = {}
        for note, table in self.adjusted.items():
            gone = [
                at
                for at, name in enumerate(self.assessors)
                if (name, note) in moving or (name, None) in moving
            ]
            rest = table.copy()
            rest[gone] = np.nan
            enough = (~np.isnan(rest)).any(axis=1).sum() > 1
            kept[note] = rest if enough else table
        return replace(self, adjusted=kept)

    def series(self, descriptor: str | None) -> Series:
        """Values of the panel on one note (None: on all)."""
        notes = self.descriptors if descriptor is None else (descriptor,)
        rows = [_middle(self.adjusted[note]) for note in notes]
        value = np.concatenate(rows)
        n_batches = int(self.batch.max()) + 1
        group = np.concatenate([self.batch + at * n_batches for at in range(len(notes))])
        known = ~np.isnan(value)
        codes = np.unique(group[known], return_inverse=True)[1] if known.any() else group[known]
        session = np.tile(self.session, len(notes))
        batch = np.tile(self.batch, len(notes))
        return Series(value[known], session[known], codes, batch[known])

    def panel(self, descriptor: str | None) -> PanelLine:
        """The panel session by session on one note (None: on all), levels of batches apart."""
        series = self.series(descriptor)
        if not len(series.value):
            return PanelLine(np.array([], dtype=int), series.value, np.array([], dtype=int))
        if descriptor is None and self.note is None:
            table = np.full((int(series.group.max()) + 1, len(self.sessions)), np.nan)
            table[series.group, series.session] = series.value
            off, batch = series.value - additive_levels(table)[series.group], 0 * series.group
        else:
            means = np.bincount(series.group, series.value) / np.bincount(series.group)
            off, batch = series.value - means[series.group], series.batch
        return _one_each(series.session, off, batch)


def pours_of(scores: pd.DataFrame, descriptors: Sequence[str]) -> Pours | None:
    """Lay out the references of a checked scores frame; None without any.

    Where no batch is given, each sample is taken for one.
    """
    rows = scores[(scores["kind"] == "reference") & scores["descriptor"].isin(list(descriptors))]
    if rows.empty:
        return None
    named = rows.assign(batch=rows["batch"].where(rows["batch"].notna(), rows["sample"]))
    named["batch"] = named["batch"].astype("str")
    days = named.groupby("session")["held_on"].min().reset_index()
    days = days.sort_values(["held_on", "session"], na_position="last")
    order = [str(name) for name in days["session"]]
    keys = named[["session", "batch"]].drop_duplicates().itertuples(index=False, name=None)
    poured = sorted(keys, key=lambda key: (order.index(key[0]), key[1]))
    people = sorted(set(named["assessor"]))
    tables = {
        str(note): _table(part, people, poured)
        for note, part in named.groupby("descriptor", sort=True)
    }
    session = np.array([order.index(name) for name, _ in poured])
    batch = np.unique([name for _, name in poured], return_inverse=True)[1]
    return Pours(
        assessors=tuple(people),
        sessions=tuple(order),
        dates={
            str(name): None if pd.isna(day) else str(day.date())
            for name, day in zip(days["session"], days["held_on"], strict=True)
        },
        session=session,
        batch=batch,
        adjusted=tables,
        note=_batch_note(session, batch),
    )


def _one_each(session: np.ndarray, off: Vector, batch: np.ndarray) -> PanelLine:
    """A value a session; where two batches were poured, of the one that was poured more often."""
    often = np.bincount(batch)
    sessions = np.unique(session)
    values, levels = [], []
    for one in sessions:
        here = session == one
        chosen = max(np.unique(batch[here]), key=lambda code: (often[code], -code))
        values.append(float(off[here & (batch == chosen)].mean()))
        levels.append(chosen)
    codes = np.unique(levels, return_inverse=True)[1]
    return PanelLine(sessions, np.array(values), codes)


def _middle(table: Matrix) -> Vector:
    """Median of each column; NaN where it is empty."""
    found = np.full(table.shape[1], np.nan)
    there = ~np.isnan(table).all(axis=0)
    found[there] = np.nanmedian(table[:, there], axis=0)
    return found


def _table(rows: pd.DataFrame, people: Sequence[str], poured: Sequence[tuple[str, str]]) -> Matrix:
    wide = rows.pivot_table(index="assessor", columns=["session", "batch"], values="score")
    columns = pd.MultiIndex.from_tuples(poured, names=["session", "batch"])
    means = wide.reindex(index=list(people), columns=columns).to_numpy(dtype=np.float64)
    there = ~np.isnan(means).all(axis=1)
    levels = np.zeros(len(people))
    levels[there] = additive_levels(means[there])
    adjusted: Matrix = means - levels[:, None]
    return adjusted


def _batch_note(session: np.ndarray, batch: np.ndarray) -> str | None:
    """Whether every batch hangs together with the first through enough shared sessions."""
    present = np.zeros((int(batch.max()) + 1, int(session.max()) + 1), dtype=int)
    present[batch, session] = 1
    shared = present @ present.T >= LEAST_OVERLAP
    reached = {0}
    while True:
        more = {int(j) for i in reached for j in np.flatnonzero(shared[i])} - reached
        if not more:
            break
        reached |= more
    if len(reached) == len(present):
        return None
    return (
        f"the reference changed batch without {LEAST_OVERLAP} sessions in which old and new were "
        "both nosed: movement is read within each batch, and a step between them is not seen"
    )
