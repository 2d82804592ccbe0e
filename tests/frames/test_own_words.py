"""The frame of own words: codes until the reveal, samples after it, everybody's own words."""

from __future__ import annotations

from datetime import datetime

import pandas as pd
import pytest
from sqlalchemy import select

from panel.errors import UnknownRecord, WrongState
from panel.frames import OWN_WORD_COLUMNS, own_words_frame, recent_sessions, scores_frame
from panel.kinds import ServingStatus, SessionKind
from panel.questions.agreement import session_agreement
from panel.session.marks import mark_glass
from panel.session.stages import reveal_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from tests.houses.own_words_planned import NAME, NAMED, hold_own_evening, open_own_evening
from tests.houses.to_plan import furnish


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        furnish(db)
    return store


def frame(store: Store) -> pd.DataFrame:
    with store.read() as db:
        return own_words_frame(db, NAME)


def test_until_the_reveal_it_holds_codes_only(house: Store, fixed_now: datetime) -> None:
    hold_own_evening(house, fixed_now)
    found = frame(house)
    assert tuple(found.columns) == OWN_WORD_COLUMNS
    with house.read() as db:
        codes = set(db.scalars(select(Serving.code)))
        labels = set(db.scalars(select(Draw.label)))
    assert set(found["sample"]) == codes
    assert not set(found.astype(str).to_numpy().ravel()) & labels
    assert set(found["kind"]) == {"test", "warm_up"}
    assert set(found["replicate"]) == {1}


@pytest.mark.slow
def test_after_it_samples_kinds_and_replicates(house: Store, fixed_now: datetime) -> None:
    hold_own_evening(house, fixed_now)
    before = frame(house)
    with house.write() as db:
        reveal_session(db, NAME, now=fixed_now, by="L1")
    found = frame(house)
    assert set(found["sample"]) == {"R0", "W0", "D1", "D2", "D3", "D4", "D5", "D6"}
    assert set(found["kind"]) == {"test", "warm_up", "reference"}
    twice = found[found["replicate"] == 2]["sample"].unique()
    assert len(twice) == 1
    assert len(found) == len(before) == 9 * (3 + 2 + 1)
    named = found.groupby("assessor", sort=False)["word"].unique()
    assert {code: tuple(words) for code, words in named.items()} == NAMED
    assert list(found["score"]) == list(before["score"])
    assert found["score"].dtype == float


def test_marks_of_the_lead_and_a_known_key_stand_beside_the_scores(
    house: Store, fixed_now: datetime
) -> None:
    hold_own_evening(house, fixed_now)
    with house.write() as db:
        code = db.scalars(select(Serving.code).order_by(Serving.code)).first() or ""
        void = ServingStatus.VOID
        mark_glass(db, NAME, "A1", code, void, now=fixed_now, by="L1")
        seats = db.scalars(select(SessionAssessor).order_by(SessionAssessor.seat)).all()
        seats[1].knew_key = True
    found = frame(house)
    status = found.set_index(["assessor", "sample"])["status"].groupby(level=[0, 1]).first()
    assert status["A1", code] == "void"
    assert status["A2", code] == "knew_key"
    assert status["A3", code] == "kept"


def test_an_open_session_and_one_on_the_lexicon_are_refused(
    house: Store, fixed_now: datetime
) -> None:
    open_own_evening(house, fixed_now)
    with pytest.raises(WrongState, match="laid out once it is closed"):
        frame(house)
    with house.write() as db:
        db.scalars(select(PanelSession)).one().kind = SessionKind.PROFILE
    with pytest.raises(WrongState, match="on the house's descriptors"):
        frame(house)
    with house.read() as db, pytest.raises(UnknownRecord, match="spring"):
        own_words_frame(db, "sprig")


def test_it_gives_no_scores_to_agreement_and_is_not_among_the_sessions_pooled(
    house: Store, fixed_now: datetime
) -> None:
    hold_own_evening(house, fixed_now)
    with house.read() as db:
        assert scores_frame(db).empty
        with pytest.raises(WrongState, match="scored in own words"):
            session_agreement(db, NAME)
    with house.write() as db:
        reveal_session(db, NAME, now=fixed_now, by="L1")
    with house.read() as db:
        assert recent_sessions(db, NAME) == []
