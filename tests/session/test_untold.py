"""What a session does not tell unasked: who felt unwell, which glass is double, notes too early."""

from __future__ import annotations

from datetime import datetime

import pytest
from sqlalchemy import select

from analysis.as_json import as_json
from panel.kinds import SessionStatus
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.showing import session_view
from panel.session.stages import close_session, open_session, reveal_session
from panel.session.summary import summarise
from panel.store.engine import Store
from panel.store.glass_notes import cask_notes
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession, Serving, ServingNote
from tests.houses.to_plan import plan, score_all

SAID = "like the [/x] shed,\n after rain"


@pytest.fixture
def evening(house: Store, fixed_now: datetime) -> Store:
    """Give an open session with a note, and an assessor who is not at their best."""
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        open_session(db, "spring", now=fixed_now, by="L1")
        score_all(db, fixed_now)
        session = db.scalars(select(PanelSession)).one()
        session.assessors[1].not_at_best = True
        row = db.scalars(
            select(KeyRow).join(KeyRow.draw).where(KeyRow.draw.has(label="D1"))
        ).first()
        assert row is not None
        glass = db.scalars(select(Serving).where(Serving.code == row.code)).first()
        assert glass is not None
        db.add(ServingNote(serving_id=glass.id, text=SAID, written_at=fixed_now))
    return house


def test_nobody_is_told_who_is_not_at_their_best(evening: Store) -> None:
    with evening.read() as db:
        view = session_view(db, "spring")
    assert "not at their best" not in "\n".join(view.lines())
    seats = as_json(view)["progress"]["seats"]
    assert {seat["not_at_best"] for seat in seats} == {None}
    assert "--private" in seats[0]["not_at_best_reason"]
    assert view.progress.seats[1].not_at_best  # the lead's own screen, at the session


def test_notes_are_told_after_the_reveal_with_what_was_in_the_glass(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.read() as db:
        view = session_view(db, "spring")
        assert SAID not in str(view)
        assert as_json(view)["notes"] is None
        assert as_json(view)["notes_reason"] == "told once the session is revealed"
        cask = db.scalars(select(KeyRow).where(KeyRow.draw.has(label="D1"))).first()
        assert cask is not None
        assert cask.draw.filling is not None
        number = cask.draw.filling.cask.number
        assert cask_notes(db, number, fixed_now.date()) == ()
    with evening.write() as db:
        close_session(db, "spring", now=fixed_now, by="L1")
        reveal_session(db, "spring", now=fixed_now, by="L1")
    with evening.read() as db:
        assert db.scalar(select(PanelSession.status)) is SessionStatus.REVEALED
        view = session_view(db, "spring")
        (note,) = cask_notes(db, number, fixed_now.date().replace(year=2030))
        assert cask_notes(db, number, fixed_now.date().replace(year=2020)) == ()
    assert view.notes == (note,)
    assert (note.draw, note.cask, note.note) == ("D1", number, SAID)
    (told,) = as_json(view)["notes"]
    assert told["note"] == SAID
    assert as_json(view)["notes_reason"] is None
    line = [each for each in view.lines() if each.startswith("Note of")]
    assert line == [
        f"Note of {note.assessor} on {note.glass} (D1 of {number}): like the [/x] shed, after rain"
    ]


AMOUNTS = ("glasses_a_tray", "glasses", "reduced_ml", "spirit_ml", "water_ml", "draw_ml")


def test_a_draft_does_not_tell_which_draw_is_poured_twice(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        view, asked = session_view(db, "spring"), session_view(db, "spring", pours=True)
    draws = as_json(view)["plan"]["draws"]
    assert {draw[amount] for draw in draws for amount in AMOUNTS} == {None}
    assert "poured twice" in as_json(view)["plan"]["draws_reason"]
    told = as_json(asked)["plan"]["draws"]
    assert [draw.keys() for draw in draws] == [draw.keys() for draw in told]
    assert len({draw["glasses"] for draw in told if draw["kind"] == "test"}) == 2
    lines = "\n".join(view.lines())
    assert "oakpanel session show spring --pours" in lines
    assert "glasses; draw" not in lines
    assert "glasses; draw" in "\n".join(asked.lines())


def test_where_nothing_is_poured_twice_all_is_told(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(duplicates=()), now=fixed_now, by="L1")
        whole = summarise(db, "spring")
    assert whole.without_pours() is whole
