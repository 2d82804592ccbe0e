"""The casks with what the panel found in them, moved to a day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from ..ageing import NotesOnDay
from ..influences import Foretold
from ..profile.latest import in_cask
from ..vatting import Stock, stock_from_profile


def stock_on(casks: pd.DataFrame, notes: NotesOnDay, foretold: Foretold | None = None) -> Stock:
    """Return what a vatting is chosen from: the casks and their notes, both as of one day.

    Parameters
    ----------
    casks
        A casks frame whose ages, litres and strengths are those of the day of the notes.
    notes
        What the panel found, moved to the day.
    foretold
        Casks never nosed that may go in as well.
    """
    # Of two fillings in one cask, which the records bar both, one row says so.
    lying = in_cask(casks).drop_duplicates("cask", keep="last")
    stock = stock_from_profile(
        notes.profile, with_moves(lying, notes), as_of=notes.day, foretold=foretold
    )
    return with_growth(stock, notes)


def with_moves(casks: pd.DataFrame, notes: NotesOnDay) -> pd.DataFrame:
    """Return a casks frame with how each one's notes came to the day.

    `drawn_on`, `years_moved` and `moved` (how they could be moved) are missing of casks that
    nobody nosed.
    """
    moved = [notes.moved.get(str(filling)) for filling in casks["filling"]]
    drawn = [None if each is None else each.drawn_on for each in moved]
    cover = [None if each is None else each.cover.value for each in moved]
    return casks.assign(
        drawn_on=pd.Series(drawn, index=casks.index, dtype="object"),
        years_moved=[float("nan") if each is None else each.years for each in moved],
        moved=pd.Series(cover, index=casks.index, dtype="object"),
    )


def with_growth(stock: Stock, notes: NotesOnDay) -> Stock:
    """Return a stock with what the years since the draws did to its estimates."""
    grown, added = np.zeros_like(stock.sd), np.zeros_like(stock.sd)
    some = [name for name in notes.descriptors if name in stock.descriptors]
    columns, of = stock.columns_of(some), [notes.descriptors.index(name) for name in some]
    for row, filling in enumerate(stock.casks["filling"]):
        name = str(filling)
        if name in notes.grown:
            grown[row, columns] = notes.grown[name][of]
            added[row, columns] = notes.added_sd[name][of]
    return replace(stock, grown=grown, added_sd=added)
