"""What `db check` says of log, records and tables: what was changed past the program, and how."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.store.findings import Finding, Level, Way
from panel.store.log import ENTRIES, HEADS
from panel.store.log_check import LogReading, read_log
from panel.store.lost_stretch import lost_after
from panel.store.row_check import RowEdits, edited_rows
from panel.store.seen import Seen, last_seen
from panel.store.shape_check import strange_shapes, whole_tables
from panel.store.tables import METADATA

NAMED_AT_MOST = 5
WHAT_TO_DO = (
    "Somebody wrote past the program. Compare with the last backup before (`oakpanel db backup` "
    "makes one), and put right through the program what is wrong."
)


def log_findings(db: Session, url: URL, head: str | None = None) -> Iterator[Finding]:
    """Give what there is to say; *head* is the first digits of one that was printed."""
    connection = db.connection()
    yield _shape_finding(strange_shapes(connection))
    if len(whole_tables(connection, [ENTRIES.name, HEADS.name])) < 2:
        words = "There is no log to read, so that nothing vouches for the records."
        yield Finding("log", Level.FAULT, words, Way.FILE)
        return
    seen = last_seen(url)
    reading = read_log(connection, [each for each in (head, seen and seen.head) if each])
    yield _log_finding(reading)
    yield from _taken_over(reading)
    bound = [name for name, table in METADATA.tables.items() if "row_nonce" in table.columns]
    yield _row_finding(edited_rows(connection, reading, whole_tables(connection, bound)), reading)
    if head is not None:
        yield _head_finding(db, head, reading)
    yield _seen_finding(seen, reading)


def _shape_finding(strange: Sequence[str]) -> Finding:
    if not strange:
        words = "Tables and rules are those of this program; there is no trigger."
        return Finding("tables", Level.GOOD, words, Way.FILE)
    more = f" and {len(strange) - NAMED_AT_MOST} more" if len(strange) > NAMED_AT_MOST else ""
    words = f"The tables were changed: {'; '.join(strange[:NAMED_AT_MOST])}{more}."
    return Finding("tables", Level.FAULT, f"{words} {WHAT_TO_DO}", Way.FILE)


def _log_finding(reading: LogReading) -> Finding:
    if reading.sound:
        words = f"The chain of the log holds ({in_digits(reading.entries, ',')} entries)."
        return Finding("log", Level.GOOD, words, Way.FILE)
    words = f"{' '.join(_log_faults(reading))} Compare with the hash on the printed sheets."
    return Finding("log", Level.FAULT, words, Way.FILE)


def _log_faults(reading: LogReading) -> Iterator[str]:
    if reading.broken_at is not None:
        number = reading.broken_at
        yield f"The log was changed at entry {number} or before: its chain does not hold."
    elif reading.cut:
        yield (
            "The log does not end where it should: entries were cut off or put in, or the row that "
            "says where it ends was changed or is not alone."
        )
    if reading.emptied:
        which = _named([str(number) for number in reading.emptied])
        yield f"Entries were emptied, and no erasure names them: {which}."
    if reading.misnamed:
        which = _named([str(number) for number in reading.misnamed])
        yield f"What entry {which} names as emptied holds something, or is not there."
    if reading.misdated:
        which = _named([str(number) for number in reading.misdated])
        yield f"The time beside an entry is not that of the entry: {which}."
    for table, keys in sorted(reading.retold.items()):
        yield f"The log tells twice of what is never changed ({table} {_named(keys)})."


def _taken_over(reading: LogReading) -> Iterator[Finding]:
    if reading.taken_over_at is None:
        return
    words = (
        f"Entry {reading.taken_over_at}, of an upgrade, vouches for the records as it found them; "
        "what was changed before it cannot be checked."
    )
    yield Finding("before", Level.GOOD, words)


def _row_finding(edits: Sequence[RowEdits], reading: LogReading) -> Finding:
    if not edits:
        stand = (digest is not None for told in reading.rows.values() for digest in told.values())
        words = f"All {in_digits(sum(stand), ',')} records are as the log vouches for them."
        return Finding("records", Level.GOOD, words, Way.FILE)
    told = [
        f"{what}: {'; '.join(f'{each.table} {_named(getattr(each, name))}' for each in some)}."
        for what, name in (("Changed", "changed"), ("Added", "added"), ("Taken away", "gone"))
        if (some := [each for each in edits if getattr(each, name)])
    ]
    words = f"Records are not as the log vouches for them. {' '.join(told)} {WHAT_TO_DO}"
    return Finding("records", Level.FAULT, words, Way.FILE)


def _named(keys: Sequence[str]) -> str:
    more = len(keys) - NAMED_AT_MOST
    return ", ".join(keys[:NAMED_AT_MOST]) + (
        (f" and {in_digits(more, ',')} more") if more > 0 else ""
    )


def _head_finding(db: Session, head: str, reading: LogReading) -> Finding:
    if head in reading.heads_found:
        return Finding("head", Level.GOOD, f"The log leads on from {head}.", Way.HEAD)
    if reading.sound and (moment := lost_after(db, head)) is not None:
        words = (
            f"The head {head} was printed after the backup of {moment}, which was put back since: "
            "what the log told between the two is in the copy that was kept then."
        )
        return Finding("head", Level.WARNING, words, Way.HEAD)
    words = (
        f"No entry of the log has the head {head}: since it was printed the log was rewritten or "
        "cut, or an older copy was put in its place."
    )
    return Finding("head", Level.FAULT, words, Way.HEAD)


def _seen_finding(seen: Seen | None, reading: LogReading) -> Finding:
    if seen is None:
        words = "This account has seen no head of this database before."
        return Finding("last seen", Level.GOOD, words, Way.SEEN)
    if seen.head in reading.heads_found:
        words = f"The log leads on from the head that this account saw last ({seen.head[:12]})."
        return Finding("last seen", Level.GOOD, words, Way.SEEN)
    words = (
        f"The head that this account saw last ({seen.head[:12]}, after "
        f"{in_digits(seen.entries, ',')} entries) "
        "is not in the log: it was rewritten or cut since, or an older copy was put in its place. "
        "Where a backup was put back on purpose: `oakpanel db check --seen-anew`."
    )
    return Finding("last seen", Level.FAULT, words, Way.SEEN)
