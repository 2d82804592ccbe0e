"""How a draw looks is kept by whoever pours, and seen by nobody before all of it is revealed."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.errors import EntriesAtFault, NotAllowed, UnknownRecord
from panel.intake.loading import load_file
from panel.intake.saved_records import saved_draws
from panel.kinds import Clarity
from panel.questions.cask_life import cask_life
from panel.records.looks import note_look
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.draws import Draw
from panel.store.engine import Session, Store
from panel.store.log import LogEntry
from tests.houses.to_plan import build_to_plan, plan

SEEN = "pale straw, hazy"


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store, casks=12)
    return store


def on_the_page(db: Session) -> bool:
    told = [entry.words for entry in cask_life(db, "4001", date(2026, 3, 20)).entries]
    return any(SEEN in words for words in told)


def in_the_file(db: Session) -> bool:
    return any("pale straw" in row for row in saved_draws(db).rows)


def test_it_is_shown_once_every_session_that_pours_it_is_revealed(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        look = {"colour": "pale straw", "clarity": Clarity.HAZY}
        note_look(db, "D1", **look, now=fixed_now, by="P1")
        last = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id.desc())).first() or ""
        assert "straw" not in last
        assert not on_the_page(db) | in_the_file(db)
        plan_session(db, plan(), now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        open_session(db, "spring", now=fixed_now, by="L1")
        close_session(db, "spring", now=fixed_now, by="L1")
        assert not on_the_page(db) | in_the_file(db)
        reveal_session(db, "spring", now=fixed_now, by="L1")
        assert on_the_page(db)
        assert in_the_file(db)
        plan_session(db, plan(name="summer"), now=fixed_now, by="L1")
        assert not on_the_page(db) | in_the_file(db)


def test_a_file_saved_before_the_reveal_takes_nothing_away(
    house: Store, fixed_now: datetime, tmp_path: Path
) -> None:
    with house.write() as db:
        note_look(db, "D1", colour="amber", now=fixed_now, by="L1")
    file = tmp_path / "draws.csv"
    file.write_text("sample,kind,cask,colour,clarity\nD1,cask,4001,,cloudy\n")
    assert load_file(house, "draws", file, now=fixed_now, by="L1").problems == ()
    with house.read() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "D1")).one()
        assert (draw.colour, draw.clarity) == ("amber", Clarity.CLOUDY)


def test_whoever_scores_does_not_write_it_and_something_is_said(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        with pytest.raises(NotAllowed):
            note_look(db, "D1", colour="amber", now=fixed_now, by="A1")
        with pytest.raises(EntriesAtFault, match="say its colour"):
            note_look(db, "D1", now=fixed_now, by="P1")
        with pytest.raises(EntriesAtFault, match="at most 40"):
            note_look(db, "D1", colour="x" * 41, now=fixed_now, by="P1")
        with pytest.raises(UnknownRecord, match="D9"):
            note_look(db, "D99", colour="amber", now=fixed_now, by="P1")
