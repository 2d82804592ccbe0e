"""Plans whose figures cannot be, or hardly are, so: all of a row at once, and what is asked back.

That no spirit lies in wood for more than a hundred years is common practice, no source.
"""

from __future__ import annotations

import pytest

from panel.errors import OakpanelError
from panel.questions.vat_limits import read_limits
from panel.records.plan_limits import plan_asks
from panel.words.load_words import fault_lines
from tests.intake.files import House, counts, message, said, table

PLAN = "plan,release,year,target,bottles,abv,age,rule_set,limits"
Cells = tuple[object, ...]


def plan(*rows: Cells) -> str:
    return table(PLAN, *rows)


def release(**cells: object) -> Cells:
    usual: dict[str, object] = {
        **{"plan": "P", "release": "R", "year": 2028, "target": "Fen", "bottles": 100},
        **{"abv": 46, "age": "", "rule_set": "", "limits": ""},
    }
    return tuple({**usual, **cells}.values())


@pytest.fixture
def aimed(house: House) -> House:
    lines = ("Fen", "hearth smoke", 30, 5, 1)
    house.take("targets", table("target,descriptor,aim,tolerance,weight", lines))
    return house


@pytest.mark.parametrize("age", [101, 4640])
def test_no_age_statement_is_older_than_spirit_gets(aimed: House, age: int) -> None:
    report = aimed.load("plans", plan(release(age=age), release(release="S", age=100)))
    assert said(report) == [(2, "age", str(age))]
    assert "no spirit is older than 100 years" in message(report, 2)
    with pytest.raises(OakpanelError, match="no spirit is older than 100 years"):
        read_limits(bottles=100, age=age)
    assert read_limits(bottles=100, age=100).age_statement_years == 100


def test_what_must_stay_is_of_ages_that_spirit_gets() -> None:
    assert "no spirit is older" in plan_asks("stay 500 age=4640")[1][0]
    assert plan_asks("stay 500 age=100-200")[1] == []


def test_a_strength_that_is_hardly_one_in_a_bottle_is_asked_about(aimed: House) -> None:
    weak = plan(release(abv=6.35))
    report = aimed.load("plans", weak)
    assert (report.written, report.doubts, said(report)) == (False, 1, [(2, "abv", "6.35")])
    assert message(report, 2) == ("6.35 % vol is hardly a strength in a bottle; is 63.5 meant?")
    assert "say --sure" in list(fault_lines(report))[-1]
    assert counts(aimed.take("plans", weak, sure=True)) == (1, 0, 0)
    assert counts(aimed.take("plans", weak)) == (0, 0, 1)  # it stands: the same file asks no more
    assert aimed.load("plans", plan(release(abv=4.6))).doubts == 1


@pytest.mark.parametrize(
    ("cells", "columns"),
    [
        ({"abv": 146, "limits": "casks many"}, ["abv", "limits"]),
        ({"age": "old", "limits": "with C9; share make=plain:0.7; share make=smoky:0.7"}, None),
        ({"bottles": 0, "abv": 6.35, "year": 2020, "limits": "stay 9"}, None),
        (
            {"bottles": "", "rule_set": "No law", "target": "Moor"},
            ["bottles", "rule_set", "target"],
        ),
        ({"release": "", "limits": "draw many"}, None),
    ],
)
def test_a_bad_figure_hides_no_other_fault_of_its_row(
    aimed: House, cells: dict[str, object], columns: list[str] | None
) -> None:
    wanted = (
        columns
        or {
            "age": ["age", "limits", "limits"],
            "bottles": ["abv", "bottles", "limits", "year"],
            "release": ["limits", "year"],
        }[next(iter(cells))]
    )
    report = aimed.load("plans", plan(release(**cells)))
    assert sorted(column for _, column, _ in said(report)) == sorted(wanted)


def test_what_cannot_be_read_makes_no_further_fault(aimed: House) -> None:
    aimed.take("plans", plan(release()))
    assert said(aimed.load("plans", plan(release(year="soon")))) == [(2, "year", "soon")]
    assert said(aimed.load("plans", plan(release(target="", limits="note hearth smoke +3")))) == [
        (2, "target", "")
    ]


def test_what_may_be_so_is_told_with_its_rows(aimed: House) -> None:
    rows = [release(release=f"R{at}", abv=6.35) for at in range(8)]
    report = aimed.load("plans", plan(release(year=2020), release(release="S", age=4640), *rows))
    assert report.doubts == 9
    assert [each.row for each in report.problems if each.doubt] == [2, *range(4, 12)]
    told = list(fault_lines(report))[-1]
    assert told.startswith("9 of them may be so: year in row 2; abv in rows 4, 5, 6, 7, 8, 9 and 2")
    one = list(fault_lines(aimed.load("plans", plan(release(year=2020)))))[-1]
    assert one.startswith("1 of them may be so: year in row 2. If somebody looked and it is, ")
