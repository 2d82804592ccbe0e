"""The demo's database: the plain files through the same load as a user's, and everybody's PIN."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from panel.cli.demo_folder import KINDS, DemoFolder

if TYPE_CHECKING:
    from panel.intake.loading import LoadReport
    from panel.store.engine import Store

RECORDS_TO = date(2026, 10, 30)
"""The last day in the files; a test compares it with them."""
AFTER_RECORDS = timedelta(days=7)
"""Time for the sessions of a week; the last is that of the evening."""
BUILDING = timedelta(days=6)


def demo_moment(now: datetime) -> datetime:
    """Return the moment the demo takes for now: never before its own records end."""
    end = datetime.combine(RECORDS_TO + AFTER_RECORDS, time(20), tzinfo=UTC)
    return max(now, end)


def build(folder: DemoFolder, now: datetime, tell: Callable[[str], None]) -> Store:
    """Make the database and load every file of the folder into it."""
    from panel.store.opening import make_database

    store = make_database(str(folder.database))
    for kind in KINDS:
        tell(f"loading {kind}")
        load(store, folder, kind, now - BUILDING)
    tell("PINs")
    set_pins(store, now - BUILDING)
    tell("register")
    keep_register(store, "nosed; what was left poured away", now - BUILDING)
    return store


def keep_register(store: Store, fate: str, now: datetime) -> None:
    """Tell of the samples of every session that is over, the oldest first, as at its close."""
    from panel.cli.demo_evening import LEAD
    from panel.cli.invocation import writing_to
    from panel.questions.register import sessions_untold
    from panel.records.register import account_for_session

    with store.read() as db:
        names = [name for name, _ in reversed(sessions_untold(db))]
    with writing_to(store) as db:
        for name in names:
            told = {"leftovers": fate, "reason": f"blind session {name}"}
            account_for_session(db, name, **told, now=now, by=LEAD)


def keep_the_rest(store: Store, now: datetime) -> None:
    """Tell of the samples that no session has poured yet."""
    from panel.cli.demo_evening import LEAD
    from panel.cli.invocation import writing_to
    from panel.questions.register import sample_register
    from panel.records.register import account_for

    told = {"reason": "drawn for a later session", "fate": "kept sealed"}
    with store.read() as db:
        lines = sample_register(db, as_of=now.date()).lines
    with writing_to(store) as db:
        for sample in dict.fromkeys(line.sample for line in lines if line.fate is None):
            account_for(db, sample, **told, now=now, by=LEAD)


def load(store: Store, folder: DemoFolder, kind: str, now: datetime) -> LoadReport:
    """Load one file as `oakpanel load` does.

    Raises
    ------
    IntakeError
        The file has faults; it was changed after it came with the program.
    """
    from panel.errors import IntakeError
    from panel.intake.loading import load_file
    from panel.store.who import UNNAMED

    report = load_file(store, kind, folder.file(kind), now=now, by=UNNAMED)
    if report.problems:
        raise IntakeError(
            f"{report.file} of the demo has faults: it is not as it came with the program. "
            "Install Oakpanel again.",
            report.problems,
        )
    return report


def set_pins(store: Store, now: datetime) -> None:
    """Give everybody the demo's PIN; each is hashed with a salt of its own, two at a time."""
    from panel.cli.demo_evening import LEAD, PIN
    from panel.cli.invocation import writing_to
    from panel.questions.people import people_lines
    from panel.records.people import set_first_pins
    from panel.store.pins import hash_pin

    with store.read() as db:
        codes = [line.code for line in people_lines(db)]
    with ThreadPoolExecutor(max_workers=2) as pool:
        hashes = dict(zip(codes, pool.map(hash_pin, [PIN] * len(codes)), strict=True))
    with writing_to(store) as db:
        set_first_pins(db, hashes, now=now, by=LEAD)
