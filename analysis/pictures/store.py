"""What is alike in the store: casks by notes, alike casks neighbours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Matrix
from .marks import Facet, Mark, Picture, Row, Shape

MOST_CASKS = 60


def what_is_alike(estimates: pd.DataFrame, *, most: int = MOST_CASKS) -> Picture | None:
    """Return the casks as rows of small bars, one a note; alike casks are neighbours.

    Parameters
    ----------
    estimates
        `cask, descriptor, estimate`, one row a cask and note. Notes that most casks lack are left
        out, and then the casks that lack one of the rest; both are told.

    Returns
    -------
    Picture or None
        None with fewer than two casks.

    Notes
    -----
    The order is that of the leaves of a tree by average linkage of Euclidean distances, turned so
    that neighbours are near (Bar-Joseph, Gifford & Jaakkola 2001, by scipy).
    """
    from scipy.cluster.hierarchy import leaves_list, linkage

    table = _table(estimates)
    whole = _whole(table)
    if len(whole.casks) < 2:
        return None
    order = leaves_list(linkage(whole.values, "average", optimal_ordering=True))
    step = -(-len(order) // most)
    shown, values = order[::step], whole.values.tolist()
    left = len(table.casks) - len(whole.casks)
    told = f" {left} more lack a note." if left else ""
    some = "" if step == 1 else f" Shown is one in {step}."
    without = sorted(set(table.notes) - set(whole.notes))
    told += f" Not shown, for too few casks have them: {', '.join(without)}." if without else ""
    return Picture(
        title="What is alike in the store?",
        says=f"{len(order)} casks; neighbours are alike.{some}{told}",
        rows=tuple(Row(whole.casks[at]) for at in shown),
        facets=tuple(Facet(0.0, 100.0, note) for note in whole.notes),
        marks=tuple(
            Mark(Shape.BAR, row, 0.0, value, column)
            for row, at in enumerate(shown)
            for column, value in enumerate(values[at])
        ),
    )


@dataclass(frozen=True)
class Table:
    """Casks by notes; nan where a cask lacks a note."""

    casks: tuple[str, ...]
    notes: tuple[str, ...]
    values: Matrix


def _table(estimates: pd.DataFrame) -> Table:
    """Lay out means of casks and notes; by hand, for a pivot takes longer than the drawing."""
    row, casks = pd.factorize(estimates["cask"], sort=True)
    column, notes = pd.factorize(estimates["descriptor"], sort=True)
    place = row * len(notes) + column
    room = len(casks) * len(notes)
    total = np.bincount(place, estimates["estimate"].to_numpy(dtype=np.float64), room)
    count = np.bincount(place, minlength=room)
    values = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return Table(
        tuple(map(str, casks)), tuple(map(str, notes)), values.reshape(len(casks), len(notes))
    )


def _whole(table: Table) -> Table:
    """Casks that have all of the notes; the rarest notes are dropped until half are."""
    lacks = np.isnan(table.values)
    kept = list(range(len(table.notes)))
    while len(kept) > 2 and 2 * (~lacks[:, kept].any(axis=1)).sum() < len(lacks):
        kept.pop(int(np.argmax(lacks[:, kept].sum(axis=0))))
    rows = np.flatnonzero(~lacks[:, kept].any(axis=1))
    return Table(
        tuple(table.casks[at] for at in rows),
        tuple(table.notes[at] for at in kept),
        table.values[rows][:, kept],
    )
