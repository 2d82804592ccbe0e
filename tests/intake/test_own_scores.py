"""Scores on own words: whose word it is, faults at once, the same file twice, the round trip."""

from __future__ import annotations

import csv
import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from panel.errors import WrongState
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.saving import save_file
from panel.kinds import SessionKind, SessionStatus
from panel.store.engine import Store
from panel.store.own_words import OwnScore, OwnScoreChange, OwnWord
from panel.store.people import Person
from panel.store.sessions import PanelSession, Score, Serving
from panel.store.word_text import LONGEST_WORD, word_key
from tests.examples import examples
from tests.intake.files import BY, NOW, House, counts, message, said, table
from tests.intake.test_round_trip import cell

NewHouse = Callable[[], House]
OWN = Kind.OWN_SCORES
LONG = "session,assessor,sample,replicate,word,score"
ROWS = [
    ("F1", "Alder", "C1 spring", 1, "wet slate", 12),
    ("F1", "Alder", "C1 spring", 1, "[/x]", 0),
    ("F1", "Alder", "REF", 1, "wet slate", 40),
    ("F1", "Alder", "REF", 1, "[/x]", ""),
    ("F1", "Rowan", "C1 spring", 1, "wet slate", 100),
]


def words(house: House) -> list[tuple[str, int, str]]:
    asked = select(Person.code, OwnWord.place, OwnWord.word).join(Person)
    with house.store.read() as db:
        found = db.execute(asked.order_by(Person.code, OwnWord.place))
        return [(code, place, word) for code, place, word in found]


def test_a_file_is_a_revealed_history_of_everybodys_own_words(house: House) -> None:
    report = house.take(OWN, table(LONG, *ROWS))
    assert counts(report) == (5, 0, 0)
    assert report.created == {"sessions": ("F1",)}
    assert words(house) == [
        ("Alder", 1, "wet slate"),
        ("Alder", 2, "[/x]"),
        ("Rowan", 1, "wet slate"),
    ]
    with house.store.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert (session.status, session.loaded, session.kind) == (
            *(SessionStatus.REVEALED, True),
            SessionKind.OWN_WORDS,
        )
        assert session.descriptors == []
        assert sorted(db.scalars(select(OwnScore.value))) == [0, 12, 40, 100]
        assert db.scalar(select(func.count()).select_from(Serving)) == 3
        assert db.scalar(select(func.count()).select_from(Score)) == 0


def test_the_same_file_twice_changes_nothing_and_more_is_added(house: House) -> None:
    house.take(OWN, table(LONG, *ROWS[:3]))
    assert counts(house.take(OWN, table(LONG, *ROWS))) == (1, 0, 4)  # an empty score is none
    assert counts(house.take(OWN, table(LONG, *ROWS))) == (0, 0, 5)
    assert len(words(house)) == 3


def test_all_faults_at_once(house: House) -> None:
    rows = [
        ("F1", "Alder", "C1 spring", 1, "wet slate", 101),
        ("F1", "Alda", "C1 sprig", 1, "tar", 5),
        ("F1", "Rowan", "REF", "x", "", "n/a"),
        ("F1", "Rowan", "REF", 1, "w" * (LONGEST_WORD + 1), 3),
        ("F1", "Alder", "C1 spring", 1, "wet slate", 3),
        ("F1", "Alder", "REF", 1, "Wet Slate", 3),
    ]
    report = house.load(OWN, table(LONG, *rows))
    assert [(row, column) for row, column, _ in sorted(said(report))] == [
        (2, "score"),
        (3, "assessor"),
        (3, "sample"),
        (4, "replicate"),
        (4, "score"),
        (4, "word"),
        (5, "word"),
        (6, "replicate"),
        (7, "word"),
    ]
    assert "the scale of wet slate runs from 0 to 100 here" in message(report, 2)
    assert "scale_high" not in message(report, 2)
    assert "nearest: Alder; --create" in message(report, 3, "assessor")
    assert "at most 40" in message(report, 5)
    assert "session, assessor, sample, word" in message(report, 6)
    assert "row 2 has this word of Alder as 'wet slate'" in message(report, 7)
    assert words(house) == []


