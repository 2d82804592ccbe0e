"""The frames of the stock, kept while no cask changes: a large house takes seconds to read them.

They hang on every record of the casks, see `panel.kept.stock_records`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel import frames
from panel.frames import draws
from panel.kept.answers import kept_answer
from panel.kept.stock_records import stock_state
from panel.store.casks import Filling

if TYPE_CHECKING:
    import pandas as pd

WORTH_KEEPING = 1_000
"""Fillings from which it is quicker to read a frame from a file than from the records."""


def draws_frame(db: Session, as_of: date) -> pd.DataFrame:
    """Return `panel.frames.draws.draws_frame`, from what is kept where it can be."""
    return _kept(db, as_of, ["draws"], lambda: draws.draws_frame(db, as_of))


def present_frame(db: Session, as_of: date, *, on: date | None = None) -> pd.DataFrame:
    """Return `panel.frames.draws.present_frame`, from what is kept where it can be."""
    return _kept(db, as_of, ["present", on or as_of], lambda: draws.present_frame(db, as_of, on=on))


def stock_frame(
    db: Session, as_of: date, *, besides_release: str | None = None, on: date | None = None
) -> pd.DataFrame:
    """Return `panel.frames.stock_frame`, from what is kept where it can be."""
    return _kept(
        db,
        as_of,
        ["stock", on or as_of, besides_release],
        lambda: frames.stock_frame(db, as_of, besides_release=besides_release, on=on),
    )


def _kept(
    db: Session, as_of: date, options: list[object], make: Callable[[], pd.DataFrame]
) -> pd.DataFrame:
    return kept_answer(
        db,
        "stock",
        options=[as_of, *options],
        reads=lambda: stock_state(db, as_of),
        reckon=make,
        keeps=_is_large(db),
    )


def _is_large(db: Session) -> bool:
    return (db.scalar(select(func.count()).select_from(Filling)) or 0) >= WORTH_KEEPING


def read_ahead(db: Session, as_of: date) -> None:
    """Read a large stock while something else takes long: most that is asked next needs it."""
    if _is_large(db):
        stock_frame(db, as_of)
