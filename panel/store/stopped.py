"""Which glasses of a seat are stopped as not safe: numbers of glasses, and no reason to know more.

The database answers by a view, whatever is behind it: what is in a glass no booth can ask.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Integer, column, select, table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy.orm import Session

STOPPED = table("stopped_glass", column("serving_id", Integer))


def stopped_among(db: Session, glasses: Sequence[int]) -> frozenset[int]:
    """Return which of these glasses nobody noses any more, whoever called it.

    On a server the seat's token has to be shown first; glasses of another seat are never told.
    """
    if not glasses:
        return frozenset()
    asked = select(STOPPED.c.serving_id).where(STOPPED.c.serving_id.in_(glasses))
    return frozenset(db.scalars(asked))
