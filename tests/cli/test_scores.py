"""`session show --scores`, `cask --scores` and an answer that is taken back, by command."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from panel.clock import TAKE_BACK
from panel.kinds import CallReason
from panel.session.stages import close_session
from panel.store.engine import Store
from panel.store.sessions import LeadCall, Serving, SessionAssessor
from tests.cli.calling import Call, caller
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all


@pytest.fixture
def house(store: Store) -> Store:
    build(store)
    hold(store, "open")
    score_all(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    from panel.cli import invocation

    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD", house=house)


def test_scores_are_read_once_it_is_closed_and_in_codes(oakpanel: Call, house: Store) -> None:
    early = oakpanel("session", "show", NAME, "--scores")
    assert early.code == 1
    assert "needs one that is closed or revealed" in early.err
    with house.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    found = oakpanel("session", "show", NAME, "--scores", "--json").document
    assert {glass["draw"] for glass in found["glasses"]} == {None}
    assert found["glasses_reason"]
    text = oakpanel("session", "show", NAME, "--scores").out
    assert found["glasses"][0]["code"] in text
    assert oakpanel("session", "show", NAME, "--private").code == 2
    assert oakpanel("cask", "--scores").code == 2


def test_who_was_not_at_their_best_asks_for_the_pin(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
        seat = db.scalars(select(SessionAssessor)).first()
        assert seat is not None
        seat.not_at_best = True
        code = seat.person.code
    told = oakpanel("session", "show", NAME, "--scores", "--private", "--json").document
    assert told["not_at_best"] == [code]
    assert oakpanel("session", "show", NAME, "--scores", "--json").document["not_at_best"] is None


def test_an_answer_is_taken_back(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        glass = db.scalars(select(Serving)).first()
        assert glass is not None
        call = LeadCall(
            session_id=glass.session_id,
            person_id=glass.person_id,
            serving_id=glass.id,
            reason=CallReason.WATER,
            called_at=NOW,
        )
        db.add(call)
        db.flush()
        number = str(call.id)
    assert oakpanel("session", "calls", NAME, "--take-back", number).code == 1
    assert oakpanel("session", "calls", NAME, "--answer", number, "--json").document["calls"] == []
    back = oakpanel("session", "calls", NAME, "--take-back", number, "--json").document["calls"]
    assert [each["reason"] for each in back] == ["water"]
    with house.write() as db:
        db.get_one(LeadCall, int(number)).answered_at = NOW - TAKE_BACK - timedelta(seconds=1)
    late = oakpanel("session", "calls", NAME, "--take-back", number)
    assert late.code == 1
    assert "more than ten minutes ago" in late.err
