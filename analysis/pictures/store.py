"""What is alike in the store: casks by notes, alike casks neighbours."""

from __future__ import annotations

import pandas as pd

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

    table = estimates.pivot_table(index="cask", columns="descriptor", values="estimate")
    whole = _whole(table)
    if len(whole) < 2:
        return None
    order = leaves_list(linkage(whole.to_numpy(), "average", optimal_ordering=True))
    shown = whole.iloc[order]
    left = len(table) - len(whole)
    if len(shown) > most:
        shown = shown.iloc[:: -(-len(shown) // most)]
    told = f" {left} more lack a note." if left else ""
    some = "" if len(shown) == len(whole) else f" Shown is one in {-(-len(whole) // most)}."
    notes = list(shown.columns)
    without = sorted(set(table.columns) - set(notes))
    told += f" Not shown, for too few casks have them: {', '.join(without)}." if without else ""
    return Picture(
        title="What is alike in the store?",
        says=f"{len(whole)} casks; neighbours are alike.{some}{told}",
        rows=tuple(Row(str(cask)) for cask in shown.index),
        facets=tuple(Facet(0.0, 100.0, str(note)) for note in notes),
        marks=tuple(
            Mark(Shape.BAR, row, 0.0, float(shown.iloc[row, column]), column)
            for row in range(len(shown))
            for column in range(len(notes))
        ),
    )


def _whole(table: pd.DataFrame) -> pd.DataFrame:
    """Casks that have all of the notes; the rarest notes are dropped until half are."""
    while len(table.columns) > 2 and len(table.dropna()) * 2 < len(table):
        table = table.drop(columns=table.isna().sum().idxmax())
    return table.dropna()
