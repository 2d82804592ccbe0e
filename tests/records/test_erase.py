"""Erasing a person: nothing leads back to them, and log and figures hold."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from sqlalchemy import func, inspect, select, text

from panel.errors import NotAllowed, UnknownRecord
from panel.frames import scores_frame
from panel.kinds import Role, ServingStatus, SessionStatus
from panel.records.erase import Erasure, erase_person
from panel.records.traces import touched_tables
from panel.store.engine import Store
from panel.store.erasing import overwrite
from panel.store.key import KeyRow
from panel.store.log import LogEntry, append_entry, head_hash
from panel.store.log_check import broken_link
from panel.store.opening import file_of
from panel.store.people import Person, PersonRole
from panel.store.sessions import (
    PanelSession,
    Score,
    ServingMark,
    ServingNote,
    SessionAssessor,
)
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house

TODAY = date(2026, 3, 14)


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now)
    return store


def erase(store: Store, code: str = "A2", *, keep_scores: bool) -> Erasure:
    with store.write() as db:
        return erase_person(db, code, keep_scores=keep_scores, now=FIXED_NOW, by="M1")


def all_text(store: Store) -> str:
    """Return every cell of every table."""
    with store.read() as db:
        tables = inspect(db.connection()).get_table_names()
        return "\n".join(str(db.execute(text(f"SELECT * FROM {table}")).all()) for table in tables)


@pytest.mark.parametrize("keep_scores", [True, False])
def test_nothing_that_is_kept_names_the_person(house: Store, keep_scores: bool) -> None:
    assert "A2" in all_text(house)
    erase(house, keep_scores=keep_scores)
    kept = all_text(house)
    assert "A2" not in kept
    assert "Ilse" not in kept
    assert "Maren Oakes" in kept
    assert "M1" in kept


def test_no_trace_is_left_in_the_files(house: Store) -> None:
    erase(house, keep_scores=False)
    assert overwrite(house, touched_tables()).overwritten
    folder = file_of(house.url).parent
    content = b"".join(file.read_bytes() for file in folder.iterdir())
    assert b"Ilse" not in content
    assert b"A2" not in content
    assert b"Maren Oakes" in content


def test_the_chain_holds_and_only_their_entries_are_emptied(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        append_entry(db, at=fixed_now, by="M1", action="deed", details={"person": "A22"})
        head = head_hash(db)
    done = erase(house, keep_scores=True)
    assert done.log_entries_cleared == 2  # theirs, and the lead's that lists the trays
    with house.read() as db:
        assert broken_link(db) is None
        links = list(db.scalars(select(LogEntry.chain_hex).order_by(LogEntry.id)))
        assert links[-2:] == [head, head_hash(db)]  # one entry more, the erasure's own
        emptied = select(LogEntry.id).where(LogEntry.body_json.is_(None))
        assert list(db.scalars(emptied)) == [1, 2]
        assert db.scalar(select(func.count()).where(LogEntry.nonce_hex.is_(None))) == 2


def test_kept_scores_stay_under_the_pseudonym(house: Store) -> None:
    with house.read() as db:
        before = scores_frame(db)
    done = erase(house, keep_scores=True)
    assert (done.scores_kept, done.scores_deleted) == (2, 0)
    with house.read() as db:
        after = scores_frame(db)
    assert sorted(after["assessor"].unique()) == sorted(["M1", done.pseudonym])
    assert len(before) == 4
    assert after.drop(columns="assessor").equals(before.drop(columns="assessor"))


def test_scores_go_unless_they_are_kept(house: Store) -> None:
    done = erase(house, keep_scores=False)
    assert (done.scores_kept, done.scores_deleted) == (0, 2)
    with house.read() as db:
        assert list(scores_frame(db)["assessor"].unique()) == ["M1"]
        assert db.scalar(select(func.count()).select_from(Score)) == 2
        assert db.scalar(select(func.count()).select_from(KeyRow)) == 2


def test_words_of_theirs_go_either_way(house: Store) -> None:
    done = erase(house, keep_scores=True)
    assert done.notes_deleted == 2
    with house.read() as db:
        assert list(db.scalars(select(ServingNote.text))) == ["like the shed, M1"] * 2
        best = select(SessionAssessor.not_at_best).order_by(SessionAssessor.seat)
        assert list(db.scalars(best)) == [True, False]


def test_notes_and_marks_of_others_speak_of_the_pseudonym(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        evening = db.scalars(select(PanelSession)).one()
        evening.note = "a2 came late; A22 and xA2 did not"
        db.add(
            ServingMark(
                serving_id=1,
                status=ServingStatus.VOID,
                marked_at=fixed_now,
                by_code="A2",
                note="spilled by A2.",
            )
        )
    name = erase(house, keep_scores=True).pseudonym
    with house.read() as db:
        assert db.scalar(select(PanelSession.note)) == f"{name} came late; A22 and xA2 did not"
        mark = db.scalars(select(ServingMark)).one()
        assert (mark.by_code, mark.note) == (name, f"spilled by {name}.")


def test_the_person_is_gone_from_today(house: Store) -> None:
    name = erase(house, keep_scores=True).pseudonym
    with house.read() as db:
        person = db.scalars(select(Person).where(Person.code == name)).one()
        assert (person.left_on, person.joined_on, person.pin_hash) == (TODAY, None, None)
        assert (person.roles, person.name) == ([], None)


def test_keys_that_named_the_tray_are_told(house: Store) -> None:
    assert erase(house, keep_scores=True).keys_no_longer_checkable == ("EV1",)


@pytest.mark.parametrize("status", [SessionStatus.SEALED, SessionStatus.OPEN, SessionStatus.CLOSED])
def test_nobody_is_erased_out_of_a_session_under_way(house: Store, status: SessionStatus) -> None:
    with house.write() as db:
        db.scalars(select(PanelSession)).one().status = status
    before = all_text(house)
    with pytest.raises(NotAllowed, match=r"not revealed yet \(EV1\)\. Reveal it first"):
        erase(house, keep_scores=True)
    assert all_text(house) == before


def test_a_draft_loses_the_seat(house: Store) -> None:
    with house.write() as db:
        draft = PanelSession(name="EV2", status=SessionStatus.DRAFT)
        draft.assessors.append(SessionAssessor(person_id=2, seat=1))
        db.add(draft)
    erase(house, keep_scores=True)
    with house.read() as db:
        seats = select(SessionAssessor.session_id).where(SessionAssessor.person_id == 2)
        assert list(db.scalars(seats)) == [1]


def test_the_only_lead_and_nobody_are_not_erased(house: Store) -> None:
    with pytest.raises(NotAllowed, match="only lead"):
        erase(house, "M1", keep_scores=True)
    with pytest.raises(UnknownRecord, match="Nearest: A2"):
        erase(house, "A3", keep_scores=True)
    with house.write() as db:
        db.add(PersonRole(person_id=2, role=Role.LEAD))
    assert erase(house, "M1", keep_scores=True).scores_kept == 2


def test_on_a_server_it_is_the_same(postgres_store: Store, fixed_now: datetime) -> None:
    with postgres_store.write() as db:
        add_house(db, fixed_now)
    erase(postgres_store, keep_scores=False)
    assert "A2" not in all_text(postgres_store)
    with postgres_store.read() as db:
        assert broken_link(db) is None
