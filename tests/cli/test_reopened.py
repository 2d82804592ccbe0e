"""A session closed, read, opened again and scored on: who may read it, and what is said after."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlalchemy import select

from panel.kinds import Fault, ServingStatus
from panel.session.reopened import after_reopening, reopened_lines
from panel.session.stages import close_session, reopen_session
from panel.store.engine import Store
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import (
    FaultMark,
    PanelSession,
    Score,
    ScoreChange,
    Serving,
    ServingMark,
    SessionAssessor,
)
from tests.cli.calling import Call, caller
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all
from tests.houses.pins import PIN, give_pins

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


def test_a_lead_who_asks_for_what_is_private_is_asked_for_one_pin(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    give_pins(house)
    lead = caller(
        *(capsys, monkeypatch, "--db", str(house.url.database)),
        *("--by", "LD", "--pin-file", "-"),
    )
    read = lead("session", "show", NAME, "--scores", "--private", typed=f"{PIN}\n")
    assert (read.code, read.err) == (0, "")


def test_another_session_of_nearly_the_same_name_was_not_reopened(house: Store) -> None:
    """A file's database looks for texts without telling capitals apart."""
    with house.write() as db:
        reopen_session(db, NAME, now=LATER, by="LD", reason="late")
    with house.write() as db:
        other = db.scalars(select(PanelSession).where(PanelSession.name == NAME)).one()
        other.name = NAME.swapcase()
    with house.read() as db:
        assert after_reopening(db, NAME.swapcase()) is None


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
    given = f"; scores given, changed or taken back: {len(scores)}."
    said = f"After that {code} went on with 1 glass{given}"
    told = {"n_scores": len(scores), "n_glasses": 1, "assessors": [code]}
    span = lead("agreement", "--since", "2000-01-01")
    assert said in span.out
    [judged] = lead("agreement", "--since", "2000-01-01", "--json").document["sessions"]
    assert {key: judged["after_reopening"][key] for key in told} == told
    for words in (
        *(("agreement", NAME), ("session", "show", NAME), ("session", "show", NAME, "--scores")),
        *(("session", "reveal", NAME), ("session", "show", NAME)),
    ):
        if words[1] == "show":
            late = lead(*words, "--json").document["after_reopening"]
            assert {key: late[key] for key in told} == told
        assert said in lead(*words).out
    page = lead("report", "session", NAME, "--to", "-").out
    assert f"After that 1 person went on with 1 glass{given}" in page
    assert said not in page
    assert said in lead("report", "session", NAME, "--to", "-", "--for", "lead").out


def test_a_session_that_all_finished_is_read_by_anybody(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        reopen_session(db, NAME, now=NOW, by="LD", reason="late")
        for seat in db.scalars(select(SessionAssessor)):
            seat.finished_at = NOW
    with house.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    assert oakpanel("session", "show", NAME, "--scores").code == 0


def test_marks_of_a_fault_that_stood_and_were_taken_off_later_are_counted(house: Store) -> None:
    """One that was off before, one that was set later and one that was set anew are not."""
    before, at, later = (NOW + timedelta(minutes=n) for n in (-9, 1, 2))

    def logged(action: str, code: str, when: datetime, by: str = "AA") -> None:
        glass = {"session": NAME, "glass": code, "pouring": 1, "fault": "mould"}
        append_entry(db, at=when, by=by, action=action, details=glass)

    with house.write() as db:
        for code in ("101", "102", "103"):
            logged("fault marked", code, before)
        logged("fault mark taken off", "103", before)
        for code in ("102", "103"):
            logged("fault marked", code, before, by="AB")
    with house.write() as db:
        reopen_session(db, NAME, now=NOW, by="LD", reason="late")
    with house.write() as db:
        for code in ("101", "102", "103"):
            logged("fault mark taken off", code, at)
            logged("fault mark taken off", code, at, by="AB")
        logged("fault marked", "101", later)
        logged("fault marked", "104", at)
        logged("fault mark taken off", "104", later)
    with house.read() as db:
        found = after_reopening(db, NAME)
    assert found is not None
    assert (found.n_faults_off, found.n_faults, found.assessors) == (3, 0, ("AA", "AB"))
    assert found.words().endswith("Marks of a fault taken off after that: 3, by AA, AB.")


def test_scores_taken_back_and_marks_set_later_are_counted(house: Store) -> None:
    at = NOW + timedelta(minutes=1)
    with house.write() as db:
        reopen_session(db, NAME, now=NOW, by="LD", reason="late")
    with house.write() as db:
        session = db.scalars(select(PanelSession)).one()
        first, second, *_ = db.scalars(select(Serving).order_by(Serving.id))
        cleared, kept = db.scalars(select(Score).where(Score.serving_id == first.id)).all()[:2]
        nothing = after_reopening(db, session.name)
        assert nothing is not None
        assert (nothing.n_scores, nothing.n_glasses, nothing.assessors) == (0, 0, ())
        assert "no score was given, changed or taken back after that." in nothing.words()
        history = ((cleared, NOW, 4.0), (cleared, at, None), (kept, at, None), (kept, at, 5.0))
        for score, when, value in history:
            line = score.descriptor_version_id
            facts = {"value": value, "changed_at": when, "by_code": first.person.code}
            db.add(ScoreChange(serving_id=first.id, descriptor_version_id=line, **facts))
        db.delete(cleared)
        kept.given_at = at
        db.add(FaultMark(serving_id=second.id, fault=Fault.MOULD_OR_CORK, marked_at=at))
        for status in (ServingStatus.VOID, ServingStatus.KEPT):
            db.add(ServingMark(serving_id=second.id, status=status, marked_at=at, by_code="LD"))
        owners = {first.person.code, second.person.code}
    with house.read() as db:
        found = after_reopening(db, NAME)
        assert reopened_lines(db, [NAME]) == (found.words() if found else "",)
    assert found is not None
    assert (found.n_scores, found.n_taken_back, found.n_glasses) == (2, 1, 1)
    assert (found.n_faults, found.n_marked) == (1, 1)
    assert set(found.assessors) == owners
    assert "scores given, changed or taken back: 2." in found.words()
    assert "Marks of a fault set after that: 1." in found.words()
    assert found.words().endswith("Glasses marked by the lead after that: 1.")
    assert not any(code in found.words(named=False) for code in owners)


def test_a_blank_made_blank_again_is_no_score_taken_back(house: Store) -> None:
    with house.write() as db:
        reopen_session(db, NAME, now=NOW, by="LD", reason="late")
        score = db.scalars(select(Score)).first()
        assert score is not None
        line = {
            "serving_id": score.serving_id,
            "descriptor_version_id": score.descriptor_version_id,
        }
        db.delete(score)
        db.add(ScoreChange(**line, value=None, changed_at=LATER, by_code="AB"))
    with house.read() as db:
        found = after_reopening(db, NAME)
    assert found is not None
    assert (found.n_scores, found.n_taken_back) == (0, 0)


def test_a_span_the_wrong_way_round_is_refused(oakpanel: Call) -> None:
    said = oakpanel("agreement", "--since", "2026-03-02", "--until", "2026-03-01")
    assert said.code == 2
    assert "the wrong way round" in said.err
