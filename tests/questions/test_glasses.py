"""Raw scores, glass by glass: in codes before the reveal, with what was in them after it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import func, select

from analysis.as_json import as_json
from panel.errors import WrongState
from panel.kinds import Fault
from panel.questions.glasses import cask_glasses, session_glasses
from panel.session.stages import close_session, reveal_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import (
    FaultMark,
    PanelSession,
    Score,
    Serving,
    ServingNote,
    SessionAssessor,
)
from panel.words.glass_words import cask_glass_lines, session_glass_lines
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all
from tests.houses.own_words_at_the_desk import OWN, hold_own_words

DAY = date(2026, 3, 14)


@pytest.fixture
def scored(store: Store) -> Store:
    """An open session with all its scores, a fault, a note, and one who is not at their best."""
    build(store)
    hold(store, "open")
    score_all(store)
    with store.write() as db:
        glass = db.scalars(select(Serving).order_by(Serving.id)).all()[5]
        db.add(FaultMark(serving_id=glass.id, fault=Fault.SOAPY, marked_at=NOW))
        db.add(ServingNote(serving_id=glass.id, text="D3 again, surely", written_at=NOW))
        db.scalars(select(SessionAssessor)).all()[1].not_at_best = True
    return store


def close(store: Store) -> None:
    with store.write() as db:
        close_session(db, NAME, now=NOW, by="LD")


def test_while_it_is_open_nobody_reads_scores(scored: Store) -> None:
    with scored.read() as db, pytest.raises(WrongState, match="closed"):
        session_glasses(db, NAME)


def test_before_the_reveal_a_glass_is_its_code(scored: Store) -> None:
    close(scored)
    with scored.read() as db:
        found = session_glasses(db, NAME)
        labels = set(db.scalars(select(Draw.label).join(KeyRow)))
        given = db.scalar(select(func.count()).select_from(Score))
    text = str(as_json(found)) + "\n".join(session_glass_lines(found))
    assert not [label for label in labels if label in text]
    assert "surely" not in text
    assert {(each.draw, each.cask, each.kind, each.note) for each in found.glasses} == {(None,) * 4}
    assert sum(len(each.scores) for each in found.glasses) == given
    assert [each.faults for each in found.glasses if each.faults] == [("soapy",)]
    assert [each.code for each in found.glasses] == sorted(each.code for each in found.glasses)


def test_after_it_each_glass_tells_what_it_was_and_what_was_written(scored: Store) -> None:
    close(scored)
    with scored.write() as db:
        reveal_session(db, NAME, now=NOW, by="LD")
    with scored.read() as db:
        found = session_glasses(db, NAME)
        behind = {row.code: row.draw.label for row in db.scalars(select(KeyRow))}
        value = db.scalars(select(Score).order_by(Score.serving_id)).first()
        assert value is not None
        glass = db.get_one(Serving, value.serving_id)
        code, who = glass.code, glass.person.code
    assert all(each.draw == behind[each.code] for each in found.glasses)
    row = next(each for each in found.glasses if (each.code, each.assessor) == (code, who))
    assert value.value in row.scores.values()
    assert [each.note for each in found.glasses if each.note] == ["D3 again, surely"]
    assert "fault: soapy, D3 again, surely" in "\n".join(session_glass_lines(found))


def test_who_was_not_at_their_best_is_told_to_who_has_proved_it_only(scored: Store) -> None:
    close(scored)
    with scored.read() as db:
        assert session_glasses(db, NAME).to_dict()["not_at_best"] is None
        assert "--private" in str(session_glasses(db, NAME).not_at_best_reason)
        code = db.scalars(select(SessionAssessor)).all()[1].person.code
        day = db.scalars(select(PanelSession)).one().held_on
        assert day is not None
        told = session_glasses(db, NAME, private_on=day + timedelta(days=30))
        over = session_glasses(db, NAME, private_on=day + timedelta(days=31))
    assert told.not_at_best == (code,)
    assert told.not_at_best_reason is None
    assert over.not_at_best is None
    assert "over" in str(over.not_at_best_reason)
    assert "some days only" in "\n".join(session_glass_lines(over))


def test_a_cask_is_told_of_over_revealed_sessions_only(scored: Store) -> None:
    close(scored)
    with scored.read() as db:
        number = db.scalars(select(Draw).join(KeyRow).where(Draw.filling_id.is_not(None))).first()
        assert number is not None
        assert number.filling is not None
        cask = number.filling.cask.number
        assert cask_glasses(db, cask, as_of=DAY) == ()
    with scored.write() as db:
        reveal_session(db, NAME, now=NOW, by="LD")
    with scored.read() as db:
        glasses = cask_glasses(db, cask, as_of=DAY)
        assert cask_glasses(db, cask, as_of=date(2026, 3, 13)) == ()
    assert {each.cask for each in glasses} == {cask}
    assert {each.session for each in glasses} == {NAME}
    assert f"Cask {cask} as it was scored" in cask_glass_lines(cask, glasses)[0]


def test_own_words_stand_as_they_were_scored(store: Store) -> None:
    build(store)
    hold_own_words(store)
    with store.read() as db:
        found = session_glasses(db, OWN)
    assert {"soot", "pear"} <= set(found.notes)
    assert all(each.scores for each in found.glasses if not each.warm_up)
