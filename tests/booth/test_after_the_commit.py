"""The tray is read once a job is kept: not under the lock, and not told as lost meanwhile."""

from __future__ import annotations

from datetime import datetime

import pytest
from sqlalchemy import event, select

from panel.errors import WrongState
from panel.kinds import SessionStatus
from panel.seat.jobs import LookAgain, OwnMark, perform
from panel.store import booth_queries
from panel.store.engine import Store
from panel.store.sessions import PanelSession, SessionAssessor
from tests.houses.small import add_house


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now, SessionStatus.OPEN)
    return store


def test_the_lock_is_free_before_the_tray_is_read(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        seat = booth_queries.take_seat(db, "EV1", "A2", now=fixed_now)
    said: list[str] = []

    @event.listens_for(house.engine, "before_cursor_execute")
    def hear(_c: object, _k: object, statement: str, *_: object) -> None:
        said.append(statement.split(maxsplit=1)[0])

    @event.listens_for(house.engine, "commit")
    def commit(_c: object) -> None:
        said.append("COMMIT")

    perform(house, seat, OwnMark(on=False), fixed_now)
    under_lock = said[: said.index("COMMIT")]
    after = said[said.index("COMMIT") :]
    assert any(each in {"INSERT", "UPDATE"} for each in under_lock)
    assert after.count("SELECT") >= 5
    assert not {"INSERT", "UPDATE", "DELETE"} & set(after)


def test_what_was_kept_is_told_as_kept_though_the_session_closed_in_between(
    house: Store, fixed_now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    with house.write() as db:
        seat = booth_queries.take_seat(db, "EV1", "A2", now=fixed_now)
    read = booth_queries.kept_tray

    def close_then_read(db: object, seat: object) -> object:
        with house.write() as other:
            other.scalars(select(PanelSession)).one().status = SessionStatus.CLOSED
        return read(db, seat)  # type: ignore[arg-type]

    monkeypatch.setattr(booth_queries, "kept_tray", close_then_read)
    assert perform(house, seat, OwnMark(on=False), fixed_now).not_at_best is False
    with house.read() as db:
        marks = select(SessionAssessor.not_at_best).where(SessionAssessor.person_id == 2)
        assert list(db.scalars(marks)) == [False]
    with pytest.raises(WrongState, match="was closed"):
        perform(house, seat, LookAgain(), fixed_now)