def test_a_word_that_differs_in_blanks_only_is_the_same(house: House) -> None:
    house.take(OWN, table(LONG, ROWS[0], (*ROWS[2][:4], "wet   slate", 40)))
    assert words(house) == [("Alder", 1, "wet slate")]


def test_another_value_is_a_fault_and_update_keeps_the_old_one(house: House) -> None:
    house.take(OWN, table(LONG, *ROWS))
    other = [(*ROWS[0][:5], 13), (*ROWS[1][:5], ""), *ROWS[2:3]]
    report = house.load(OWN, table(LONG, *other))
    assert said(report) == [(2, "score", "13"), (3, "score", "")]
    assert message(report, 2) == "recorded is 12, not 13; --update replaces it"
    assert counts(house.take(OWN, table(LONG, *other), update=True)) == (0, 2, 1)
    with house.store.read() as db:
        assert sorted(db.scalars(select(OwnScore.value))) == [13, 40, 100]
        told = select(OwnScoreChange.value).order_by(OwnScoreChange.id)
        assert list(db.scalars(told)) == [12, 13, 0, None]


def test_create_makes_assessors_and_samples_and_check_writes_nothing(house: House) -> None:
    row = table(LONG, ("F1", "Teal", "bottle", 1, "tar", 5))
    report = house.take(OWN, row, create=True, check=True)
    assert report.created == {
        "sessions": ("F1",),
        "assessors": ("Teal",),
        "samples": ("bottle",),
    }
    assert words(house) == []
    house.take(OWN, row, create=True)
    assert words(house) == [("Teal", 1, "tar")]


def test_the_two_kinds_of_session_are_not_mixed(house: House) -> None:
    house.take(OWN, table(LONG, *ROWS))
    lexicon = table(LONG.replace("word", "descriptor"), ("F1", "Alder", "REF", 1, "plum stone", 5))
    report = house.load(Kind.SCORES, lexicon)
    assert "load its scores with `load own-scores`" in message(report, 2, "session")
    house.take(Kind.SCORES, lexicon.replace("F1", "N1"))
    report = house.load(OWN, table(LONG, ("N1", "Alder", "REF", 1, "tar", 5)))
    assert "load its scores with `load scores`" in message(report, 2, "session")


def test_each_kind_saves_its_own_sessions(house: House) -> None:
    house.take(OWN, table(LONG, *ROWS))
    lexicon = table(LONG.replace("word", "descriptor"), ("N1", "Alder", "REF", 1, "plum stone", 5))
    house.take(Kind.SCORES, lexicon)
    assert b"F1" not in house.saved(Kind.SCORES)
    assert b"N1" not in house.saved(OWN)
    path = house.folder / "x.csv"
    left_out = save_file(house.store, Kind.SCORES, path).left_out
    assert left_out == ("Scored in own words, so left out (`save own-scores` has them): F1.",)
    assert save_file(house.store, OWN, path, force=True).left_out == ()
    with pytest.raises(WrongState, match="save own-scores"):
        save_file(house.store, Kind.SCORES, path, sessions=["F1"], force=True)
    with pytest.raises(WrongState, match="save scores"):
        save_file(house.store, OWN, path, sessions=["N1"], force=True)


@pytest.mark.parametrize("status", [SessionStatus.SEALED, SessionStatus.OPEN, SessionStatus.CLOSED])
def test_nothing_goes_in_or_out_before_the_reveal(house: House, status: SessionStatus) -> None:
    house.take(OWN, table(LONG, *ROWS))
    with house.store.write() as db:
        session = db.scalars(select(PanelSession)).one()
        session.status, session.loaded, session.key_hash = status, False, "0"
    report = house.load(OWN, table(LONG, *ROWS))
    assert {column for _, column, _ in said(report)} == {"session"}
    saved = save_file(house.store, OWN, house.folder / "x.csv")
    assert (saved.rows, saved.left_out) == (0, ("Not revealed yet, so left out: F1.",))
    with pytest.raises(WrongState, match="once it is revealed"):
        save_file(house.store, OWN, house.folder / "y.csv", sessions=["F1"])


