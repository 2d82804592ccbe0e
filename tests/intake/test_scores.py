"""Scores in both shapes: names, scales, twins, sessions, updates."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import func, select

from panel.intake.kinds import Kind
from panel.kinds import DrawKind, GlassKind, Role, ServingStatus, SessionStatus, Stage
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    ScoreChange,
    Serving,
    SessionAssessor,
)
from tests.intake.files import House, counts, message, said, table

LONG = "session,assessor,sample,replicate,descriptor,score"
ROWS = [
    ("N1", "Alder", "C1 spring", 1, "hearth smoke", 12),
    ("N1", "Alder", "C1 spring", 1, "plum stone", 0),
    ("N1", "Rowan", "C1 spring", 1, "hearth smoke", 100),
    ("N1", "Rowan", "C1 spring", 1, "plum stone", ""),
    ("N1", "Rowan", "REF", 1, "hearth smoke", 33.5),
]
WIDE = "session,assessor,sample,held_on,position,hearth smoke,plum stone"


def test_a_long_file_is_a_revealed_history(house: House) -> None:
    report = house.take(Kind.SCORES, table(LONG, *ROWS))
    assert counts(report) == (5, 0, 0)
    assert report.created == {"sessions": ("N1",)}
    with house.store.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert (session.status, session.loaded) == (SessionStatus.REVEALED, True)
        assert [seat.person.code for seat in session.assessors] == ["Alder", "Rowan"]
        assert [line.scale_high for line in session.descriptors] == [100, 100]
        assert db.scalar(select(func.count()).select_from(Score)) == 4
        assert db.scalar(select(func.count()).select_from(Serving)) == 3
        kinds = {row.draw.label: row.kind for row in db.scalars(select(KeyRow))}
    assert kinds == {"C1 spring": GlassKind.TEST, "REF": GlassKind.REFERENCE}


def test_a_wide_file_gives_the_same_scores(house: House) -> None:
    house.take(
        Kind.SCORES,
        table(
            WIDE,
            ("N1", "Alder", "C1 spring", "2024-02-01", 1, 12, 0),
            ("N1", "Rowan", "C1 spring", "2024-02-01", 2, 100, ""),
        ),
    )
    with house.store.read() as db:
        assert [score.value for score in db.scalars(select(Score))] == [12, 0, 100]
        assert db.scalars(select(PanelSession)).one().held_on == date(2024, 2, 1)
        assert [one.position for one in db.scalars(select(Serving))] == [1, 2]


def test_a_wide_column_that_a_session_never_used_is_not_on_its_sheet(house: House) -> None:
    rows = [("N1", "Alder", "REF", "", "", 12, ""), ("N2", "Alder", "REF", "", "", "", 7)]
    house.take(Kind.SCORES, table(WIDE, *rows))
    with house.store.read() as db:
        sheets = {
            session.name: [line.descriptor_version.descriptor.name for line in session.descriptors]
            for session in db.scalars(select(PanelSession))
        }
    assert sheets == {"N1": ["hearth smoke"], "N2": ["plum stone"]}


def test_lines_of_a_wide_file_stand_in_the_order_of_its_columns(house: House) -> None:
    """Though the first glass has no score in the first of them."""
    rows = [("N1", "Alder", "REF", "", "", "", 7), ("N1", "Rowan", "REF", "", "", 12, 9)]
    house.take(Kind.SCORES, table(WIDE, *rows))
    with house.store.read() as db:
        (session,) = db.scalars(select(PanelSession))
        lines = [line.descriptor_version.descriptor.name for line in session.descriptors]
    assert lines == ["hearth smoke", "plum stone"]


def test_the_same_scores_twice_in_either_shape(house: House) -> None:
    house.take(Kind.SCORES, table(LONG, *ROWS))
    assert counts(house.take(Kind.SCORES, table(LONG, *ROWS))) == (0, 0, 5)
    wide = table(
        "session,assessor,sample,hearth smoke,plum stone", ("N1", "Alder", "C1 spring", 12, 0)
    )
    assert counts(house.take(Kind.SCORES, wide)) == (0, 0, 1)


def test_all_faults_of_a_score_file_at_once(house: House) -> None:
    rows = [
        ("N1", "Alder", "C1 spring", 1, "hearth smoke", 101),
        ("N1", "Alda", "C1 sprig", 1, "heart smoke", 5),
        ("N1", "Rowan", "REF", "x", "hearth smok", "inf"),
        ("N1", "Rowan", "REF", 1, "hearth smoke", "n/a"),
        ("N1", "Rowan", "REF", 1, "hearth smoke", -1),
    ]
    report = house.load(Kind.SCORES, table(LONG, *rows))
    assert sorted(said(report)) == [
        (2, "score", "101"),
        (3, "assessor", "Alda"),
        (3, "descriptor", "heart smoke"),
        (3, "sample", "C1 sprig"),
        (4, "descriptor", "hearth smok"),
        (4, "replicate", "x"),
        (4, "score", "inf"),
        (5, "score", "n/a"),
        (6, "replicate", "1"),
        (6, "score", "-1"),
    ]
    assert "runs from 0 to 100" in message(report, 2)
    assert "scale_high" in message(report, 2)
    assert "nearest: Alder; --create" in message(report, 3, "assessor")
    assert "row 5 has the same" in message(report, 6, "replicate")


def test_a_line_at_fault_hides_no_fault_of_others(house: House) -> None:
    rows = [
        ("N1", "Alder", "REF", 1, "hearth smoke", 5, "x"),
        ("N1", "Alda", "REF", 1, "plum stone", 5, 1),
    ]
    report = house.load(Kind.SCORES, table(f"{LONG},version", *rows))
    assert sorted(said(report)) == [(2, "version", "x"), (3, "assessor", "Alda")]


def test_a_score_that_is_no_number_and_an_unknown_name_in_one_wide_row(house: House) -> None:
    report = house.load(Kind.SCORES, table(WIDE, ("N1", "Alda", "REF", "", "", "x", "200")))
    assert sorted(said(report)) == [
        (2, "assessor", "Alda"),
        (2, "hearth smoke", "x"),
        (2, "plum stone", "200"),
    ]


def test_another_scale_is_given_in_columns(house: House) -> None:
    headings = f"{LONG},scale_low,scale_high"
    house.take(Kind.SCORES, table(headings, (*ROWS[0][:5], 7.5, 0, 15)))
    report = house.load(Kind.SCORES, table(headings, (*ROWS[2][:5], 14, 0, 10)))
    assert "up to 15" in message(report, 2, "scale_high")
    report = house.load(Kind.SCORES, table(LONG, (*ROWS[2][:5], 16)))
    assert "from 0 to 15" in message(report, 2, "score")
    report = house.load(Kind.SCORES, table(headings, ("N9", *ROWS[0][1:5], 5, 10, 10)))
    assert "above its beginning" in message(report, 2, "scale_high")


def test_twins_in_a_wide_file_are_said_once_a_row(house: House) -> None:
    row = ("N1", "Alder", "REF", "", "", 1, 2)
    report = house.load(Kind.SCORES, table(WIDE, row, row))
    assert said(report) == [(3, "replicate", "1")]


@pytest.mark.parametrize(
    ("days", "row", "words"),
    [
        (("2024-02-01", "2024-02-02"), 3, "held on 2024-02-01 in row 2"),
        (("2024-02-01", ""), 3, "held on 2024-02-01 in row 2"),
        (("2027-02-01", "2027-02-01"), 2, "future"),
        (("2023-02-01", "2023-02-01"), 2, "was drawn on 2024-01-01, after this session"),
    ],
)
def test_days_at_fault(house: House, days: tuple[str, str], row: int, words: str) -> None:
    rows = [
        ("N1", who, "REF", day, "", 1, 2) for who, day in zip(("Alder", "Rowan"), days, strict=True)
    ]
    assert words in message(house.load(Kind.SCORES, table(WIDE, *rows)), row, "held_on")


@pytest.mark.parametrize(
    ("headings", "first", "second", "column"),
    [
        ("position", 1, 2, "position"),
        ("flight", 1, 2, "flight"),
        ("status", "kept", "void", "status"),
        ("kind", "reference", "test", "kind"),
        ("status", "kept", "knew_key", "status"),
    ],
)
def test_rows_of_one_glass_agree(
    house: House, headings: str, first: object, second: object, column: str
) -> None:
    rows = [("N1", "Alder", "REF", word, 5) for word in ("hearth smoke", "plum stone")]
    text = table(
        f"session,assessor,sample,descriptor,score,{headings}",
        (*rows[0], first),
        (*rows[1], second),
    )
    assert "row 2" in message(house.load(Kind.SCORES, text), 3, column) or headings == "status"
    assert {row for row, _, _ in said(house.load(Kind.SCORES, text))} == {3}


def test_a_cask_must_be_the_samples_own(house: House) -> None:
    headings = "session,assessor,sample,cask,descriptor,score"
    rows = [
        ("N1", "Alder", "C1 spring", "C2", "plum stone", 5),
        ("N1", "Alder", "REF", "C1", "plum stone", 5),
    ]
    report = house.load(Kind.SCORES, table(headings, *rows))
    assert "drawn from cask C1" in message(report, 2, "cask")
    assert "comes from no cask" in message(report, 3, "cask")


def test_create_makes_and_lists(house: House) -> None:
    headings = "session,held_on,assessor,sample,cask,kind,descriptor,score"
    rows = [
        ("N1", "2024-02-01", "Teal", "C2 old", "C2", "", "[/x]", 5),
        ("N1", "2024-02-01", "Teal", "bottle", "", "", "[/x]", 6),
        ("N1", "2024-02-01", "Teal", "house ref", "", "reference", "[/x]", 7),
        ("N1", "2024-02-01", "Alder", "REF", "", "", "hearth smoke", 7),
    ]
    report = house.take(Kind.SCORES, table(headings, *rows), create=True)
    assert report.created == {
        "sessions": ("N1",),
        "assessors": ("Teal",),
        "samples": ("C2 old", "bottle", "house ref"),
        "descriptors": ("[/x]",),
    }
    with house.store.read() as db:
        draws = {one.label: one for one in db.scalars(select(Draw))}
        kinds = [draws[name].kind for name in ("C2 old", "bottle", "house ref")]
        assert kinds == [DrawKind.CASK, DrawKind.MARKET, DrawKind.REFERENCE]
        filling = draws["C2 old"].filling
        assert filling is not None
        assert filling.label == "C2/1"
        word = db.scalars(select(Descriptor).where(Descriptor.name == "[/x]")).one().versions[0]
        ends = (word.stage, word.low_words, word.high_words)
        assert ends == (Stage.NOSE, "not perceived", "very strong")
        person = db.scalars(select(Person).where(Person.code == "Teal")).one()
        assert [held.role for held in person.roles] == [Role.ASSESSOR]
        glasses = {row.draw.label: row.kind.value for row in db.scalars(select(KeyRow))}
    assert glasses["bottle"] == "market"


def test_create_on_check_lists_and_writes_nothing(house: House) -> None:
    row = ("N1", "Teal", "bottle", 1, "new word", 5)
    report = house.take(Kind.SCORES, table(LONG, row), create=True, check=True)
    assert report.created["descriptors"] == ("new word",)
    with house.store.read() as db:
        assert db.scalars(select(PanelSession)).all() == []
        assert db.scalars(select(Person).where(Person.code == "Teal")).all() == []


def test_create_with_a_cask_that_was_empty(house: House) -> None:
    headings = "session,held_on,assessor,sample,cask,descriptor,score"
    rows = [
        ("N1", "2009-02-01", "Alder", "old", "C1", "plum stone", 5),
        ("N1", "2009-02-01", "Alder", "odd", "C12", "plum stone", 5),
    ]
    report = house.load(Kind.SCORES, table(headings, *rows), create=True)
    assert "nothing was in this cask on 2009-02-01" in message(report, 2, "cask")
    assert "nearest: C" in message(report, 3, "cask")


def test_a_mistyped_column_of_a_wide_file_is_no_new_descriptor(house: House) -> None:
    text = table("session,assessor,sample,replicat,plum stone", ("N1", "Alder", "REF", 1, 5))
    report = house.load(Kind.SCORES, text, create=True)
    assert "is this the column replicate?" in message(report, 2, "replicat")


def test_another_value_is_a_fault_and_update_keeps_the_old_one(house: House) -> None:
    house.take(Kind.SCORES, table(LONG, *ROWS))
    other = [(*ROWS[0][:5], 13), (*ROWS[1][:5], ""), *ROWS[2:3]]
    report = house.load(Kind.SCORES, table(LONG, *other))
    assert said(report) == [(2, "score", "13"), (3, "score", "")]
    assert message(report, 2) == "recorded is 12, not 13; --update replaces it"
    assert counts(house.take(Kind.SCORES, table(LONG, *other), update=True)) == (0, 2, 1)
    house.take(Kind.SCORES, table(LONG, (*ROWS[0][:5], 14)), update=True)
    with house.store.read() as db:
        assert sorted(score.value for score in db.scalars(select(Score))) == [14, 33.5, 100]
        told = [change.value for change in db.scalars(select(ScoreChange).order_by(ScoreChange.id))]
    assert told == [12, 13, 0, None, 14]


def test_more_of_a_loaded_session_is_added(house: House) -> None:
    house.take(Kind.SCORES, table(LONG, *ROWS[:2]))
    assert counts(house.take(Kind.SCORES, table(LONG, *ROWS))) == (3, 0, 2)
    with house.store.read() as db:
        seats = [(seat.person.code, seat.seat) for seat in db.scalars(select(SessionAssessor))]
    assert sorted(seats) == [("Alder", 1), ("Rowan", 2)]


def test_recorded_values_of_a_glass_change_only_with_update(house: House) -> None:
    headings = f"{LONG},position,status,held_on"
    house.take(Kind.SCORES, table(headings, (*ROWS[0], 1, "kept", "2024-02-01")))
    changed = table(headings, (*ROWS[0], 2, "void+knew_key", "2024-02-02"))
    report = house.load(Kind.SCORES, changed)
    assert {column for _, column, _ in said(report)} == {"position", "status", "held_on"}
    house.take(Kind.SCORES, changed, update=True)
    with house.store.read() as db:
        glass = db.scalars(select(Serving)).one()
        assert (glass.position, glass.status) == (2, ServingStatus.VOID)
        assert db.scalars(select(SessionAssessor)).one().knew_key
        assert db.scalars(select(PanelSession)).one().held_on == date(2024, 2, 2)


def test_versions(house: House) -> None:
    headings = "descriptor,stage,low_words,high_words,version,introduced_on"
    house.take(Kind.LEXICON, table(headings, ("plum stone", "nose", "a", "b", 2, "2024-06-01")))
    headings = "session,held_on,assessor,sample,descriptor,score"
    for name, day in (("N1", "2024-02-01"), ("N2", "2024-07-01")):
        house.take(Kind.SCORES, table(headings, (name, day, "Alder", "REF", "plum stone", 5)))
    with house.store.read() as db:
        found = {
            session.name: session.descriptors[0].descriptor_version.version
            for session in db.scalars(select(PanelSession))
        }
    assert found == {"N1": 1, "N2": 2}
    headings = "session,assessor,sample,descriptor,score,version"
    report = house.load(Kind.SCORES, table(headings, ("N3", "Alder", "REF", "plum stone", 5, 3)))
    assert "there are: 1, 2" in message(report, 2, "version")
    report = house.load(Kind.SCORES, table(headings, ("N1", "Rowan", "REF", "plum stone", 5, 2)))
    assert "version 1 in session N1" in message(report, 2, "version")


def test_long_and_wide_are_not_mixed(house: House) -> None:
    text = table("session,assessor,sample,descriptor,plum stone", ("N1", "Alder", "REF", "x", 5))
    report = house.load(Kind.SCORES, text)
    assert {column for _, column, _ in said(report)} == {"plum stone", "score"}


def test_decimal_commas_in_wide_scores(house: House) -> None:
    text = table(WIDE, ("N1", "Alder", "REF", "", "", "12.5", "7.25"))
    house.take(Kind.SCORES, text.replace(",", ";").replace(".", ","))
    with house.store.read() as db:
        assert [score.value for score in db.scalars(select(Score))] == [12.5, 7.25]
