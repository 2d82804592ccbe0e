"""Sessions dated after today: answers of today lack them, and say so."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import update

from panel.cli.later import tell_later, words_of_later
from panel.kinds import SessionStatus
from panel.questions.sessions import revealed_after
from panel.store.engine import Store
from panel.store.sessions import PanelSession
from panel.words.left_out import later_words
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all

HELD = NOW.date()


@pytest.fixture
def house(store: Store) -> Store:
    """Give a house whose one session is revealed, and dated the day after it was asked."""
    build(store)
    hold(store, "open")
    score_all(store)
    dated(store, SessionStatus.REVEALED, HELD + timedelta(days=1))
    return store


def dated(store: Store, status: SessionStatus, held_on: date) -> None:
    with store.write() as db:
        db.execute(update(PanelSession).values(status=status, held_on=held_on))


def test_a_revealed_session_dated_later_is_named(house: Store) -> None:
    with house.read() as db:
        assert revealed_after(db, HELD) == (NAME,)
        assert revealed_after(db, HELD + timedelta(days=1)) == ()
        said = words_of_later(db, None, HELD)
    assert said == f"1 session held after {HELD} is left out: {NAME}."


def test_nothing_is_said_of_a_day_that_was_asked_for_nor_before_the_reveal(house: Store) -> None:
    with house.read() as db:
        assert words_of_later(db, HELD, HELD) == ""
    dated(house, SessionStatus.CLOSED, HELD + timedelta(days=1))
    with house.read() as db:
        assert words_of_later(db, None, HELD) == ""


def test_several_are_counted_and_named() -> None:
    said = later_words(("Ebb", "Neap"), date(2026, 11, 30))
    assert said == "2 sessions held after 2026-11-30 are left out: Ebb, Neap."


def test_a_document_hears_it_on_the_other_stream(capsys: pytest.CaptureFixture[str]) -> None:
    tell_later("1 session.", as_json=True)
    assert capsys.readouterr() == ("", "1 session.\n")
    tell_later("1 session.", as_json=False)
    assert capsys.readouterr() == ("\n1 session.\n", "")
    tell_later("", as_json=False)
    assert capsys.readouterr() == ("", "")
