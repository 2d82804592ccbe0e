"""Sets on paper: a ballot an assessor, keyed in by codes, whole sets or nothing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.errors import SessionError
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.saving import save_file
from panel.kinds import SessionKind
from panel.report.paper import labels_page, mats_page
from panel.session.ballots import ballots
from panel.session.day_sheet import day_sheet
from panel.session.keyed import KeyedLine, keep_ballots, read_ballots, template
from panel.session.plan import SessionPlan
from panel.session.printed_codes import codes_to_print
from panel.session.sheets import tray_labels
from panel.store.answers import Answer, AnswerChange
from panel.store.engine import Store
from panel.store.sessions import Serving, SessionAssessor
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, answer_all, opened, picks, revealed, set_plan
from tests.houses.to_plan import build_to_plan

Rows = Sequence[tuple[str, str, int]]
PAIRS, FOURS, RANKED = SessionKind.STRONGER, SessionKind.TWO_AND_TWO, SessionKind.RANKING
ODD, LIKE = SessionKind.ODD_ONE_OUT, SessionKind.LIKE_THE_FIRST


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


def tray(store: Store, who: str) -> list[list[str]]:
    """Return the codes of somebody's sets, in order."""
    with store.read() as db:
        rows = db.scalars(select(Serving).order_by(Serving.flight, Serving.position)).all()
        mine = [glass for glass in rows if glass.person.code == who]
        return [[g.code for g in mine if g.flight == n] for n in sorted({g.flight for g in mine})]


def key_in(store: Store, plan: SessionPlan, rows: Rows, other: Rows | None = None) -> int:
    first, second = (
        [KeyedLine(who, code, "place", str(place)) for who, code, place in keyed]
        for keyed in (rows, rows if other is None else other)
    )
    with store.write() as db:
        return keep_ballots(db, plan.name, first, second, now=FIXED_NOW, by=LEAD).glasses


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        (PAIRS, "tick the one that has more"),
        (FOURS, "goes with"),
        (RANKED, "place ___"),
        (RANKED, "1 for the most wet slate"),
        (ODD, "the odd one"),
        (LIKE, "(the reference)"),
    ],
)
def test_a_ballot_has_every_set_by_code_and_no_key(
    house: Store, kind: SessionKind, asked: str
) -> None:
    plan = set_plan(kind)
    opened(house, plan)
    with house.write() as db:
        text = ballots(db, plan.name, now=FIXED_NOW, by=LEAD)
    pages = text.split("\f")
    assert len(pages) == len(plan.assessors)
    for page, who in zip(pages, plan.assessors, strict=True):
        assert f"assessor {who}" in page
        assert page.count(asked) >= 2
        assert all(code in page for row in tray(house, who) for code in row)
        assert not any(draw in page for draw in plan.draws)
        assert all(len(line) <= 80 for line in page.splitlines())


def test_a_session_on_the_lexicon_has_ballots_too(house: Store) -> None:
    plan = set_plan(SessionKind.PROFILE, replicates=1)
    opened(house, plan)
    with house.write() as db:
        page = ballots(db, plan.name, now=FIXED_NOW, by=LEAD).split("\f")[0]
    assert page.count("wet slate") == 1 + sum(map(len, tray(house, "A1")))
    assert "Whole numbers from 0 to 100:" in page


def test_what_was_keyed_in_counts_as_if_it_was_answered_at_a_booth(house: Store) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    rows = [
        ("A1", code, place) for row in tray(house, "A1") for place, code in enumerate(row, start=1)
    ]
    assert key_in(house, plan, rows) == 4
    with house.read() as db:
        assert sorted(answer.value for answer in db.scalars(select(Answer))) == [1, 1, 2, 2]
        assert len(db.scalars(select(AnswerChange)).all()) == 4
        chairs = {
            seat.person.code: seat.finished_at for seat in db.scalars(select(SessionAssessor))
        }
    assert chairs["A1"] is not None
    assert chairs["A2"] is None
    with pytest.raises(SessionError, match="was answered already"):
        key_in(house, plan, rows)


@pytest.mark.parametrize("kind", [PAIRS, FOURS])
def test_a_tick_alone_is_a_whole_answer(house: Store, kind: SessionKind) -> None:
    plan = set_plan(kind)
    opened(house, plan)
    row = tray(house, "A1")[0]
    text = f"assessor,code,what,value\nA1,{row[1]},place,x\n"
    lines = read_ballots(text, "one.csv")
    with house.write() as db:
        keep_ballots(db, plan.name, lines, lines, now=FIXED_NOW, by=LEAD)
    with house.read() as db:
        mine = [g for g in db.scalars(select(Serving)) if g.person.code == "A1"]
        found = {g.code: answer.value for g in mine if (answer := db.get(Answer, (g.id, 1)))}
    ones = {row[1]} if kind is PAIRS else {row[0], row[1]}
    assert found == {code: 1 if code in ones else 2 for code in row}


def test_two_keyings_that_differ_are_told_and_not_kept(house: Store) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    one, two = tray(house, "A1")[0]
    with pytest.raises(SessionError, match="place 1 in the first, place 2 in the second"):
        key_in(house, plan, [("A1", one, 1), ("A1", two, 2)], [("A1", one, 2), ("A1", two, 1)])


