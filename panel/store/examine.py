"""`oakpanel db check`: is this database whole, ours alone, and does its log still hold?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from shutil import disk_usage

from sqlalchemy import String, Table, and_, func, select, text, type_coerce
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from panel.errors import OakpanelError
from panel.figures import in_digits
from panel.kinds import EventKind, SessionKind
from panel.store.casks import Filling, FillingEvent, standing
from panel.store.engine import Store, sqlite_module
from panel.store.erasing import unfinished_since
from panel.store.faults import shown
from panel.store.findings import Finding, Level, Way
from panel.store.guard_rows import LONGEST_WAIT_S, odd_guards
from panel.store.log_findings import WHAT_TO_DO, log_findings
from panel.store.off_history import off_history
from panel.store.off_line import all_off_line
from panel.store.opening import file_of
from panel.store.revisions import HEAD, REVISION_TABLE
from panel.store.sessions import PanelSession
from panel.store.shape_check import whole_tables
from panel.store.tables import METADATA

__all__ = ["Examination", "Finding", "Level", "Way", "examine"]

WAL_RESET_FROM, WAL_RESET_FIXED = (3, 7, 0), (3, 51, 3)
LITTLE_ROOM_BYTES = 200 * 2**20
NAMED_AT_MOST = 5
NAMED_SCORES = 100
SINGLE = (REVISION_TABLE, "log_head", "sign_in_secret")
COUNTED = (
    *("make", "cask", "filling", "filling_event", "regauge", "draw", "descriptor"),
    *("person", "panel_session", "serving", "score", "own_word", "own_score", "target", "release"),
    *("answer", "log_entry"),
)


Look = Callable[[Session], Iterator[Finding]]


@dataclass(frozen=True)
class Examination:
    """All that was found; `library` and `version` are the database program's own."""

    database: str
    library: str
    version: str
    revision: str
    findings: tuple[Finding, ...]
    counts: dict[str, int]

    json_also = ("worst",)

    @property
    def worst(self) -> Level:
        """The most serious level among the findings."""
        levels = {finding.level for finding in self.findings}
        order = (Level.FAULT, Level.WARNING)
        return next((level for level in order if level in levels), Level.GOOD)


def _quiet(_done: int, _whole: int) -> None:
    """Tell nobody."""


def examine(
    store: Store, head: str | None = None, *, tell: Callable[[int, int], None] = _quiet
) -> Examination:
    """Look at everything that can be wrong with an open database; nothing is changed.

    *head* is the first digits of a head of the log that was printed: it must be in the log still.
    *tell* is called with how many of the looks are done, and of how many.
    """
    on_file = store.url.get_backend_name() == "sqlite"
    with store.read() as db:
        library, version = _library(db, on_file=on_file)
        looks: list[Callable[[], Iterable[Finding]]] = [
            *([lambda: _file_findings(db, file_of(store.url), version)] if on_file else []),
            lambda: log_findings(db, store.url, head),
            *(partial(_looked, db, look) for look in EVERYWHERE),
            lambda: erasure_findings(unfinished_since(store)),
        ]
        findings: list[Finding] = []
        for done, look in enumerate(looks):
            tell(done, len(looks))
            findings += look()
        there = whole_tables(db.connection(), list(COUNTED))
        counts = {name: _count(db, METADATA.tables[name]) for name in there}
    return Examination(shown(store.url), library, version, HEAD, tuple(findings), counts)


def _looked(db: Session, look: Look) -> list[Finding]:
    """Look, and say so where it cannot be done: the tables or a value may have been changed."""
    try:
        with db.begin_nested():
            return list(look(db))
    except (DBAPIError, OakpanelError, ValueError, TypeError, LookupError):
        name = look.__name__.strip("_").removesuffix("_findings")
        words = "This could not be looked at: tables or values are not those of the program."
        return [Finding(name, Level.FAULT, words)]


def _library(db: Session, *, on_file: bool) -> tuple[str, str]:
    if on_file:
        module = sqlite_module()
        return str(module.__name__).split(".")[0], str(module.sqlite_version)
    return "postgresql", str(db.scalar(text("SHOW server_version")))


def _count(db: Session, table: Table) -> int:
    return db.scalar(select(func.count()).select_from(table)) or 0


def _file_findings(db: Session, path: Path, version: str) -> Iterator[Finding]:
    yield version_finding(version)
    found = [str(row[0]) for row in db.execute(text(f"PRAGMA integrity_check({NAMED_AT_MOST})"))]
    if found == ["ok"]:
        yield Finding("integrity", Level.GOOD, "The file is whole.")
    else:
        words = f"The file is damaged; go back to the last backup. First: {found[0]}"
        yield Finding("integrity", Level.FAULT, words)
    loose = db.execute(text("PRAGMA foreign_key_check")).all()
    yield _loose_finding(sorted({str(row[0]) for row in loose}), len(loose))
    yield permission_finding(path)
    yield _room_finding(disk_usage(path.parent).free)


def erasure_findings(since: str | None) -> Iterator[Finding]:
    """Tell of an erasure whose text is still in the file, as long as it is."""
    if since is not None:
        words = f"An erasure of {since} is not finished: what was erased is still in the file."
        advice = "Close other programs and run `oakpanel db forget`."
        yield Finding("erasure", Level.FAULT, f"{words} {advice}")


