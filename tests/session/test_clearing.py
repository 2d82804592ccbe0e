"""A suspected swap: not used until it is cleared up, and cleared up in one of two ways."""

from __future__ import annotations

from datetime import datetime

import pandas as pd
import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import SessionError, UnknownRecord, WrongState
from panel.frames import scores_frame
from panel.kinds import Fault, ServingStatus, SwapOutcome
from panel.session.clearing import clear_swap
from panel.session.late_marks import mark_after_reveal
from panel.session.marks import mark_glass
from panel.session.progress import session_progress
from panel.session.seal import key_hash
from panel.session.stages import close_session, reveal_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.log import LogEntry
from panel.store.marks_of_fault import on_marked_glasses
from panel.store.sessions import FaultMark, PanelSession, Score, Serving
from tests.houses.to_plan import mark_fault, open_evening, plan


@pytest.fixture
def evening(house: Store, fixed_now: datetime) -> Store:
    """An open evening; every score is the place of its glass on the tray."""
    open_evening(house, plan(reference=None, duplicates=()), fixed_now, scored=True)
    return house


def glass_at(db: Session, position: int) -> Serving:
    mine = select(Serving).where(Serving.person.has(code="A1"), Serving.position == position)
    return db.scalars(mine).one()


def suspect(db: Session, now: datetime, *positions: int) -> tuple[str, str]:
    """Mark the glasses at some places of A1's tray, and return the first two codes."""
    codes = [glass_at(db, position).code for position in (2, 5)]
    for position in positions:
        mark(db, glass_at(db, position).code, ServingStatus.SWAP_SUSPECTED, now)
    return codes[0], codes[1]


def mark(db: Session, code: str, status: ServingStatus, now: datetime) -> Serving:
    return mark_glass(db, "spring", "A1", code, status, now=now, by="L1")


def clear(
    db: Session, now: datetime, code: str, outcome: SwapOutcome, other: str | None = None
) -> tuple[Serving, ...]:
    return clear_swap(db, "spring", "A1", code, outcome, now=now, by="L1", other=other)


def finish(db: Session, now: datetime) -> None:
    close_session(db, "spring", now=now, by="L1")
    reveal_session(db, "spring", now=now, by="L1")


def places_by_sample(db: Session) -> dict[str, float]:
    """A1's score of each sample: the place at which it was nosed."""
    frame = scores_frame(db)
    mine = frame[(frame["assessor"] == "A1") & (frame["kind"] != "warm_up")]
    used = mine[mine["status"] == "kept"]
    return {
        str(name): float(value) for name, value in used.groupby("sample")["score"].first().items()
    }


def sample_behind(db: Session, code: str) -> str:
    return db.scalars(select(KeyRow).where(KeyRow.code == code)).one().draw.label


def test_exchanged_glasses_are_read_under_each_others_code(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now, 2, 5)
        before = [(s.serving_id, s.value) for s in db.scalars(select(Score))]
        sealed = db.scalars(select(PanelSession.key_hash)).one()
        clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        finish(db, fixed_now)
        said = places_by_sample(db)
        assert said[sample_behind(db, one)] == 5.0
        assert said[sample_behind(db, other)] == 2.0
        frame = scores_frame(db)
        mine = frame[(frame["assessor"] == "A1") & (frame["sample"] == sample_behind(db, one))]
        assert set(mine["position"]) == {5.0}, "the order of nosing is what it was"
        assert [(s.serving_id, s.value) for s in db.scalars(select(Score))] == before
        assert glass_at(db, 2).code == one
        assert key_hash(db, db.scalars(select(PanelSession.id)).one()) == sealed


def test_before_the_reveal_the_codes_are_exchanged_alike(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now, 2)
        clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        close_session(db, "spring", now=fixed_now, by="L1")
        said = places_by_sample(db)
        assert (said[one], said[other]) == (5.0, 2.0)
        (glass,) = [g for g in session_progress(db, "spring").seats[0].glasses if g.code == one]
        assert glass.read_as == other


