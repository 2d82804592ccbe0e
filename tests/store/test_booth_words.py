"""Own words as a booth saves them: whose they are, what stays, what is refused."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, text, update
from sqlalchemy.exc import IntegrityError

from panel.errors import BoothError, DatabaseReadOnly, SeatTaken, WrongState
from panel.kinds import SessionStatus
from panel.store import booth_queries as booth
from panel.store.booth_role import CLOSED, GRANTS, make_booth_role
from panel.store.booth_tray import Seat, Tray
from panel.store.engine import Store
from panel.store.examine import Level, examine
from panel.store.log import LogEntry
from panel.store.log_check import broken_link, read_log
from panel.store.opening import open_store
from panel.store.own_words import OwnScore, OwnScoreChange, OwnWord
from panel.store.sessions import PanelSession, Score
from panel.store.word_text import LONGEST_WORD
from tests.houses.at_the_booth import NAME, PINS, START, WORDS, Wall, open_evening
from tests.houses.own_words_at_the_booth import named, open_own_words, own_scores


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def own(store: Store) -> Store:
    open_own_words(store)
    return store


def sit(store: Store, wall: Wall, who: str = "A1") -> Seat:
    return booth.sign_in(store, NAME, who, PINS[who], now=wall())


def name(store: Store, seat: Seat, word: str, wall: Wall) -> int:
    with store.write() as db:
        return booth.name_word(db, seat, word, wall())


def tray_of(store: Store, seat: Seat) -> Tray:
    with store.read() as db:
        return booth.tray(db, seat)


def take(store: Store, seat: Seat, code: str, wall: Wall) -> int:
    with store.write() as db:
        return booth.take_glass(db, seat, code, wall())


def test_words_are_the_lines_in_the_order_they_were_named(own: Store, wall: Wall) -> None:
    seat = sit(own, wall)
    assert tray_of(own, seat).lines == ()
    for word in ("wet slate", "[/x]", "tar"):
        name(own, seat, word, wall)
    tray = tray_of(own, seat)
    assert [line.name for line in tray.lines] == ["wet slate", "[/x]", "tar"]
    ends = {(line.low, line.high, line.low_words, line.high_words) for line in tray.lines}
    assert ends == {(0, 100, "not perceived", "very strong")}
    assert tray.own is not None
    assert (tray.own.most, tray.own.scored) == (8, frozenset())


def test_the_words_of_another_are_nowhere(own: Store, wall: Wall) -> None:
    one, two = sit(own, wall, "A1"), sit(own, wall, "A2")
    word = name(own, one, "tar", wall)
    name(own, two, "Tar", wall)
    assert [line.name for line in tray_of(own, two).lines] == ["Tar"]
    serving = take(own, two, "538", wall)
    with pytest.raises(BoothError, match="not on the sheet"), own.write() as db:
        booth.save_score(db, two, serving, word, 5, wall())
    with pytest.raises(BoothError, match="not a word of yours"), own.write() as db:
        booth.rename_word(db, two, word, "moss", wall())
    with pytest.raises(BoothError, match="not a word of yours"), own.write() as db:
        booth.take_word_back(db, two, word, wall())
    assert named(own, "A1") == ["tar"]


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "there is no word"),
        ("  \t ", "there is no word"),
        ("w" * (LONGEST_WORD + 1), "at most 40 stand on a line"),
        ("ta\u200br", "cannot be seen"),
        ("ta\x07r", "cannot be seen"),
        ("WET  Slate", "'wet slate' is among your words already"),
        ("we\u0301t", "'wét' is among your words already"),
    ],
)
def test_words_that_cannot_stand(own: Store, wall: Wall, typed: str, why: str) -> None:
    seat = sit(own, wall)
    name(own, seat, "wet slate", wall)
    name(own, seat, "wét", wall)
    with pytest.raises(BoothError, match=why):
        name(own, seat, typed, wall)
    assert named(own, "A1") == ["wet slate", "wét"]


def test_as_many_as_planned_and_no_more(store: Store, wall: Wall) -> None:
    open_own_words(store, most=2)
    seat = sit(store, wall)
    first = name(store, seat, "tar", wall)
    name(store, seat, "moss", wall)
    with pytest.raises(BoothError, match="2 words at most"):
        name(store, seat, "clove", wall)
    with store.write() as db:
        booth.take_word_back(db, seat, first, wall())
    name(store, seat, "clove", wall)
    assert named(store, "A1") == ["moss", "clove"]


def test_a_scored_word_stays_even_if_the_score_was_cleared(own: Store, wall: Wall) -> None:
    seat = sit(own, wall)
    word = name(own, seat, "tar", wall)
    with own.write() as db:
        booth.rename_word(db, seat, word, "tar rope", wall())
    serving = take(own, seat, "538", wall)
    for value in (40, None):
        with own.write() as db:
            booth.save_score(db, seat, serving, word, value, wall())
    with pytest.raises(BoothError, match="'tar rope' has been scored"), own.write() as db:
        booth.rename_word(db, seat, word, "moss", wall())
    with pytest.raises(BoothError, match="'tar rope' has been scored"), own.write() as db:
        booth.take_word_back(db, seat, word, wall())
    assert named(own, "A1") == ["tar rope"]
    own_words = tray_of(own, seat).own
    assert own_words is not None
    assert own_words.scored == {word}


def test_every_change_is_kept_and_the_last_one_counts(own: Store, wall: Wall) -> None:
    seat = sit(own, wall)
    word = name(own, seat, "tar", wall)
    serving = take(own, seat, "538", wall)
    for value in (40, None, 0, 7):
        wall.pass_s(1)
        with own.write() as db:
            booth.save_score(db, seat, serving, word, value, wall())
    with own.read() as db:
        changes = db.scalars(select(OwnScoreChange).order_by(OwnScoreChange.id)).all()
        assert [change.value for change in changes] == [40, None, 0, 7]
        assert {change.by_code for change in changes} == {"A1"}
        assert db.scalars(select(OwnScore)).one().given_at == START + timedelta(seconds=4)
        assert db.scalars(select(Score)).all() == []


@pytest.mark.parametrize("value", [101, -1, float("nan")])
def test_a_score_off_the_line_is_refused(own: Store, wall: Wall, value: float) -> None:
    seat = sit(own, wall)
    word = name(own, seat, "tar", wall)
    serving = take(own, seat, "538", wall)
    with pytest.raises(BoothError, match="between 0 and 100"), own.write() as db:
        booth.save_score(db, seat, serving, word, value, wall())


def test_none_of_the_rest_and_a_whole_glass_at_once(own: Store, wall: Wall) -> None:
    seat = sit(own, wall)
    tar, moss = (name(own, seat, word, wall) for word in ("tar", "moss"))
    serving = take(own, seat, "538", wall)
    with own.write() as db:
        booth.save_score(db, seat, serving, tar, 62, wall())
        assert booth.save_rest_zero(db, seat, serving, wall()) == (moss,)
    assert own_scores(own, "A1", "538") == {"tar": 62, "moss": 0}
    with own.write() as db:
        booth.finish_glass(db, seat, serving, wall())
    with own.write() as db:
        values = {tar: 5.0, moss: 6.0}
        booth.save_glass(db, seat, "417", values, taken_at=wall(), finished_at=wall())
    assert own_scores(own, "A1", "417") == {"tar": 5, "moss": 6}


def test_a_fenced_booth_and_a_closed_session_name_nothing(own: Store, wall: Wall) -> None:
    first, second = sit(own, wall), sit(own, wall)
    with pytest.raises(SeatTaken):
        name(own, first, "tar", wall)
    with own.write() as db:
        db.execute(update(PanelSession).values(status=SessionStatus.CLOSED))
    with pytest.raises(WrongState, match="was closed"):
        name(own, second, "tar", wall)
    assert named(own, "A1") == []


def test_where_the_lexicon_is_scored_no_word_is_named(store: Store, wall: Wall) -> None:
    open_evening(store)
    seat = sit(store, wall)
    with pytest.raises(BoothError, match="on the house's descriptors"):
        name(store, seat, "tar", wall)
    tray = tray_of(store, seat)
    assert tray.own is None
    assert len(tray.lines) == len(WORDS)


def test_the_log_holds_no_word_and_its_chain_holds(own: Store, wall: Wall) -> None:
    seat = sit(own, wall)
    word = name(own, seat, "a quite private word", wall)
    with own.write() as db:
        booth.rename_word(db, seat, word, "another secret", wall())
    with own.read() as db:
        bodies = [body or "" for body in db.scalars(select(LogEntry.body_json))]
        assert broken_link(db) is None
    assert len(bodies) == 5  # the house and the evening; signed in, named, renamed
    assert not any("private" in body or "secret" in body for body in bodies)


@pytest.mark.parametrize(
    ("table", "values"),
    [
        (OwnWord, {"word": "", "place": 9}),
        (OwnWord, {"word": "x", "place": 0}),
        (OwnWord, {"word": "tar", "place": 9}),
        (OwnWord, {"word": "x", "place": 1}),
        (OwnScore, {"value": 100.5}),
        (OwnScore, {"value": -0.1}),
    ],
)
def test_rules_that_the_tables_themselves_hold(
    own: Store, wall: Wall, table: type[OwnWord | OwnScore], values: dict[str, object]
) -> None:
    seat = sit(own, wall)
    word = name(own, seat, "tar", wall)
    serving = take(own, seat, "538", wall)
    owner = {"session_id": seat.session_id, "person_id": seat.person_id, "named_at": START}
    line = {"serving_id": serving, "own_word_id": word, "given_at": START}
    with own.read() as db:
        db.add(table(**{**(owner if table is OwnWord else line), **values}))
        with pytest.raises(IntegrityError):
            db.flush()


@pytest.mark.slow
def test_the_booth_cannot_reach_what_words_are_said_to_mean() -> None:
    program = (
        "import sys, panel.store.booth_queries, panel.booth.app;"
        "print('panel.store.word_matches' in sys.modules)"
    )
    root = Path(__file__).parents[2]
    ended = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, check=True
    )
    assert ended.stdout.strip() == "False"
    assert "own_word_match" not in GRANTS
    assert not set(CLOSED) & set(GRANTS)


@pytest.fixture
def booths_own_user(postgres_store: Store) -> Iterator[Store]:
    open_own_words(postgres_store)
    store = open_store(make_booth_role(postgres_store, "booth_of_words", new_password=True).url)
    yield store
    store.close()


def test_the_booths_user_on_a_server_names_and_scores(
    postgres_store: Store, booths_own_user: Store, wall: Wall
) -> None:
    store = booths_own_user
    seat = sit(store, wall)
    tar, moss = (name(store, seat, word, wall) for word in ("tar", "moss"))
    with store.write() as db:
        booth.rename_word(db, seat, tar, "tar rope", wall())
    with store.write() as db:
        booth.take_word_back(db, seat, moss, wall())
    serving = take(store, seat, "538", wall)
    for value in (62, None, 5):
        with store.write() as db:
            booth.save_score(db, seat, serving, tar, value, wall())
    assert own_scores(postgres_store, "A1", "538") == {"tar rope": 5}
    with postgres_store.read() as db:
        assert read_log(db.connection()).sound
    assert not [found for found in examine(postgres_store).findings if found.level is Level.FAULT]
    for refused in ("UPDATE own_word SET person_id = 2", "DELETE FROM own_score_change"):
        with pytest.raises(DatabaseReadOnly), store.write() as db:
            db.execute(text(refused))
