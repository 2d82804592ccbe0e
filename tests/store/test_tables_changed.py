"""A booth that runs through an upgrade: whatever it saves or asks is refused in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from panel.errors import TablesChanged
from panel.kinds import CallReason, Fault
from panel.store import booth_queries as booth
from panel.store.booth_role import make_booth_role
from panel.store.booth_tray import Seat
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.opening import open_store
from panel.store.revisions import REVISION_TABLE
from tests.houses.at_the_booth import CODES, NAME, PINS, START, kept_scores, open_evening

SAID = r"a newer form while this booth was open \(tables 9042, .*\)\. What was kept is kept\. Close"
Deed = Callable[[Session, Seat, int, int], object]
DEEDS: dict[str, Deed] = {
    "take_glass": lambda db, seat, glass, line: booth.take_glass(db, seat, CODES[1], START),
    "save_score": lambda db, seat, glass, line: booth.save_score(db, seat, glass, line, 9, START),
    "save_scores": lambda db, seat, glass, line: booth.save_scores(
        db, seat, glass, {line: None}, START
    ),
    "save_rest_zero": lambda db, seat, glass, line: booth.save_rest_zero(db, seat, glass, START),
    "save_glass": lambda db, seat, glass, line: booth.save_glass(
        db, seat, CODES[1], {line: 9}, taken_at=START, finished_at=START
    ),
    "mark_fault": lambda db, seat, glass, line: booth.mark_fault(
        db, seat, glass, Fault.SULPHUR, START
    ),
    "save_note": lambda db, seat, glass, line: booth.save_note(db, seat, glass, "smoky", START),
    "call_lead": lambda db, seat, glass, line: booth.call_lead(db, seat, CallReason.WATER, START),
    "not_at_best": lambda db, seat, glass, line: booth.not_at_best(db, seat, START),
    "finish_glass": lambda db, seat, glass, line: booth.finish_glass(db, seat, glass, START),
    "go_back_to": lambda db, seat, glass, line: booth.go_back_to(db, seat, glass, START),
    "answer_set": lambda db, seat, glass, line: booth.answer_set(db, seat, 1, {}, START),
    "name_word": lambda db, seat, glass, line: booth.name_word(db, seat, "tar", START),
    "rename_word": lambda db, seat, glass, line: booth.rename_word(db, seat, 1, "tar", START),
    "take_word_back": lambda db, seat, glass, line: booth.take_word_back(db, seat, 1, START),
    "leave_seat": lambda db, seat, glass, line: booth.leave_seat(db, seat, START),
    "tray": lambda db, seat, glass, line: booth.tray(db, seat),
}
NO_SEAT_YET = {"booth_session", "open_sessions", "sign_in", "take_seat"}
"""What is asked before somebody sits at a booth."""
RIGHT_AFTER = {"kept_tray"}
"""What is read once a deed is kept: the deed has looked; no upgrade goes on in an open session."""


def test_every_deed_of_a_booth_is_tried_here() -> None:
    assert set(DEEDS) == set(booth.__all__) - NO_SEAT_YET - RIGHT_AFTER


@pytest.fixture(params=["store", "postgres_store"])
def evening(request: pytest.FixtureRequest) -> Iterator[tuple[Store, Store]]:
    """Give an open evening to its owner and to the booths, on a server a user of their own."""
    owner: Store = request.getfixturevalue(request.param)
    open_evening(owner)
    if request.param == "store":
        yield owner, owner
        return
    booths = open_store(make_booth_role(owner, "panel_booth_old").url)
    yield owner, booths
    booths.close()
    with owner.write() as db:
        db.execute(text("DROP OWNED BY panel_booth_old"))
        db.execute(text("DROP ROLE panel_booth_old"))


def bring_up(owner: Store) -> None:
    """Write what an upgrade leaves; the tables themselves stay, so that a save would pass."""
    with owner.write() as db:
        db.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = '9042'"))


def n_entries(store: Store) -> int:
    with store.read() as db:
        return db.scalar(select(func.count(LogEntry.id))) or 0


def test_no_deed_of_a_booth_is_done_once_the_tables_changed(evening: tuple[Store, Store]) -> None:
    owner, booths = evening
    seat = booth.sign_in(booths, NAME, "A1", PINS["A1"], now=START)
    with booths.write() as db:
        glass = booth.take_glass(db, seat, CODES[0], START)
        line = booth.tray(db, seat).lines[0].version_id
        booth.save_score(db, seat, glass, line, 62, START)
    bring_up(owner)
    before = n_entries(owner)
    for deed in DEEDS.values():
        with pytest.raises(TablesChanged, match=SAID), booths.write() as db:
            deed(db, seat, glass, line)
    assert n_entries(owner) == before
    assert kept_scores(owner, "A1", CODES[0]) == {"orchard fruit": 62}


@pytest.mark.slow
@pytest.mark.parametrize("pin", ["right", "wrong"])
def test_nobody_signs_in_once_the_tables_changed(evening: tuple[Store, Store], pin: str) -> None:
    owner, booths = evening
    bring_up(owner)
    before = n_entries(owner)
    typed = PINS["A1"] if pin == "right" else "9999"
    with pytest.raises(TablesChanged, match=SAID):
        booth.sign_in(booths, NAME, "A1", typed, now=START)
    assert n_entries(owner) == before


def test_an_older_copy_put_in_its_place_is_no_newer_form(store: Store) -> None:
    from panel.store import revisions

    with pytest.MonkeyPatch.context() as program, store.read() as db:
        program.setattr(revisions, "HEAD", "9042")
        with pytest.raises(TablesChanged, match="an older form"):
            revisions.check_tables(db)