def version_finding(version: str) -> Finding:
    """Warn of a SQLite whose write-ahead log can be reset under a writer (3.7.0 to 3.51.2)."""
    number = tuple(int(part) for part in version.split(".")[:3])
    if WAL_RESET_FROM <= number < WAL_RESET_FIXED:
        return Finding(
            "sqlite",
            Level.WARNING,
            f"SQLite {version} has a known fault that can damage a file when it is written from "
            "two programs at once (mended in 3.51.3). Install pysqlite3 into this environment, or "
            "let one program at a time write.",
        )
    return Finding("sqlite", Level.GOOD, f"SQLite {version}.")


def _loose_finding(tables: list[str], rows: int) -> Finding:
    if not rows:
        return Finding("references", Level.GOOD, "Every reference points to a record.")
    words = f"{rows} rows point to records that are not there (in {', '.join(tables)})."
    return Finding("references", Level.FAULT, f"{words} Go back to the last backup.")


def permission_finding(path: Path) -> Finding:
    """Warn where others on the machine can read the file: whoever reads it can read the key."""
    beside = [path, *(Path(f"{path}{end}") for end in ("-wal", "-shm"))]
    open_to_others = [file for file in beside if file.exists() and file.stat().st_mode & 0o077]
    if not open_to_others:
        return Finding("permissions", Level.GOOD, "Only its owner can read the file.")
    names = " ".join(str(file) for file in open_to_others)
    return Finding(
        "permissions",
        Level.WARNING,
        f"Others on this machine can read the file, and with it the key: chmod 600 {names}",
    )


def _room_finding(free_bytes: int) -> Finding:
    words = f"{in_digits(free_bytes / 2**20, ',.0f')} MiB are free on this disk."
    return Finding("room", Level.WARNING if free_bytes < LITTLE_ROOM_BYTES else Level.GOOD, words)


def _origin_findings(db: Session) -> Iterator[Finding]:
    racked = FillingEvent.kind == EventKind.RE_RACKED
    told = and_(FillingEvent.filling_id == Filling.id, racked, standing())
    asked = select(Filling.label).where(Filling.make_id.is_(None))
    labels = list(db.scalars(asked.where(~select(FillingEvent.id).where(told).exists())))
    if not labels:
        yield Finding("origins", Level.GOOD, "Every filling has a make or parents.")
        return
    named = ", ".join(sorted(labels)[:NAMED_AT_MOST])
    yield Finding(
        "origins",
        Level.WARNING,
        f"{len(labels)} fillings have neither a make nor parents ({named}"
        f"{' ...' if len(labels) > NAMED_AT_MOST else ''}): load their make, or a re-racked event.",
    )


def _kind_findings(db: Session) -> Iterator[Finding]:
    """Name kinds of session that only a newer program knows; the table itself takes any text."""
    written = set(db.scalars(select(type_coerce(PanelSession.kind, String)).distinct()))
    if unknown := sorted(written - {kind.value for kind in SessionKind}):
        words = f"Sessions are of kinds that this Oakpanel does not know: {', '.join(unknown)}."
        yield Finding("kinds", Level.FAULT, f"{words} Install the newer version on this machine.")


def _score_findings(db: Session) -> Iterator[Finding]:
    """Name each stored score that is none: questions leave it out and count it."""
    if not (off := all_off_line(db)):
        return
    named = "; ".join(each.sentence() for each in off[:NAMED_SCORES])
    named += (
        (f"; and {in_digits(len(off) - NAMED_SCORES, ',')} more") if len(off) > NAMED_SCORES else ""
    )
    many = f"{in_digits(len(off), ',')} scores are no numbers on their lines, and are"
    are = "1 score is no number on its line, and is" if len(off) == 1 else many
    words = f"{are} used nowhere: {named}."
    yield Finding("scores", Level.FAULT, words, Way.FILE)


def _history_findings(db: Session) -> Iterator[Finding]:
    """Name each score that is not the last of its history."""
    off = [each.sentence() for each in off_history(db)]
    if off:
        more = len(off) - NAMED_SCORES
        named = "; ".join(off[:NAMED_SCORES])
        named += f"; and {in_digits(more, ',')} more" if more > 0 else ""
        words = f"Scores are not the last that was kept of them: {named}."
        yield Finding("history", Level.FAULT, f"{words} {WHAT_TO_DO}", Way.FILE)


def _wait_findings(db: Session) -> Iterator[Finding]:
    """Name counts of wrong PINs that no try of a PIN leaves behind."""
    said = [
        f"{code} ({words})"
        for code, row in odd_guards(db)
        for words in [f"waits {in_digits(row.wait_s, ',')} s" if row.readable else "cannot be read"]
    ]
    if not said:
        return
    words = (
        f"Counts of wrong PINs are not those of this program: {', '.join(said)}. The next try of "
        f"each puts its own right: a wait from then on, {in_digits(LONGEST_WAIT_S, ',')} s at most."
    )
    yield Finding("waits", Level.FAULT, words, Way.FILE)


def _single_findings(db: Session) -> Iterator[Finding]:
    """Name tables of one row that have another number of rows: no entry tells of them."""
    counts = {name: db.scalar(text(f"SELECT count(*) FROM {name}")) or 0 for name in SINGLE}
    if odd := [f"{name} ({count})" for name, count in counts.items() if count != 1]:
        words = f"Tables that have one row have another number of rows: {', '.join(odd)}."
        yield Finding("single rows", Level.FAULT, f"{words} {WHAT_TO_DO}", Way.FILE)


EVERYWHERE: tuple[Look, ...] = (
    *(_origin_findings, _kind_findings, _score_findings, _history_findings, _wait_findings),
    _single_findings,
)
