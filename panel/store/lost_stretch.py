"""What a backup that is put back does not hold: entries of the log, scores, erasures.

The database that it replaces may be of another form or damaged: it is read in plain words, and what
cannot be read is said to be unknown.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.store.engine import sqlite_module
from panel.store.log import LogEntry

RESTORED = "database restored"
HEAD_DIGITS = 12
MOST_HEADS = 20_000
HEADS = "SELECT chain_hex FROM log_entry ORDER BY id"
LAST_MOMENT = "SELECT max(written_at) FROM log_entry"
PEOPLE = "SELECT id, code FROM person"
GLASS = (
    "FROM {table} g JOIN serving v ON v.id = g.serving_id "
    "JOIN panel_session s ON s.id = v.session_id JOIN person p ON p.id = v.person_id "
)
SCORES = (
    "SELECT s.name, p.code, v.code, v.pouring, d.name, g.value "
    + GLASS.format(table="score")
    + "JOIN descriptor_version w ON w.id = g.descriptor_version_id "
    "JOIN descriptor d ON d.id = w.descriptor_id"
)
OWN_SCORES = (
    "SELECT s.name, p.code, v.code, v.pouring, w.word, g.value "
    + GLASS.format(table="own_score")
    + "JOIN own_word w ON w.id = g.own_word_id"
)
Place = tuple[str, str, str, int, str]


@dataclass(frozen=True, order=True)
class LostScore:
    """A score that differs in the backup; `value` is None where it had been taken back since."""

    session: str
    assessor: str
    glass: str
    pouring: int
    line: str
    value: float | None


@dataclass(frozen=True)
class LostStretch:
    """What came after the backup. Without `known` the database before could not be read."""

    backup_of: str
    known: bool
    heads: tuple[str, ...] = ()
    scores: tuple[LostScore, ...] = ()
    erased_since: tuple[str, ...] = ()
    """Codes of people who were erased after the backup, and who are in it."""


def lost_stretch(before: Any, backup: Any) -> LostStretch:
    """Compare two databases, each a driver's connection; *before* may be None."""
    moment = str(backup.execute(LAST_MOMENT).fetchone()[0] or "before anything was done")
    backup_of = f"{moment[:16]} UTC" if moment[:1].isdigit() else moment
    if before is None:
        return LostStretch(backup_of, known=False)
    try:
        return LostStretch(
            backup_of,
            known=True,
            heads=_heads(before, backup),
            scores=_scores(before, backup),
            erased_since=_erased(before, backup),
        )
    except sqlite_module().Error:
        return LostStretch(backup_of, known=False)


def _heads(before: Any, backup: Any) -> tuple[str, ...]:
    kept = {row[0] for row in backup.execute(HEADS)}
    return tuple(str(row[0]) for row in before.execute(HEADS) if row[0] not in kept)


def _scores(before: Any, backup: Any) -> tuple[LostScore, ...]:
    lost = []
    for asked in (SCORES, OWN_SCORES):
        was, now = _given(before, asked), _given(backup, asked)
        changed = [place for place, value in was.items() if now.get(place) != value]
        lost += [LostScore(*place, was[place]) for place in changed]
        lost += [LostScore(*place, None) for place in now if place not in was]
    return tuple(
        sorted(lost, key=lambda each: (each.session, each.assessor, each.glass, each.line))
    )


def _given(database: Any, asked: str) -> Mapping[Place, float]:
    return {tuple(place): value for *place, value in database.execute(asked)}


def _erased(before: Any, backup: Any) -> tuple[str, ...]:
    """Return who stands in the backup by a code and was a pseudonym in the database before."""
    codes = dict(before.execute(PEOPLE).fetchall())
    people = backup.execute(PEOPLE).fetchall()
    gone = (code for number, code in people if codes.get(number, code) != code)
    return tuple(sorted(gone))


def lost_after(db: Session, head: str) -> str | None:
    """Return the moment of the backup after which a head of the log was lost, if it was.

    *head* is what was once printed, 12 digits or more.
    """
    asked = select(LogEntry.body_json).where(LogEntry.body_json.contains(f'"{RESTORED}"'))
    for body in db.scalars(asked.order_by(LogEntry.id)):
        told = json.loads(body or "{}")
        if head[:HEAD_DIGITS] in told.get("lost_heads", ()):
            return str(told["backup_of"])
    return None
