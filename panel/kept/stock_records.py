"""A digest of every column that the frames of the stock are made from.

The log ends elsewhere after each sign-in and each sheet, though no cask changed. So whole tables
of what is known of casks are told, whatever of them a frame reads; of sessions only what they say
of casks: who marked which fault, what was nosed last, and no code.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy import Table, select
from sqlalchemy.orm import Session

from panel.frames.draws import nosed_on
from panel.kept.keeping import told_at_head
from panel.kept.keys import digest_of, end_of
from panel.kept.records import digest_of_parts, rows_of
from panel.store.casks import Cask, EventReversal, Filling, FillingEvent, Make, Regauge
from panel.store.draws import Draw, DrawPart
from panel.store.engine import only_reads
from panel.store.house_setting import HouseSetting
from panel.store.log import head_hash
from panel.store.marks_of_fault import marks_by_filling
from panel.store.nosed import nosed_by_filling
from panel.store.releases import Release, ReleasePart
from panel.store.rule_sets import RuleLine, RuleSet

WHOLE = (
    *(Make, Cask, Filling, Regauge, FillingEvent, Draw, DrawPart, Release, ReleasePart),
    EventReversal,
    *(RuleSet, RuleLine, HouseSetting),
)
_TOLD = "oakpanel_stock_digest"


def stock_state(db: Session, as_of: date) -> str:
    """Return `stock_digest`, from what is kept while the log ends where it does."""
    at_head = digest_of(["stock records", asdict(end_of(db)), as_of])
    return told_at_head(db, at_head, lambda: stock_digest(db, as_of))


def stock_digest(db: Session, as_of: date) -> str:
    """Return a digest of all that the frames of the stock on a day are made from.

    In one session for reading it is reckoned once.
    """
    if not only_reads(db):
        return _digest(db, as_of)
    held: dict[tuple[str | None, date], str] = db.info.setdefault(_TOLD, {})
    asked = (head_hash(db), as_of)
    if asked not in held:
        held[asked] = _digest(db, as_of)
    return held[asked]


def _digest(db: Session, as_of: date) -> str:
    return digest_of_parts(_parts(db, as_of))


def _parts(db: Session, as_of: date) -> Iterator[Any]:
    for kind in WHOLE:
        table = kind.__table__
        if isinstance(table, Table):
            yield from rows_of(db, select(*table.columns).order_by(*table.primary_key.columns))
    yield sorted(marks_by_filling(db, as_of).items())
    yield sorted(nosed_by_filling(db, as_of).items())
    yield sorted(nosed_on(db, as_of).items())