def test_a_session_held_here_keeps_its_record(house: House) -> None:
    house.take(OWN, table(LONG, *ROWS))
    with house.store.write() as db:
        session = db.scalars(select(PanelSession)).one()
        session.loaded, session.key_hash = False, "0"
    content = house.saved(OWN)
    assert counts(house.take(OWN, content)) == (0, 0, content.count(b"\n") - 1)
    other = [(*ROWS[0][:5], 13), ("F1", "Rowan", "C1 spring", 1, "tar", 5)]
    report = house.load(OWN, table(LONG, *other), update=True)
    assert "the session was held here" in message(report, 2, "score")
    assert "Rowan named no such word" in message(report, 3, "word")


def test_the_order_of_the_words_and_empty_scores_come_back(
    house: House, new_house: NewHouse
) -> None:
    house.take(OWN, table(LONG, *ROWS))
    content = house.saved(OWN)
    first = content.decode().splitlines()[:2]
    assert first[0].endswith("replicate,pouring,status,word,score")
    assert first[1] == "F1,,Alder,C1 spring,C1,test,1,,1,1,kept,wet slate,12"
    other = new_house()
    for kind in (Kind.MAKES, Kind.CASKS, Kind.DRAWS, Kind.ASSESSORS):
        other.take(kind, house.saved(kind))
    other.take(OWN, content)
    assert other.saved(OWN) == content
    assert words(other) == words(house)


SHOWN = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cf", "Co", "Cn", "Zl", "Zp"))
ODD = st.sampled_from(
    ["[/x]", "=1+1", "'=x", "+A", "@C", "a;b", 'say "x"', "a,b", "e\u0301", "007"]
)
WORD = (ODD | st.text(SHOWN, min_size=1, max_size=9)).map(
    lambda typed: " ".join(unicodedata.normalize("NFC", typed).split())
)
WORDS = st.lists(
    WORD.filter(lambda word: bool(word) and word.isprintable()),
    min_size=1,
    max_size=4,
    unique_by=word_key,
)


@settings(
    max_examples=examples(8),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    lists=st.lists(WORDS, min_size=1, max_size=3),
    scores=st.lists(st.none() | st.floats(0, 100), min_size=24, max_size=24),
    states=st.lists(st.sampled_from(["kept", "void", "swap_suspected"]), min_size=6, max_size=6),
    positions=st.lists(st.none() | st.integers(0, 9), min_size=6, max_size=6),
)
def test_odd_words_and_numbers_come_back_exactly(
    lists: list[list[str]],
    scores: list[float | None],
    states: list[str],
    positions: list[int | None],
    new_house: NewHouse,
) -> None:
    given_scores = iter(scores)
    lines = [["session", "assessor", "sample", "status", "position", "word", "score"]]
    for person, theirs in enumerate(lists):
        for glass in range(2):
            head = [f"F{glass}", f"A{person}", f"=S{glass}"]
            head += [states[2 * person + glass], cell(positions[2 * person + glass])]
            lines += [[*head, cell(word), cell(next(given_scores))] for word in theirs]
    house = new_house()
    path = house.file("")
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(lines)
    report = load_file(house.store, OWN, path, now=NOW, by=BY, create=True)
    assert report.problems == (), [problem.sentence() for problem in report.problems]
    for ending in (".csv", ".xlsx"):
        other = new_house()
        house.saved(OWN, f"own{ending}")
        same = load_file(
            other.store, OWN, house.folder / f"own{ending}", now=NOW, by=BY, create=True
        )
        assert same.problems == (), [problem.sentence() for problem in same.problems]
        assert other.saved(OWN) == house.saved(OWN)
        assert words(other) == words(house)


def test_the_same_on_a_database_server(postgres_store: Store, house: House, tmp_path: Path) -> None:
    """The bulk writing must not lean on SQLite."""
    house.take(OWN, table(LONG, *ROWS))
    server = House(postgres_store, tmp_path)
    for kind in (Kind.MAKES, Kind.CASKS, Kind.DRAWS, Kind.ASSESSORS, OWN):
        server.take(kind, house.saved(kind))
    assert server.saved(OWN, "server.csv") == house.saved(OWN)
    changed = table(LONG, (*ROWS[0][:5], 77.5), (*ROWS[1][:5], ""))
    assert server.take(OWN, changed, update=True).changed == 2
