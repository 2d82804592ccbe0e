"""Sessions of own words: planned, watched, and what a lead says that words mean."""

from __future__ import annotations

import json
from datetime import datetime

import pytest
from sqlalchemy import select

from analysis.as_json import as_json
from panel.errors import NotAllowed, PlanRefused, SessionError, UnknownRecord, WrongState
from panel.kinds import SessionKind, SessionStatus
from panel.records.settings import change_setting
from panel.session.listed import list_sessions
from panel.session.own_words import (
    Meaning,
    confirm_word,
    confirm_words,
    session_words,
    words_by_assessor,
)
from panel.session.plan import plan_session, summarise
from panel.session.progress import session_progress
from panel.session.seal import key_hash
from panel.session.sheets import pour_sheet, tray_labels
from panel.session.showing import session_view
from panel.session.stages import reveal_session
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.log_check import broken_link
from panel.store.sessions import PanelSession
from panel.store.word_matches import OwnWordMatch
from tests.houses.own_words_planned import NAME, NAMED, OWN_PLAN, hold_own_evening, open_own_evening
from tests.houses.to_plan import plan


@pytest.fixture
def closed(house: Store, fixed_now: datetime) -> Store:
    hold_own_evening(house, fixed_now)
    return house


def reveal(store: Store, now: datetime) -> None:
    with store.write() as db:
        reveal_session(db, NAME, now=now, by="L1")


# ---------------------------------------------------------------------- the plan


def test_a_plan_without_a_lexicon(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        summary = plan_session(db, OWN_PLAN, now=fixed_now, by="L1")
        session = db.scalars(select(PanelSession)).one()
        assert (session.kind, session.most_words) == (SessionKind.OWN_WORDS, 8)
        assert session.descriptors == []
    assert summary.descriptors == ()
    assert as_json(summary)["own_words"] is True
    assert as_json(summary)["most_words"] == 8
    told = "\n".join(summary.lines())
    assert "names at most 8 words" in told
    assert "they give no profile" in told


def test_minutes_count_the_lines_there_may_be_and_the_naming(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        few = plan_session(db, plan(name="few", most_words=2, **OWN), now=fixed_now, by="L1")
        many = plan_session(db, plan(name="many", most_words=4, **OWN), now=fixed_now, by="L1")
        change_setting(db, "naming_s_a_glass", "0", now=fixed_now, by="L1")
        unnamed = summarise(db, "few")
    glasses = few.glasses_an_assessor
    # Two lines more on every glass at 8 s a line; 30 s for each glass of the first flight.
    assert many.minutes - few.minutes == pytest.approx(glasses * 2 * 8 / 60)
    assert few.minutes - unnamed.minutes == pytest.approx(glasses * 30 / 60)


OWN = {"descriptors": (), "kind": SessionKind.OWN_WORDS}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": SessionKind.OWN_WORDS}, "nobody scores the lexicon"),
        ({**OWN, "most_words": 0}, "own_words is 0; it lies from 1 to 30 words"),
        ({**OWN, "most_words": 31}, "own_words is 31"),
        ({"most_words": 3}, "goes with own words only"),
        ({"descriptors": ()}, "names no descriptor"),
    ],
)
def test_plans_that_do_not_go_together(
    house: Store, fixed_now: datetime, changes: dict[str, object], words: str
) -> None:
    with pytest.raises(PlanRefused, match=words), house.write() as db:
        plan_session(db, plan(**changes), now=fixed_now, by="L1")


