"""Traces on paper: a ballot with the seconds, keyed twice and compared, or loaded from a file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.errors import SessionError
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.saving import save_file
from panel.session.ballots import ballots
from panel.session.keyed import KeyedLine, keep_ballots, read_ballots, template
from panel.store.engine import Store
from panel.store.sessions import Serving
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, opened, revealed
from tests.houses.to_plan import build_to_plan
from tests.houses.traced import BURST, NAME, SECONDS, bursts, kept_trace, trace_all, trace_plan


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    opened(store, trace_plan())
    return store


def code_of(store: Store, who: str) -> str:
    with store.read() as db:
        return next(glass.code for glass in db.scalars(select(Serving)) if glass.person.code == who)


def keyed(
    store: Store, other: Mapping[int, str] | None = None, *, skip: int | None = None
) -> list[KeyedLine]:
    code = code_of(store, "A1")
    lines = [
        KeyedLine("A1", code, f"{second} s", (other or {}).get(second, str(key)))
        for second, key in zip(SECONDS, BURST, strict=True)
    ]
    return [line for number, line in enumerate(lines) if number != skip]


def test_a_ballot_has_the_seconds_by_code_and_no_key(house: Store) -> None:
    with house.write() as db:
        page = ballots(db, NAME, now=FIXED_NOW, by=LEAD).split("\f")[0]
    assert "Traced: wet slate, 0 to 9, at 0, 5, 10, 20, 30, 45, 60 s after the sip" in page
    assert "0 s    5 s   10 s   20 s   30 s   45 s   60 s" in page
    assert code_of(house, "A1") in page
    assert not any(draw in page for draw in trace_plan().draws)
    assert all(len(line) <= 80 for line in page.splitlines())


def test_ballots_keyed_twice_alike_count_as_if_answered_at_a_booth(house: Store) -> None:
    with house.read() as db:
        rows = template(db, NAME).splitlines()
    assert rows[1].endswith(",0 s,,value: 0 to 9")
    assert len(rows) == 1 + 2 * 7 * len(trace_plan().assessors)
    text = "assessor,code,what,value\n" + "\n".join(
        f"{line.assessor},{line.code},{line.what},{line.value}" for line in keyed(house, skip=3)
    )
    first = read_ballots(text, "first.csv")
    with house.write() as db:
        keep_ballots(db, NAME, first, first, now=FIXED_NOW, by=LEAD)
    found = kept_trace(house, "A1", code_of(house, "A1"))
    assert [found.get(n) for n in range(1, 8)] == [1, 8, 7, None, 2, 1, 0]
    assert [found.get(100 + n) for n in range(1, 8)] == [0, 5, 10, None, 30, 45, 60]


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ({}, {10: "6"}, "The two keyings differ"),
        ({10: "12"}, {10: "12"}, "10 s is 12, 0 to 9"),
        ({10: "x"}, {10: "x"}, "no whole number"),
    ],
)
def test_what_differs_or_is_none_is_refused_whole(
    house: Store, first: dict[int, str], second: dict[int, str], said: str
) -> None:
    one, other = keyed(house, first), keyed(house, second)
    with pytest.raises(SessionError, match=said), house.write() as db:
        keep_ballots(db, NAME, one, other, now=FIXED_NOW, by=LEAD)
    assert kept_trace(house, "A1", code_of(house, "A1")) == {}


def test_a_second_keyed_twice_has_one_value(house: Store) -> None:
    lines = [*keyed(house), *keyed(house, {10: "6"})[2:3]]
    with pytest.raises(SessionError, match="10 s has two values, 7 and 6"), house.write() as db:
        keep_ballots(db, NAME, lines, lines, now=FIXED_NOW, by=LEAD)


def test_a_file_of_traces_is_compared_and_keeps_nothing(house: Store, tmp_path: Path) -> None:
    code = code_of(house, "A1")
    heading = "session,assessor,glass,second,given,at_s\n"
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    bad.write_text(f"{heading}{NAME},A1,{code},7,3,\n{NAME},A1,{code},5,11,\n{NAME},A1,000,5,1,\n")
    report = load_file(house, Kind.TRACES, bad, now=FIXED_NOW, by=LEAD)
    told = " ".join(fault.message for fault in report.problems)
    for words in ("asked for are 0, 5, 10", "a key from 0 to 9", "no glass 000 stands"):
        assert words in told
    good.write_text(f"{heading}{NAME},A1,{code},0,1,\n{NAME},A1,{code},5,8,6.5\n")
    (fault,) = load_file(house, Kind.TRACES, good, now=FIXED_NOW, by=LEAD).problems
    assert "this glass was not traced" in fault.message
    assert "session key" in fault.message
    assert kept_trace(house, "A1", code) == {}


def test_traces_are_saved_once_revealed_and_load_as_they_are(house: Store, tmp_path: Path) -> None:
    trace_all(house, trace_plan(), bursts("D1"))
    revealed(house, trace_plan())
    save_file(house, Kind.TRACES, tmp_path / "saved.csv")
    save_file(house, Kind.ANSWERS, tmp_path / "answers.csv")
    assert len((tmp_path / "answers.csv").read_text().splitlines()) == 1
    report = load_file(house, Kind.TRACES, tmp_path / "saved.csv", now=FIXED_NOW, by=LEAD)
    assert (report.problems, report.unchanged) == ((), 14 * len(trace_plan().assessors))