def test_a_glass_keyed_twice_has_one_place(house: Store) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    one, two = tray(house, "A1")[0]
    with pytest.raises(SessionError, match=f"{one} of A1: place has two values, 2 and 1"):
        key_in(house, plan, [("A1", one, 2), ("A1", one, 1), ("A1", two, 2)])


def test_every_fault_is_said_at_once_and_nothing_is_written(house: Store) -> None:
    plan = set_plan(RANKED)
    opened(house, plan)
    (a, b, c), (d, e, f) = tray(house, "A1")
    rows = [
        *[("A1", a, 1), ("A1", b, 1)],
        *[("A1", d, 1), ("A1", e, 1), ("A1", f, 2)],
        ("A2", "000", 1),
    ]
    with pytest.raises(SessionError) as refused:
        key_in(house, plan, rows)
    for words in (
        f"{c} has no place",
        "1 for the first, equal places shared",
        "000 is not on the tray of A2",
    ):
        assert words in str(refused.value)
    with house.read() as db:
        assert db.scalars(select(Answer)).all() == []


def test_nobody_ticks_the_reference_and_it_cannot_be_the_other(house: Store) -> None:
    plan = set_plan(LIKE)
    opened(house, plan)
    (first, like, other), _ = tray(house, "A1")
    with house.read() as db:
        keyed = template(db, plan.name)
    assert f"A1,{first}," not in keyed
    assert f"A1,{like},place," in keyed
    wrong = [("A1", first, 2), ("A1", like, 1), ("A1", other, 1)]
    with pytest.raises(SessionError, match="1 for the reference and for what is like it"):
        key_in(house, plan, wrong)
    assert key_in(house, plan, [("A1", like, 1), ("A1", other, 2)]) == 3
    with house.read() as db:
        kept = {a.serving.code: a.value for a in db.scalars(select(Answer))}
    assert kept == {first: 1.0, like: 1.0, other: 2.0}


def test_whoever_pours_and_lays_out_is_told_which_glass_is_marked(house: Store) -> None:
    plan = set_plan(LIKE)
    opened(house, plan)
    first = tray(house, "A1")[0][0]
    with house.write() as db:
        labels = tray_labels(db, plan.name, now=FIXED_NOW, by=LEAD)
        found = codes_to_print(db, plan.name, "mats", now=FIXED_NOW, by=LEAD)
    assert f"Set 1  {first} (reference)   " in labels
    assert [one.reference for one in found.codes[:3]] == [True, False, False]
    assert mats_page(found).count('<span class="small">reference</span>') == 12
    assert labels_page(found, "3x8").count(", reference</span>") == 12
    assert not any(draw in labels for draw in plan.draws)


def test_the_page_of_the_day_has_its_sets_between_the_breaks(house: Store) -> None:
    plan = set_plan(ODD, replicates=5)
    opened(house, plan)
    with house.write() as db:
        page = day_sheet(db, plan.name, now=FIXED_NOW, by=LEAD)
    runs = re.findall(r"   (sets? .*): (\d+) to (\d+)(.*)", page)
    assert [run[0] for run in runs] == ["sets 1 to 2", "sets 3 to 5"]
    ends = [int(minute) for run in runs for minute in run[1:3]]
    assert ends == sorted(ends)
    assert [run[3] for run in runs] == [", then a break of 60", ", the end"]
    assert "after every set;" in page


def test_answers_are_saved_once_revealed_and_load_as_they_are(house: Store, tmp_path: Path) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    answer_all(house, plan, picks("D1"))
    save_file(house, Kind.ANSWERS, tmp_path / "before.csv")
    assert len((tmp_path / "before.csv").read_text().splitlines()) == 1
    revealed(house, plan)
    save_file(house, Kind.ANSWERS, tmp_path / "after.csv")
    report = load_file(house, Kind.ANSWERS, tmp_path / "after.csv", now=FIXED_NOW, by=LEAD)
    assert (report.problems, report.unchanged) == ((), 24)


@pytest.mark.parametrize("answered", [True, False])
def test_no_answer_comes_in_by_a_load(house: Store, tmp_path: Path, answered: bool) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    if answered:
        answer_all(house, plan, picks("D1"))
    with house.read() as db:
        kept = {change.id: change.value for change in db.scalars(select(AnswerChange))}
    one, two = tray(house, "A1")[0]
    with house.read() as db:
        glass = db.scalars(select(Serving).where(Serving.code == one)).first()
        held = None if glass is None else db.get(Answer, (glass.id, 1))
        places = (2, 1) if held is not None and held.value == 1 else (1, 2)
    file = tmp_path / "answers.csv"
    rows = [("session", "assessor", "glass", "place"), (plan.name, "A1", one, places[0])]
    rows += [(plan.name, "A1", two, places[1]), (plan.name, "L1", one, "1")]
    file.write_text("\n".join(",".join(map(str, row)) for row in rows) + "\n", encoding="utf-8")
    report = load_file(house, Kind.ANSWERS, file, now=FIXED_NOW, by=LEAD, update=True)
    said = " ".join(fault.message for fault in report.problems)
    assert ("answered otherwise" if answered else "has no answer") in said
    assert "oakpanel session key" in said
    assert "L1 has no tray" in said
    with house.read() as db:
        assert {each.id: each.value for each in db.scalars(select(AnswerChange))} == kept