def test_glasses_that_stood_as_recorded_are_used_again(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now, 2, 5)
        cleared = clear(db, fixed_now, one, SwapOutcome.STOOD, other)
        assert {glass.status for glass in cleared} == {ServingStatus.KEPT}
        assert {glass.read_as for glass in cleared} == {None}
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert entry is not None
        assert '"outcome":"stood"' in (entry.body_json or "")
        assert "swap cleared" in (entry.body_json or "")


def test_a_mark_of_fault_goes_with_the_scores(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now, 2, 5)
        mark_fault(db, glass_at(db, 2), fixed_now, FaultMark(fault=Fault.SULPHUR))
        marked = on_marked_glasses(select(Draw.label))
        assert db.scalars(marked).all() == [], "nobody can say what was in it"
        clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        assert db.scalars(marked).all() == [sample_behind(db, other)]
        (line,) = session_progress(db, "spring").faults
        assert line.code == other


def test_an_exchange_in_doubt_again_is_taken_back(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now, 2, 5)
        clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        with pytest.raises(SessionError, match=f"is read as {other}"):
            mark(db, one, ServingStatus.RE_POURED, fixed_now)
        with pytest.raises(SessionError, match="already"):
            clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        mark(db, one, ServingStatus.SWAP_SUSPECTED, fixed_now)
        glasses = [glass_at(db, 2), glass_at(db, 5)]
        assert {glass.read_as for glass in glasses} == {None}
        assert {glass.status for glass in glasses} == {ServingStatus.SWAP_SUSPECTED}


def test_only_two_glasses_of_a_suspected_swap_change_places(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now)
        with pytest.raises(SessionError, match="mark one of them first"):
            clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        with pytest.raises(SessionError, match="No swap is suspected"):
            clear(db, fixed_now, one, SwapOutcome.STOOD)
        mark(db, one, ServingStatus.SWAP_SUSPECTED, fixed_now)
        for alone in (None, one):
            with pytest.raises(SessionError, match="Name the other glass"):
                clear(db, fixed_now, one, SwapOutcome.EXCHANGED, alone)
        with pytest.raises(SessionError, match="warm-up glass"):
            clear(db, fixed_now, one, SwapOutcome.EXCHANGED, glass_at(db, 0).code)
        with pytest.raises(UnknownRecord, match="no glass '000'"):
            clear(db, fixed_now, one, SwapOutcome.EXCHANGED, "000")
        mark(db, other, ServingStatus.VOID, fixed_now)
        with pytest.raises(SessionError, match="is void"):
            clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)


def test_what_is_not_cleared_before_the_reveal_stays_out(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        one, other = suspect(db, fixed_now, 2, 5)
        finish(db, fixed_now)
        with pytest.raises(WrongState, match="stays out"):
            clear(db, fixed_now, one, SwapOutcome.EXCHANGED, other)
        out: pd.Series = scores_frame(db)["status"] == "swap_suspected"
        assert out.sum() == 8


def test_who_closes_and_who_reveals_is_told_what_is_in_doubt(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        one, _ = suspect(db, fixed_now, 2)
        close_session(db, "spring", now=fixed_now, by="L1")
        progress = session_progress(db, "spring")
        assert progress.suspected == (("A1", one),)
        assert f"A swap is suspected of {one} of A1" in (progress.suspected_words() or "")
        notes = reveal_session(db, "spring", now=fixed_now, by="L1").notes
    assert any(f"not cleared before the reveal: {one} of A1" in note for note in notes)


def test_what_was_not_cleared_in_time_is_not_brought_back_by_another_door(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        one, _ = suspect(db, fixed_now, 2)
        finish(db, fixed_now)
    with pytest.raises(SessionError, match="stays out"), evening.write() as db:
        mark_after_reveal(
            db, "spring", "A1", one, ServingStatus.KEPT, now=fixed_now, by="L1", reason="sure"
        )


def test_a_suspected_glass_is_still_somebodys_glass(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        before = session_progress(db, "spring").seats[0]
        suspect(db, fixed_now, 2)
        after = session_progress(db, "spring").seats[0]
    assert (after.n_done, after.n_to_score) == (before.n_done, before.n_to_score)
