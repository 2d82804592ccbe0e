"""Sets on paper: a ballot an assessor, keyed in by codes, whole sets or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.report import LoadReport
from panel.intake.saving import save_file
from panel.kinds import SessionKind
from panel.session.ballots import ballots
from panel.store.answers import Answer, AnswerChange
from panel.store.engine import Store
from panel.store.sessions import Serving, SessionAssessor
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, answer_all, opened, picks, revealed, set_plan
from tests.houses.to_plan import build_to_plan

PAIRS, FOURS, RANKED = SessionKind.STRONGER, SessionKind.TWO_AND_TWO, SessionKind.RANKING


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


def key_in(
    store: Store, folder: Path, rows: Sequence[tuple[object, ...]], *, update: bool = False
) -> LoadReport:
    lines = ["session,assessor,glass,place", *(",".join(map(str, row)) for row in rows)]
    file = folder / "ballots.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return load_file(store, Kind.ANSWERS, file, now=FIXED_NOW, by=LEAD, update=update)


@pytest.mark.parametrize(
    ("kind", "asked"),
    [(PAIRS, "tick the one that has more"), (FOURS, "goes with"), (RANKED, "place ___")],
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
    assert page.count("wet slate") == sum(map(len, tray(house, "A1")))


def test_what_was_keyed_in_counts_as_if_it_was_answered_at_a_booth(
    house: Store, tmp_path: Path
) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    rows = [
        (plan.name, "A1", code, place)
        for row in tray(house, "A1")
        for place, code in enumerate(row, start=1)
    ]
    report = key_in(house, tmp_path, rows)
    assert (report.problems, report.accepted) == ((), 4)
    with house.read() as db:
        assert sorted(answer.value for answer in db.scalars(select(Answer))) == [1, 1, 2, 2]
        assert {change.by_code for change in db.scalars(select(AnswerChange))} == {LEAD}
        chairs = {
            seat.person.code: seat.finished_at for seat in db.scalars(select(SessionAssessor))
        }
    assert chairs["A1"] is not None
    assert chairs["A2"] is None
    again = key_in(house, tmp_path, rows)
    assert (again.problems, again.unchanged) == ((), 4)


def test_keyed_twice_and_otherwise_is_a_fault_until_it_is_meant(
    house: Store, tmp_path: Path
) -> None:
    plan = set_plan(PAIRS)
    opened(house, plan)
    one, two = tray(house, "A1")[0]
    first = [(plan.name, "A1", one, 1), (plan.name, "A1", two, 2)]
    other = [(plan.name, "A1", one, 2), (plan.name, "A1", two, 1)]
    key_in(house, tmp_path, first)
    refused = key_in(house, tmp_path, other)
    assert ["answered otherwise" in fault.message for fault in refused.problems] == [True]
    assert key_in(house, tmp_path, other, update=True).changed == 2
    with house.read() as db:
        assert len(db.scalars(select(AnswerChange)).all()) == 4


def test_every_fault_is_said_at_once_and_nothing_is_written(house: Store, tmp_path: Path) -> None:
    plan = set_plan(RANKED)
    opened(house, plan)
    (a, b, c), (d, e, f) = tray(house, "A1")
    rows = [
        *[(plan.name, "A1", a, 1), (plan.name, "A1", b, 1)],
        *[(plan.name, "A1", d, 1), (plan.name, "A1", e, 1), (plan.name, "A1", f, 2)],
        (plan.name, "L1", a, 1),
        (plan.name, "A2", "000", 1),
        ("autumn", "A1", a, 1),
    ]
    report = key_in(house, tmp_path, rows)
    said = " ".join(fault.message for fault in report.problems)
    for words in (
        f"{c} has no place",
        "1 for the first, equal places shared",
        "L1 has no tray",
        "no glass 000 stands",
        "no session of this name",
    ):
        assert words in said
    with house.read() as db:
        assert db.scalars(select(Answer)).all() == []


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
