"""A session closed, read, opened again and scored on: who may read it, and what is said after."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from panel.session.stages import close_session, reopen_session
from panel.store.engine import Store
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import Score, Serving, SessionAssessor
from tests.cli.calling import Call, caller
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def house(store: Store) -> Store:
    """Give a session that was closed while one of its people had a glass left."""
    build(store)
    hold(store, "open")
    score_all(store)
    with store.write() as db:
        seat = db.scalars(select(SessionAssessor).order_by(SessionAssessor.seat)).first()
        assert seat is not None
        seat.finished_at = None
        glass = last_glass(seat)
        db.get_one(Serving, glass).finished_at = None
    with store.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    return store


def last_glass(seat: SessionAssessor) -> int:
    from sqlalchemy.orm import object_session

    db = object_session(seat)
    assert db is not None
    mine = select(Serving.id).where(Serving.person_id == seat.person_id, Serving.warm_up.is_(False))
    return db.scalars(mine.order_by(Serving.id.desc())).first() or 0


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    from panel.cli import invocation

    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: LATER)
    return caller(capsys, monkeypatch, "--db", str(house.url.database))


READS = (
    ("agreement", NAME),
    ("agreement", "--since", "2000-01-01"),
    ("session", "show", NAME, "--scores"),
    ("report", "session", NAME, "--to", "page.html"),
)


def assessor(house: Store) -> str:
    with house.read() as db:
        code = db.scalars(
            select(Person.code)
            .join(SessionAssessor, SessionAssessor.person_id == Person.id)
            .order_by(SessionAssessor.seat)
        ).first()
    assert code is not None
    return code


@pytest.mark.parametrize("words", READS)
def test_what_somebody_has_glasses_left_of_is_read_by_a_lead_alone(
    oakpanel: Call, house: Store, words: tuple[str, ...]
) -> None:
    code = assessor(house)
    for by in ((), ("--by", code)):
        said = oakpanel(*by, *words)
        assert (said.code, said.out) == (1, "")
        assert f"Not finished by all, and not revealed: {NAME}" in said.err


def test_what_came_after_is_told_by_number_and_by_whom(
    oakpanel: Call,
    house: Store,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from tests.houses.pins import by_file

    lead = caller(
        capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD", *by_file(house)
    )
    code = assessor(house)
    assert lead("session", "show", NAME, "--json").document["after_reopening"] is None
    reopened = lead("session", "reopen", NAME, "--reason", "late")
    assert "stays known" in reopened.err
    with house.write() as db:
        seat = db.scalars(select(SessionAssessor).order_by(SessionAssessor.seat)).first()
        assert seat is not None
        glass = db.get_one(Serving, last_glass(seat))
        scores = db.scalars(select(Score).where(Score.serving_id == glass.id)).all()
        for score in scores:
            score.given_at = LATER + timedelta(minutes=1)
        glass.finished_at = seat.finished_at = LATER + timedelta(minutes=1)
        append_entry(db, at=LATER, by=code, action="scores kept", details={"session": NAME})
    assert scores
    with house.write() as db:
        close_session(db, NAME, now=LATER + timedelta(minutes=2), by="LD")
    monkeypatch.setattr(
        "panel.cli.invocation.Invocation.now", lambda _self: LATER + timedelta(hours=1)
    )
    said = f"After that came (scores: {len(scores)}, glasses: 1) what {code} gave."
    told = {"n_scores": len(scores), "n_glasses": 1, "assessors": [code]}
    for words in (
        *(("agreement", NAME), ("session", "show", NAME), ("session", "show", NAME, "--scores")),
        *(("session", "reveal", NAME), ("session", "show", NAME)),
    ):
        if words[1] == "show":
            late = lead(*words, "--json").document["after_reopening"]
            assert {key: late[key] for key in told} == told
        assert said in lead(*words).out
    assert said in lead("report", "session", NAME, "--to", "-").out


def test_a_session_that_all_finished_is_read_by_anybody(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        reopen_session(db, NAME, now=NOW, by="LD", reason="late")
        for seat in db.scalars(select(SessionAssessor)):
            seat.finished_at = NOW
    with house.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    assert oakpanel("session", "show", NAME, "--scores").code == 0
