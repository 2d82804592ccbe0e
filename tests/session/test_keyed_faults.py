"""What is wrong with keyed ballots is told at once, each with file, row and column."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import datetime
from io import StringIO

import pytest
from sqlalchemy import select

from panel.errors import SessionError
from panel.kinds import Fault, SessionKind
from panel.session.keyed import BallotsKept, keep_ballots, read_ballots, template
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store.engine import Store
from panel.store.sessions import Serving
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, opened, set_plan
from tests.houses.to_pass import build_to_pass, to_open
from tests.houses.to_plan import build_to_plan, furnish, plan
from tests.houses.traced import NAME as TRACED
from tests.houses.traced import trace_plan

Row = tuple[str, str, str, str]


def text_of(rows: Sequence[Row]) -> str:
    return "\n".join(["assessor,code,what,value", *(",".join(row) for row in rows), ""])


def keep(
    store: Store, name: str, rows: Sequence[Row], others: Sequence[Row] | None = None
) -> BallotsKept:
    first = read_ballots(text_of(rows), "one.csv")
    second = read_ballots(text_of(rows if others is None else others), "two.csv")
    with store.write() as db:
        return keep_ballots(db, name, first, second, now=FIXED_NOW, by=LEAD)


def refused(
    store: Store, name: str, rows: Sequence[Row], others: Sequence[Row] | None = None
) -> str:
    with pytest.raises(SessionError) as said:
        keep(store, name, rows, others)
    with store.read() as db:
        assert not db.scalars(select(Serving).where(Serving.finished_at.is_not(None))).all()
    return str(said.value)


def glasses(store: Store, name: str) -> list[tuple[str, str]]:
    with store.read() as db:
        rows = csv.DictReader(StringIO(template(db, name)))
        return list(dict.fromkeys((row["assessor"], row["code"]) for row in rows))


@pytest.fixture
def passing(store: Store, fixed_now: datetime) -> Store:
    build_to_pass(store, fixed_now, casks=23)
    to_open(store, fixed_now)
    return store


@pytest.fixture
def scored(store: Store) -> Store:
    with store.write() as db:
        furnish(db)
    with store.write() as db:
        plan_session(db, plan(), now=FIXED_NOW, by="L1")
    for step in (seal_session, open_session):
        with store.write() as db:
            step(db, "spring", now=FIXED_NOW, by="L1")
    return store


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


def test_in_passing_every_fault_is_told_with_its_row_and_nothing_is_kept(passing: Store) -> None:
    tray = glasses(passing, "morning")
    wrong = [("psas", ""), ("hold", ""), ("hold", "9"), ("pass", "3"), ("", "3")]
    rows = [(*glass, *said) for glass, said in zip(tray, wrong, strict=False)]
    said = refused(passing, "morning", rows)
    expected = [
        "column what: {} of {}: 'psas' is neither pass nor hold.",
        "column value: {} of {}: hold alone; '' is no fault. There are: 1 sulphur, ",
        "column value: {} of {}: hold stands with '9'; '9' is no fault. There are: 1 sulphur, ",
        "column value: {} of {}: pass stands with '3': either pass, or hold with a fault.",
        "column what: {} of {}: '3' stands without a word: pass, or hold with a fault.",
    ]
    for row, ((who, code), words) in enumerate(zip(tray, expected, strict=False), start=2):
        place = f"one.csv row {row}, two.csv row {row}, "
        assert f"{place}{words.format(code, who)}" in said
    assert len(said.splitlines()) == 1 + len(wrong)


def test_a_word_that_only_one_file_has_is_told_as_it_stands_there(passing: Store) -> None:
    (who, code), (other, beside) = glasses(passing, "morning")[:2]
    one: list[Row] = [(who, code, "pass", ""), (other, beside, "pass", "")]
    two: list[Row] = [(who, code, "psas", ""), (other, beside, "hold", "3")]
    said = refused(passing, "morning", one, two)
    assert f"two.csv row 2, column what: {code} of {who}: 'psas' is neither pass nor hold." in said
    assert "nothing in the second" not in said
    assert (
        f"{beside} of {other}: pass in the first, hold {list(Fault)[2].value} in the second."
        in said
    )


def test_a_fault_by_name_or_number_and_a_line_typed_twice_are_alike(passing: Store) -> None:
    tray = glasses(passing, "morning")
    (who, code), (other, beside) = tray[:2]
    one: list[Row] = [(who, code, "hold", "3"), (other, beside, "pass", "")]
    two: list[Row] = [(who, code, "hold", list(Fault)[2].value), *2 * [(other, beside, "pass", "")]]
    assert keep(passing, "morning", one, two).glasses == 2


def test_capitals_are_as_meant_and_what_is_left_is_said(passing: Store) -> None:
    tray = glasses(passing, "morning")
    who, code = tray[0]
    kept = keep(passing, "morning", [(who.lower(), code, "Pass", "")], [(who, code, "pass", "")])
    assert (kept.glasses, kept.still_empty) == (1, len(tray) - 1)
    left = f"{len(tray) - 1} glasses of the session are still empty."
    assert kept.words() == f"1 glass of {who} is kept. {left}"
    everything: list[Row] = [(*glass, "HOLD", "Rubber") for glass in tray[1:]]
    assert keep(passing, "morning", everything).still_empty == 0


def test_of_scores_every_fault_is_told_with_its_place(scored: Store) -> None:
    (who, code), (other, beside) = glasses(scored, "spring")[:2]
    rows: list[Row] = [
        *[(who, code, "Bonfire", "140"), (who, code, "bonfire", "x")],
        *[
            ("A77", code, "bonfire", "4"),
            (other, beside, "bonfier", ""),
            (who, "000", "bonfire", "4"),
        ],
        *[(other, beside, "fault", ""), (other, beside, "", "4")],
    ]
    said = refused(scored, "spring", rows)
    for row, words in (
        (2, f"column value: {code} of {who}: bonfire is 140, 0 to 100 is asked for."),
        (3, f"column value: {code} of {who}: bonfire is 'x', no whole number from 0 to 100."),
        (4, "column assessor: 'A77' has no tray in spring."),
        (5, f"column what: {beside} of {other}: 'bonfier' is not scored here."),
        (6, f"column code: 000 is not on the tray of {who}."),
        (7, f"column value: {beside} of {other}: fault alone; '' is no fault."),
        (8, f"column what: {beside} of {other}: '4' stands without a word."),
    ):
        assert f"one.csv row {row}, two.csv row {row}, {words}" in said
    assert len(said.splitlines()) == 1 + len(rows)


def test_an_empty_line_of_the_file_counts_as_a_row(scored: Store) -> None:
    who, code = glasses(scored, "spring")[0]
    text = f"assessor,code,what,value\n\n{who},{code},bonfire,140\n"
    lines = read_ballots(text, "one.csv")
    assert [line.row for line in lines] == [3]


@pytest.mark.parametrize(
    "kind", [SessionKind.STRONGER, SessionKind.TWO_AND_TWO, SessionKind.ODD_ONE_OUT]
)
def test_of_sets_every_fault_is_told_with_its_place(house: Store, kind: SessionKind) -> None:
    planned = set_plan(kind)
    opened(house, planned)
    tray = [glass for glass in glasses(house, planned.name) if glass[0] == "A1"]
    size = len(tray) // 2
    rows: list[Row] = [(*glass, "place", "7") for glass in tray[:size]]
    rows += [(*tray[size], "palce", "1"), (*tray[size + 1], "place", "first")]
    said = refused(house, planned.name, rows)
    among = f"{', '.join(str(row) for row in range(2, size + 1))} and {size + 1}"
    assert f"one.csv row {among}, two.csv row {among}, column value: Set 1 of A1" in said
    assert f"one.csv row {size + 2}, two.csv row {size + 2}, column what: " in said
    assert "'palce' is none: a set is answered by place." in said
    assert f"one.csv row {size + 3}, two.csv row {size + 3}, column value: " in said
    assert "place is 'first', no whole number." in said


def test_of_a_ranking_both_what_lacks_and_what_is_wrong_are_told(house: Store) -> None:
    planned = set_plan(SessionKind.RANKING)
    opened(house, planned)
    tray = [glass for glass in glasses(house, planned.name) if glass[0] == "A1"]
    rows: list[Row] = [(*tray[0], "place", "1"), (*tray[1], "place", "two")]
    said = refused(house, planned.name, rows)
    assert f"{tray[2][1]} has no place." in said
    assert "place is 'two', no whole number." in said


def test_of_traces_every_fault_is_told_with_its_place(house: Store) -> None:
    opened(house, trace_plan())
    who, code = glasses(house, TRACED)[0]
    rows: list[Row] = [
        *[(who, code, "5 S", "12"), (who, code, "7 s", "3"), (who, code, "10 s", "x")],
    ]
    said = refused(house, TRACED, rows)
    assert f"one.csv row 2, two.csv row 2, column value: {code} of {who}: 5 s is 12, 0 to 9" in said
    assert f"one.csv row 3, two.csv row 3, column what: {code} of {who}: '7 s' is no second" in said
    assert "10 s is 'x', no whole number from 0 to 9." in said


@pytest.mark.slow
def test_own_words_are_one_whatever_their_capitals_and_their_faults_are_told(store: Store) -> None:
    with store.write() as db:
        furnish(db)
    with store.write() as db:
        planned = plan(kind=SessionKind.OWN_WORDS, descriptors=(), most_words=1)
        plan_session(db, planned, now=FIXED_NOW, by="L1")
    for step in (seal_session, open_session):
        with store.write() as db:
            step(db, "spring", now=FIXED_NOW, by="L1")
    (who, code), (_, beside) = glasses(store, "spring")[:2]
    rows: list[Row] = [(who, code, "Old  jetty", "7"), (who, beside, "tar", "140")]
    said = refused(store, "spring", [*rows, (who, beside, "rope", "4")])
    assert f"row 3, column value: {beside} of {who}: tar is 140, 0 to 100" in said
    assert f"column what: {who} has 2 words; 1 at most here." in said
    assert keep(store, "spring", rows[:1], [(who, code, "old jetty", "7")]).glasses == 1
