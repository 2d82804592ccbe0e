"""Records of the very day that is asked for count; those of the day after do not."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from panel.frames import recent_sessions, scores_frame
from panel.frames.draws import draws_frame
from panel.kinds import EventKind, Fault, GlassKind, ServingStatus, SessionStatus
from panel.store.casks import Filling
from panel.store.contents import Added, Gauge, content_on, last_gauge, mixed_strength_on
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.store.key import KeyRow
from panel.store.marks_of_fault import marks_by_filling
from panel.store.nosed import nosed_by_filling
from panel.store.people import Person
from panel.store.sessions import FaultMark, PanelSession, Score, Serving, SessionAssessor
from tests.frames.test_scores_and_casks import GIVEN_AT, add_session, add_version
from tests.houses.parts import add_draw, add_event, add_filling, add_make, add_regauge

DAY, BEFORE, AFTER = date(2024, 5, 1), date(2024, 4, 30), date(2024, 5, 2)


@pytest.fixture
def evening(store: Store) -> Store:
    """A cask drawn, and nosed by two people, on one day; both mark a fault of it."""
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        draw = add_draw(db, "D1", filling, drawn_on=DAY, volume_ml=1000.0)
        word = add_version(db, "wet slate")
        session = add_session(
            db, "S", SessionStatus.REVEALED, word, [("417", draw, 30)], held_on=DAY
        )
        second = Person(code="Sorrel")
        other = Serving(session=session, person=second, code="417", position=1)
        db.add_all([second, other, SessionAssessor(session=session, person=second, seat=2)])
        db.flush()
        other.scores.append(Score(descriptor_version=word, value=50, given_at=GIVEN_AT))
        marked_at = datetime(2024, 5, 1, 19, 0, tzinfo=UTC)
        for serving in session.servings:
            db.add(FaultMark(serving_id=serving.id, fault=Fault.SULPHUR, marked_at=marked_at))
    return store


def test_a_session_of_the_day_counts(evening: Store) -> None:
    with evening.read() as db:
        assert len(scores_frame(db, as_of=DAY)) == 2
        assert len(scores_frame(db, as_of=BEFORE)) == 0
        assert [one.drawn_on for one in nosed_by_filling(db, DAY).values()] == [DAY]
        assert nosed_by_filling(db, BEFORE) == {}
        assert recent_sessions(db, "S") == ["S"]
        ((mark,),) = marks_by_filling(db, DAY).values()
        assert (mark.session, mark.n_assessors) == ("S", 2)
        assert marks_by_filling(db, BEFORE) == {}


@pytest.mark.parametrize("status", [ServingStatus.VOID, ServingStatus.SWAP_SUSPECTED])
def test_one_mark_or_one_of_a_doubtful_glass_holds_no_cask(
    evening: Store, status: ServingStatus
) -> None:
    with evening.write() as db:
        db.query(Serving).filter(Serving.person.has(code="Sorrel")).one().status = status
    with evening.read() as db:
        assert marks_by_filling(db, DAY) == {}


def test_a_draw_and_a_warm_up_of_the_day(evening: Store) -> None:
    with evening.write() as db:
        assert draws_frame(db, DAY)["sample"].tolist() == ["D1"]
        assert draws_frame(db, BEFORE).empty
        db.query(KeyRow).one().kind = GlassKind.WARM_UP
    with evening.read() as db:
        assert nosed_by_filling(db, DAY) == {}


def test_a_cask_moved_on_the_day_of_the_draw_lay_there(evening: Store) -> None:
    with evening.write() as db:
        filling = add_filling(db, "0102", None)
        add_draw(db, "at", filling, drawn_on=DAY)
        add_draw(db, "early", filling, drawn_on=BEFORE)
        add_event(db, filling, EventKind.MOVED, DAY, warehouse="High Store")
    with evening.read() as db:
        lay = draws_frame(db, DAY).set_index("sample")["warehouse"]
    assert (lay["at"], lay["early"]) == ("High Store", "Low Store")


def test_one_code_on_two_trays_is_two_draws(evening: Store) -> None:
    """Where each tray has codes of its own, the same three digits may stand on both."""
    with evening.write() as db:
        session = db.query(PanelSession).one()
        own = db.query(KeyRow).one()
        own.tray = "Rowan"
        filling = add_filling(db, "0102", None)
        other = add_draw(db, "D2", filling, drawn_on=DAY)
        row = KeyRow(session_id=session.id, tray="Sorrel", code="417", draw=other)
        row.kind, row.replicate = GlassKind.TEST, 1
        db.add(row)
    with evening.read() as db:
        found = scores_frame(db).set_index("assessor")[["sample", "score"]]
        assert list(found.loc["Rowan"]) == ["D1", 30]
        assert list(found.loc["Sorrel"]) == ["D2", 50]
        assert len(found) == 2
        assert marks_by_filling(db, DAY) == {}, "one mark on each of two casks"


def test_what_was_emptied_or_gauged_on_the_day(evening: Store) -> None:
    def state(as_of: date) -> tuple[float, date | None]:
        with evening.read() as db:
            (found,) = filling_states(db, as_of)
            return found.bulk_l, found.emptied_on

    assert state(BEFORE) == (190.0, None)
    assert state(DAY) == (189.0, None)
    with evening.write() as db:
        filling = db.query(Filling).one()
        add_regauge(db, filling, DAY, 170.0, 60.0)
        add_event(db, filling, EventKind.EMPTIED, AFTER)
    assert state(DAY) == (170.0, None), "a gauge counts after what else was done that day"
    assert state(AFTER) == (0.0, AFTER)


GAUGES = (Gauge(date(2012, 5, 1), 190.0, 63.0), Gauge(DAY, 150.0, 60.0))


@pytest.mark.parametrize(
    ("taken_on", "on", "litres"),
    [(BEFORE, BEFORE, 180.0), (DAY, BEFORE, 190.0), (DAY, DAY, 150.0), (AFTER, AFTER, 140.0)],
)
def test_litres_at_the_end_of_a_day(taken_on: date, on: date, litres: float) -> None:
    assert content_on(GAUGES, [(taken_on, 10.0)], (), on).bulk_l == litres


def test_a_draw_comes_before_a_topping_of_its_day() -> None:
    topped = Added(AFTER, 40.0, 40.0, None)
    found = content_on(GAUGES, [(AFTER, 50.0)], [topped], AFTER)
    assert found.bulk_l == 140.0
    assert found.abv == pytest.approx((100.0 * 60.0 + 40.0 * 40.0) / 140.0)
    assert found.lpa == pytest.approx(60.0 + 16.0)
    assert content_on(GAUGES, [(AFTER, 500.0)], (), AFTER).bulk_l == 0.0
    assert not content_on(GAUGES, (), [Added(AFTER, 40.0, None, None)], AFTER).certain
    assert content_on(GAUGES, (), [Added(AFTER, 40.0, None, None)], DAY).certain


def test_the_strength_of_the_day_of_a_gauge_or_a_topping() -> None:
    assert last_gauge(GAUGES, DAY).abv == 60.0
    assert last_gauge(GAUGES, BEFORE).abv == 63.0
    assert last_gauge(GAUGES, date(2000, 1, 1)).abv == 63.0
    topped = Added(DAY, 150.0, 40.0, None)
    assert mixed_strength_on(GAUGES, (), [topped], DAY) == 60.0, "gauged after it"
    later = Added(AFTER, 150.0, 40.0, None)
    assert mixed_strength_on(GAUGES, (), [later], DAY) == 60.0
    assert mixed_strength_on(GAUGES, (), [later], AFTER) == 50.0
