"""A mark is taken back by who set it, for ten minutes: what stood before stands again."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlalchemy import select

from panel.errors import SessionError, WrongState
from panel.kinds import ServingStatus, SwapOutcome
from panel.records.erase import erase_person
from panel.session.clearing import clear_swap
from panel.session.marks import mark_glass
from panel.session.marks_back import take_mark_back
from panel.session.stages import close_session, reveal_session
from panel.store.engine import Store
from panel.store.findings import Level
from panel.store.log_findings import log_findings
from panel.store.sessions import MarkReversal, ServingMark
from tests.session.test_marks import code_at, evening, pourings

__all__ = ["evening"]
VOID, KEPT, RE_POURED = ServingStatus.VOID, ServingStatus.KEPT, ServingStatus.RE_POURED


@pytest.fixture
def code(evening: Store) -> str:
    with evening.read() as db:
        return code_at(db, "A1")


def mark(store: Store, code: str, status: ServingStatus, now: datetime) -> None:
    with store.write() as db:
        mark_glass(db, "spring", "A1", code, status, now=now, by="L1")


def back(store: Store, code: str, now: datetime, by: str = "L1") -> ServingStatus:
    with store.write() as db:
        return take_mark_back(db, "spring", "A1", code, now=now, by=by).status


def stand(store: Store, code: str) -> list[ServingStatus]:
    with store.read() as db:
        return [glass.status for glass in pourings(db, "A1", code)]


@pytest.mark.slow
def test_marks_are_taken_back_one_by_one_and_all_rows_stay(
    evening: Store, code: str, fixed_now: datetime
) -> None:
    mark(evening, code, VOID, fixed_now)
    mark(evening, code, KEPT, fixed_now)
    assert back(evening, code, fixed_now) is VOID
    assert back(evening, code, fixed_now) is KEPT
    with pytest.raises(SessionError, match="Nothing was marked"):
        back(evening, code, fixed_now)
    with evening.read() as db:
        assert len(db.scalars(select(ServingMark)).all()) == 4
        assert len(db.scalars(select(MarkReversal)).all()) == 2
        assert {f.level for f in log_findings(db, evening.url)} == {Level.GOOD}


def test_a_pour_again_is_taken_back_until_the_new_glass_is_taken(
    evening: Store, code: str, fixed_now: datetime
) -> None:
    mark(evening, code, RE_POURED, fixed_now)
    assert back(evening, code, fixed_now) is KEPT
    assert stand(evening, code) == [KEPT, VOID]
    with pytest.raises(SessionError, match="Nothing was marked"):
        back(evening, code, fixed_now)
    mark(evening, code, RE_POURED, fixed_now)
    with evening.write() as db:
        pourings(db, "A1", code)[-1].taken_at = fixed_now
    with pytest.raises(SessionError, match="was taken already"):
        back(evening, code, fixed_now)


@pytest.mark.slow
def test_who_when_and_what_rests_on_it(evening: Store, code: str, fixed_now: datetime) -> None:
    mark(evening, code, VOID, fixed_now)
    with pytest.raises(SessionError, match="marked by L1"):
        back(evening, code, fixed_now, by="A2")
    with pytest.raises(SessionError, match="ten minutes ago"):
        back(evening, code, fixed_now + timedelta(minutes=11))
    with evening.read() as db:
        one, other = code_at(db, "A1", 4), code_at(db, "A1", 5)
    mark(evening, one, ServingStatus.SWAP_SUSPECTED, fixed_now - timedelta(minutes=1))
    with evening.write() as db:
        clear_swap(
            *(db, "spring", "A1", one, SwapOutcome.EXCHANGED),
            now=fixed_now,
            by="L1",
            other=other,
        )
    with pytest.raises(SessionError, match="marked together with"):
        back(evening, one, fixed_now)
    for step in (close_session, reveal_session):
        with evening.write() as db:
            step(db, "spring", now=fixed_now, by="L1")
    with pytest.raises(WrongState, match=r"nor one set since.*after-reveal"):
        back(evening, code, fixed_now)


def test_whoever_is_erased_takes_what_was_taken_back_along(
    evening: Store, code: str, fixed_now: datetime
) -> None:
    mark(evening, code, VOID, fixed_now)
    back(evening, code, fixed_now)
    for step in (close_session, reveal_session):
        with evening.write() as db:
            step(db, "spring", now=fixed_now, by="L1")
    with evening.write() as db:
        erase_person(db, "A1", keep_scores=False, now=fixed_now, by="L1")
    with evening.read() as db:
        assert db.scalars(select(MarkReversal)).all() == []
