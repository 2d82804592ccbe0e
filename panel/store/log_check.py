"""Reading the log from its first entry to its last: does it hold, and what does it vouch for?"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select, type_coerce
from sqlalchemy.orm import Session
from sqlalchemy.types import NullType

from panel.store.log import ENTRIES, FIRST_LINK, HEADS, digest_of, link
from panel.store.rows import plain_value

AT_ONCE = 5_000
ONLY = 1
"""The number of the one row that says where the log ends."""
HISTORY = frozenset(
    {"score_change", "own_score_change", "answer_change", "serving_mark", "key_row"}
)
"""Tables whose rows no entry tells of twice, unless a person is erased by it."""
FACTS = frozenset({"at", "rows", "all", "cleared", "cleared_links", "sealed"})


@dataclass
class LogReading:
    """What the log says, and what is wrong with it (numbers are those of entries)."""

    entries: int = 0
    head: str = FIRST_LINK
    broken_at: int | None = None
    emptied: list[int] = field(default_factory=list)
    misnamed: list[int] = field(default_factory=list)
    """Entries that name one as cleared that is not there before them, or is not cleared."""
    misdated: list[int] = field(default_factory=list)
    retold: dict[str, list[str]] = field(default_factory=dict)
    cut: bool = False
    taken_over_at: int | None = None
    rows: dict[str, dict[str, bytes | None]] = field(default_factory=dict)
    sealed: dict[str, str] = field(default_factory=dict)
    heads_found: set[str] = field(default_factory=set)

    @property
    def sound(self) -> bool:
        """Tell whether nothing is wrong with the log itself."""
        wrong = (self.emptied, self.misnamed, self.misdated, self.retold, self.cut)
        return self.broken_at is None and not any(wrong)


@dataclass(frozen=True)
class _Entry:
    number: int
    body: str | None
    nonce: str | None
    digest: str
    chain: str
    kept: str | None
    written_at: object


@dataclass
class _Clearings:
    """Entries without a body, by number with their links, and what erasures name as cleared."""

    bare: dict[int, str] = field(default_factory=dict)
    told: dict[int, list[int | str]] = field(default_factory=dict)
    """By the entry that tells: links; numbers where it was written by an older program."""

    def settle(self, reading: LogReading) -> None:
        """Lay the two side by side: each must be in the other, and told of later than it is."""
        number_of = {chain: number for number, chain in self.bare.items()}
        named = set[int]()
        for telling, each in self.told.items():
            found = [number_of.get(one, 0) if isinstance(one, str) else one for one in each]
            meant = {one for one in found if one in self.bare and one < telling}
            if len(meant) < len(each):
                reading.misnamed.append(telling)
            named |= meant
        reading.emptied = [number for number in self.bare if number not in named]


def read_log(connection: Connection, heads: Sequence[str] = ()) -> LogReading:
    """Read the log through; *heads* are first digits of chain values to look for in it."""
    reading, clearings = LogReading(), _Clearings()
    for entry in _entries(connection):
        if reading.broken_at is None and not _fits(entry, reading.head):
            reading.broken_at = entry.number
        reading.entries += 1
        reading.head = str(entry.chain)
        reading.heads_found |= {head for head in heads if reading.head.startswith(head)}
        if entry.body is None or entry.nonce is None:
            clearings.bare[entry.number] = str(entry.chain)
        _take_facts(reading, entry, clearings)
    clearings.settle(reading)
    reading.cut = _ends_elsewhere(connection, reading)
    return reading


def broken_link(db: Session) -> int | None:
    """Return the number of the first entry whose hash does not fit, or None."""
    return read_log(db.connection()).broken_at


def _entries(connection: Connection) -> Iterator[_Entry]:
    names = ("id", "body_json", "nonce_hex", "digest_hex", "chain_hex", "kept_json", "written_at")
    columns = [type_coerce(ENTRIES.c[name], NullType()) for name in names]
    # In portions by number: a server would send the whole log at once.
    last = 0
    while True:
        asked = select(*columns).where(ENTRIES.c.id > last).order_by(ENTRIES.c.id).limit(AT_ONCE)
        portion = [_entry(row) for row in connection.execute(asked)]
        yield from portion
        if len(portion) < AT_ONCE:
            return
        last = portion[-1].number


def _entry(row: Sequence[Any]) -> _Entry:
    return _Entry(*row)


def _fits(entry: _Entry, previous: str) -> bool:
    try:
        if link(previous, entry.digest, entry.kept) != entry.chain:
            return False
        if entry.body is None and entry.nonce is None:
            return True
        if entry.body is None or entry.nonce is None:
            return False
        return digest_of(entry.nonce, entry.body) == entry.digest
    except (ValueError, TypeError, AttributeError):
        return False


def _take_facts(reading: LogReading, entry: _Entry, clearings: _Clearings) -> None:
    facts = _facts(entry)
    if facts is None:
        reading.broken_at = entry.number if reading.broken_at is None else reading.broken_at
        return
    if _moment(entry, facts) not in (None, plain_value(entry.written_at)):
        reading.misdated.append(entry.number)
    if "cleared" in facts:
        clearings.told[entry.number] = list(facts.get("cleared_links", facts["cleared"]))
    for session, seal in facts.get("sealed", {}).items():
        reading.sealed.setdefault(session, str(seal["hash"]))
    if facts.get("all"):
        reading.taken_over_at, reading.rows = entry.number, {}
    for table, told in facts.get("rows", {}).items():
        _take_rows(reading, table, told, may_retell="cleared" in facts)


def _moment(entry: _Entry, facts: dict[str, Any]) -> object:
    """Return when an entry says it was written; the oldest say it in their body, if at all."""
    if "at" in facts or entry.body is None:
        return facts.get("at")
    try:
        return plain_value(datetime.fromisoformat(json.loads(entry.body)["at"]))
    except (ValueError, TypeError, KeyError):
        return None


def _facts(entry: _Entry) -> dict[str, Any] | None:
    if entry.kept is None:
        return {}
    try:
        facts = json.loads(entry.kept)
    except (ValueError, TypeError):
        return None
    return facts if isinstance(facts, dict) and facts.keys() <= FACTS else None


def _take_rows(
    reading: LogReading, table: str, told: dict[str, str | None], *, may_retell: bool
) -> None:
    known = reading.rows.setdefault(table, {})
    for key, digest in told.items():
        stated = None if digest is None else bytes.fromhex(digest)
        before = known.get(key)
        if table in HISTORY and not may_retell and before is not None and before != stated:
            reading.retold.setdefault(table, []).append(key)
        known[key] = stated


def _ends_elsewhere(connection: Connection, reading: LogReading) -> bool:
    ends = connection.execute(select(HEADS.c.id, HEADS.c.entries, HEADS.c.chain_hex)).all()
    return [tuple(end) for end in ends] != [(ONLY, reading.entries, reading.head)]
