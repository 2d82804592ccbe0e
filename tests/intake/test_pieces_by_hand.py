"""Pieces of a file's way in: where headings stand, what is counted, which version is meant."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any
from xml.parsers.expat import ExpatError

import pytest

from panel.errors import IntakeError
from panel.intake import container, load
from panel.intake.columns import _unnamed
from panel.intake.container import Container
from panel.intake.csv_text import Unreadable
from panel.intake.headings import Finder
from panel.intake.load import Load, RowOutcome
from panel.intake.plan_names import PlanNames
from panel.intake.saved_scores import _refuse_column_names
from panel.intake.score_comparison import _Comparison
from panel.intake.score_lines import Sheets
from panel.intake.score_rows import CellFault, _score
from panel.intake.sheet import read_rows
from panel.intake.table import BrokenCell
from tests.intake.test_workbook import workbook

SPRING, SUMMER = date(2025, 3, 1), date(2025, 6, 1)


def finder(row: int | None, *known: str) -> Any:
    """A finder of the words that a kind has; `nearest` is asked where none has all."""
    found: Any = SimpleNamespace(row=row, expected=lambda: set(known), _is_a_record=lambda _: False)
    found.holds = lambda cells: {"make", "site"} <= set(cells)
    found._nearest = lambda rows: Finder._nearest(found, rows)
    return found


ROWS = [(3, ["Makes of the house", "", ""]), (4, ["make", "site", "x"]), (5, ["reed", "Weir", "1"])]


@pytest.mark.parametrize(("row", "place"), [(None, 1), (3, 0), (4, 1), (5, 2), (9, 0)], ids=str)
def test_headings_stand_where_somebody_says_or_where_all_are_known(
    row: int | None, place: int
) -> None:
    assert Finder.place_of(finder(row, "make", "site"), ROWS) == place


@pytest.mark.parametrize(
    ("known", "rows", "place"),
    [
        # Two words or more of ours; of as many the first; else the first row that is half full.
        (("reed", "weir"), ROWS, 2),
        (("make", "site", "reed", "weir"), ROWS, 1),
        (("reed",), ROWS, 1),
        ((), [(1, ["a", "", "", ""]), (2, ["a", "b", "", ""]), (3, ["a"] * 4)], 1),
        ((), [(1, [""]), (2, [""])], 0),
    ],
)
def test_the_row_that_comes_nearest_to_headings(
    known: tuple[str, ...], rows: list[tuple[int, list[str]]], place: int
) -> None:
    assert Finder._nearest(finder(None, *known), rows) == place


def version(number: int, day: date | None) -> Any:
    return SimpleNamespace(version=number, introduced_on=day)


@pytest.mark.parametrize(
    ("asked", "held_on", "meant"),
    [
        (None, date(2025, 2, 28), 1),
        (None, SPRING, 1),
        (None, date(2025, 5, 31), 1),
        (None, SUMMER, 2),
        (None, None, 2),
        (1, SUMMER, 1),
        (2, SPRING, 2),
    ],
)
def test_a_session_means_the_version_of_its_day(
    asked: int | None, held_on: date | None, meant: int
) -> None:
    described: Any = SimpleNamespace(
        name="smoke", versions=[version(1, SPRING), version(2, SUMMER)]
    )
    state: Any = SimpleNamespace(held_on=held_on)
    told: Any = SimpleNamespace(version=asked)
    sheets: Any = None
    found = Sheets._version(sheets, state, told, described)
    assert getattr(found, "version", None) == meant
    none = Sheets._version(sheets, state, SimpleNamespace(version=3), described)  # type: ignore[arg-type]
    assert isinstance(none, CellFault)
    assert "there are: 1, 2" in str(none)
    described.versions[0].introduced_on = None
    early: Any = SimpleNamespace(held_on=date(2020, 1, 1))
    assert getattr(Sheets._version(sheets, early, told, described), "version", 0) == (asked or 1)


def bare_load() -> Any:
    return SimpleNamespace(tally=dict.fromkeys(RowOutcome, 0), problems=[])


@pytest.mark.parametrize(
    ("told", "outcome"),
    [
        ({"is_new": True}, RowOutcome.NEW),
        ({"is_new": True, "is_changed": True}, RowOutcome.NEW),
        ({"is_changed": True}, RowOutcome.CHANGED),
        ({}, RowOutcome.UNCHANGED),
        ({"row": -1, "is_new": True}, None),
        ({"problems": [1], "is_new": True}, None),
    ],
)
def test_a_row_counts_by_the_most_that_happened_in_it(
    told: dict[str, Any], outcome: RowOutcome | None
) -> None:
    kept = bare_load()
    kept.problems = told.pop("problems", [])
    kept.count = lambda each, rows=1: Load.count(kept, each, rows)
    row: Any = SimpleNamespace(
        **{"row": 4, "is_new": False, "is_changed": False, **told}, load=kept
    )
    _Comparison.finish(row)
    assert [each for each, n in kept.tally.items() if n] == ([] if outcome is None else [outcome])


def test_a_row_that_says_the_same_glass_twice_is_told_once() -> None:
    """In a long file every other row is a twin; in a wide one all cells of a row are together."""
    smoke, wax = object(), object()
    for wide in (False, True):
        told: list[tuple[int, int, int]] = []
        one: Any = SimpleNamespace(
            **{"rows": {}, "twin": False, "file": SimpleNamespace(wide=wide)},
            _fault_twin=lambda cell, first, replicate, told=told: told.append(
                (cell.row, first, replicate)
            ),
        )
        of: Any = SimpleNamespace
        held, other = of(replicate=2), of(replicate=1)

        def twin(row: int, line: object, glass: Any = held, one: Any = one) -> bool:
            return _Comparison._is_twin(one, SimpleNamespace(row=row), glass, line)  # type: ignore[arg-type]

        assert twin(1, smoke, other) is False, "another glass"
        assert [twin(2, smoke), twin(2, wax), twin(3, smoke)] == [False, False, True]
        assert one.twin is wide
        assert twin(3, wax) is True
        assert told == [(3, 2, 2)] * (1 if wide else 2)
        assert twin(3, wax, other) is wide, "another glass; of a wide row all cells are told"


def test_no_more_faults_are_listed_than_anybody_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(load, "MOST_PROBLEMS", 2)
    found = Load.__new__(Load)
    found.problems, found.questions, found.left_out_problems = [], [], 0
    found.file = "f.csv"
    for row in range(5):
        found.fault(row, "cask", "X", "no such cask")
    assert [problem.row for problem in found.problems] == [0, 1]
    assert found.left_out_problems == 3


def test_a_workbook_is_read_up_to_what_was_promised(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(container, "PIECE_BYTES", 100)
    book = Container(workbook([["make", "site"], ["reed", "Sallow Weir"]]))
    name = "xl/worksheets/sheet1.xml"
    whole = b"".join(book.pieces(name))
    assert book._left == container.MOST_UNPACKED_BYTES - len(whole)
    book._left = len(whole)
    assert b"".join(book.pieces(name)) == whole
    book._left = len(whole) - 1
    with pytest.raises((Unreadable, container.Damaged), match="unpacks to more than"):
        list(book.pieces(name))


def test_a_note_with_the_name_of_a_column_is_not_saved_wide() -> None:
    _refuse_column_names(["smoke", "wax"])
    with pytest.raises(IntakeError, match="'Assessor' has the name of a score file's column"):
        _refuse_column_names(["smoke", "Assessor"])


def test_a_plan_leaves_what_some_cask_has_or_will_have() -> None:
    asked: list[tuple[int, str, list[str]]] = []
    names: Any = SimpleNamespace(_record=lambda *given: asked.append(given))
    names._casks = names._filling = lambda *_, **__: None
    names._left = lambda *given: PlanNames._left(names, *given)
    left = [
        SimpleNamespace(column=None, values=("x",)),
        SimpleNamespace(column="wood", values=("oak butt", "barrel")),
        SimpleNamespace(column="make", values=("Reed",)),
    ]
    filled = [SimpleNamespace(wood="barrel", make=None)]
    asks: Any = SimpleNamespace(held=(), fillings=filled, left=left)
    PlanNames.of_whole(names, 7, "two years", asks, anew=True)
    assert asked == [(7, "wood", ["oak butt"]), (7, "make", ["Reed"])]


@pytest.mark.parametrize(
    ("reason", "values", "standing", "lifts"),
    [
        ("cork", {"hold_reason": None}, True, True),
        ("cork", {"hold_reason": ""}, True, True),
        ("cork", {"hold_reason": ""}, False, False),
        ("cork", {"hold_reason": "damp"}, True, False),
        ("cork", {}, True, False),
        (None, {"hold_reason": None}, True, False),
    ],
)
def test_a_hold_of_noses_is_not_lifted_by_a_file(
    monkeypatch: pytest.MonkeyPatch,
    reason: str | None,
    values: dict[str, Any],
    standing: bool,
    lifts: bool,
) -> None:
    from panel.intake import casks

    monkeypatch.setattr(casks, "standing_holds", lambda _db, ids: ids if standing else [])
    intake: Any = SimpleNamespace(load=SimpleNamespace(db=None))
    filling: Any = SimpleNamespace(hold_reason=reason, id=4)
    assert casks._Intake._lifts_passing(intake, filling, values) is lifts


def test_a_column_without_a_heading_is_told_where_any_row_fills_it() -> None:
    rows: Any = [
        SimpleNamespace(cells=["reed", "", "x", ""]),
        SimpleNamespace(cells=["a", "", "", ""]),
    ]
    told: Any = SimpleNamespace(
        **{"headings": ("make", "", "", ""), "file": "f.csv", "heading_row": 1, "rows": rows},
        left_out=frozenset(),
    )
    assert [each.message for each in _unnamed(told)] == ["column 3 has cells but no heading"]
    told.left_out = frozenset({2})
    assert _unnamed(told) == []


def test_a_score_that_is_no_number_says_so() -> None:
    broken = BrokenCell("#REF!")
    broken.words = "the cell holds an error"
    assert _score(broken) == "the cell holds an error"
    assert _score("41.5") == 41.5
    assert isinstance(_score("plum"), str)


def test_a_sheet_that_breaks_off_is_not_whole() -> None:
    book: Any = SimpleNamespace()
    whole = b"<worksheet><sheetData></sheetData></worksheet>"
    given: Any = SimpleNamespace(pieces=lambda _: iter([whole]))
    assert list(read_rows(given, "part", book)) == []
    given.pieces = lambda _: iter([whole[:-12]])
    with pytest.raises(ExpatError):
        list(read_rows(given, "part", book))