def test_few_liquids_are_told(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        few = plan_session(
            db, plan(draws=("D1", "D2"), reference=None, **OWN), now=fixed_now, by="L1"
        )
    assert any("2 different liquids are few" in warning for warning in few.warnings)


# ---------------------------------------------------------------------- the evening


def test_sheets_say_that_it_is_own_words(house: Store, fixed_now: datetime) -> None:
    open_own_evening(house, fixed_now)
    with house.write() as db:
        for sheet in (
            pour_sheet(db, NAME, now=fixed_now, by="P1"),
            tray_labels(db, NAME, now=fixed_now, by="P1"),
        ):
            assert "Own words: nose the first flight, name what you find (at most 8" in sheet
            assert all(len(line) <= 80 for line in sheet.splitlines())


def test_progress_counts_words_and_names_none(closed: Store) -> None:
    with closed.read() as db:
        progress = session_progress(db, NAME)
        shown = json.dumps(as_json(session_view(db, NAME)))
        lines = "\n".join(session_view(db, NAME).lines())
        line = list_sessions(db)[0]
    assert [seat.n_words for seat in progress.seats] == [3, 2, 1]
    first = progress.seats[0].glasses[0]
    assert (first.n_scored, first.n_lines) == (3, 3)
    assert "A1  9 of 9 glasses  3 own words" in lines
    assert "1 own word, " in lines
    for word in ("slate", "tar", "Tar", "[/x]", "peel"):
        assert word not in shown
    assert line.kind is SessionKind.OWN_WORDS
    assert line.n_scores == 9 * (3 + 2 + 1)
    assert "own words" in line.remarks()


def test_the_sealed_key_holds_whatever_was_named(closed: Store, fixed_now: datetime) -> None:
    with closed.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert key_hash(db, session.id) == session.key_hash
    reveal(closed, fixed_now)
    with closed.read() as db:
        key = session_view(db, NAME).key
    assert key is not None
    assert key.matches


# ---------------------------------------------------------------------- what words mean


def test_words_are_for_the_lead_once_it_is_closed(house: Store, fixed_now: datetime) -> None:
    open_own_evening(house, fixed_now)
    with house.read() as db, pytest.raises(WrongState, match="is open"):
        session_words(db, NAME, by="L1")
    with house.read() as db, pytest.raises(WrongState, match="is open"):
        words_by_assessor(db, NAME)


def test_until_the_reveal_nobody_but_the_lead_sees_them(closed: Store, fixed_now: datetime) -> None:
    with closed.read() as db:
        for by in ("A1", "P1"):
            with pytest.raises(NotAllowed, match="'lead'"):
                session_words(db, NAME, by=by)
        lines = session_words(db, NAME, by=None)
        assert [(line.assessor, line.word, line.n_scores) for line in lines] == [
            (code, word, 9) for code, words in NAMED.items() for word in words
        ]
        assert words_by_assessor(db, NAME) == {code: list(words) for code, words in NAMED.items()}
    reveal(closed, fixed_now)
    with closed.read() as db:
        assert session_words(db, NAME, by="A1") == lines


def test_a_meaning_is_confirmed_changed_and_taken_back(closed: Store, fixed_now: datetime) -> None:
    def meant() -> str | None:
        with closed.read() as db:
            return session_words(db, NAME, by="L1")[0].descriptor

    for descriptor in ("wet slate", "bonfire", None):
        with closed.write() as db:
            line = confirm_word(db, NAME, "A1", "Wet  Slate", descriptor, by="L1", now=fixed_now)
        assert line.descriptor == descriptor
        assert meant() == descriptor
    with closed.write() as db, pytest.raises(SessionError, match="Nothing is confirmed"):
        confirm_word(db, NAME, "A1", "wet slate", None, by="L1", now=fixed_now)
    with closed.read() as db:
        bodies = [body or "" for body in db.scalars(select(LogEntry.body_json))]
        settled = [body for body in bodies if "meaning settled" in body]
        assert broken_link(db) is None
    assert len(settled) == 3
    assert not any("Slate" in body for body in settled)


@pytest.mark.parametrize(
    ("assessor", "word", "descriptor", "by", "kind", "words"),
    [
        ("A1", "tar", "bonfire", "A1", NotAllowed, "does not have the role 'lead'"),
        ("A9", "tar", "bonfire", "L1", UnknownRecord, "'A9' has no seat"),
        ("A1", "peel", "bonfire", "L1", UnknownRecord, "A1 named no word 'peel'"),
        ("A1", "tarr", "bonfire", "L1", UnknownRecord, "Nearest: tar"),
        ("A1", "tar", "bonfir", "L1", UnknownRecord, "Nearest: bonfire"),
    ],
)
def test_meanings_that_cannot_be(
    closed: Store,
    fixed_now: datetime,
    assessor: str,
    word: str,
    descriptor: str,
    by: str,
    kind: type[Exception],
    words: str,
) -> None:
    with pytest.raises(kind, match=words), closed.write() as db:
        confirm_word(db, NAME, assessor, word, descriptor, by=by, now=fixed_now)
    with closed.read() as db:
        assert db.scalars(select(OwnWordMatch)).all() == []


def test_several_meanings_are_written_all_or_none(closed: Store, fixed_now: datetime) -> None:
    wishes = [Meaning("A1", "tar", "bonfire"), Meaning("A2", "tar", "no such")]
    with pytest.raises(UnknownRecord), closed.write() as db:
        confirm_words(db, NAME, wishes, by="L1", now=fixed_now)
    with closed.write() as db:
        fine = [wishes[0], Meaning("A2", "tar", "bonfire")]
        confirm_words(db, NAME, fine, by="L1", now=fixed_now)
    with closed.read() as db:
        lines = session_words(db, NAME, by="L1")
    assert [line.word for line in lines if line.descriptor == "bonfire"] == ["tar", "Tar"]
    assert {line.confirmed_by for line in lines if line.descriptor} == {"L1"}


def test_a_session_on_the_lexicon_has_no_words(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        session = db.scalars(select(PanelSession)).one()
        session.key_hash, session.status = "0", SessionStatus.REVEALED
    with house.read() as db, pytest.raises(SessionError, match="scored on the lexicon"):
        session_words(db, NAME, by="L1")
