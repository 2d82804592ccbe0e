"""Names that a plan asks for and the records have, and records that are all to be new."""

from __future__ import annotations

import csv
import io
from datetime import date
from functools import partial
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from panel.intake.kinds import Kind
from panel.intake.loading import load_rows
from panel.intake.only_new import refuse_known
from panel.intake.plan_names import PlanNames
from panel.kinds import EventKind
from tests.intake.files import BY, NOW, House
from tests.intake.test_pieces_by_hand import SPRING, SUMMER


def stock_of_names(**more: Any) -> tuple[Any, list[tuple[Any, ...]]]:
    """Names as a plan is checked against, and what is told: two casks, one make, one wood."""
    told: list[tuple[Any, ...]] = []
    stock = pd.DataFrame({"cask": ["C1", "C2"], "wood": ["oak butt"] * 2, "age_years": [12.0, 9.0]})
    kept: Any = SimpleNamespace(
        **{"today": SUMMER, "missed": (), "unread": (), "fault": lambda *given: told.append(given)},
        **{"nearest": lambda *_: "", "doubt": lambda *given: told.append(("doubt", *given))},
    )
    vars(kept).update(more)
    names: Any = PlanNames(kept, {})
    names._known_casks, names._known_makes, names._stock = {"C1", "C2"}, {"plain"}, stock
    return names, told


@pytest.mark.parametrize(
    ("column", "values", "strange"),
    [
        ("wood", ["oak butt"], []),
        ("wood", ["oak butt", "barrel"], ["barrel"]),
        ("woody", ["oak butt"], ["woody"]),
        ("age_years", ["14"], []),
    ],
)
def test_a_plan_names_records_and_values_that_some_cask_has(
    column: str, values: list[str], strange: list[str]
) -> None:
    names, told = stock_of_names()
    names._record(3, column, values)
    assert [name for _, _, name, _ in told] == strange
    assert {row for row, *_ in told} <= {3}
    unread, of_unread = stock_of_names(unread=("cask",))
    unread._record(3, "woody", values)
    assert of_unread == []
    bare, of_bare = stock_of_names()
    bare._stock = bare._stock.iloc[:0]
    bare._record(3, "wood", ["barrel"])
    assert of_bare == [], "of no casks no value is known"
    bare._record(3, "woody", values)
    assert [name for _, _, name, _ in of_bare] == ["woody"], "what is recorded of casks is known"


@pytest.mark.parametrize(
    ("more", "anew", "told"),
    [
        ({}, True, []),
        ({"on": SPRING}, True, ["the filling expected on 2025-03-01 is over"]),
        ({"on": SPRING}, False, []),
        ({"on": SUMMER}, True, []),
        ({"make": "smoky"}, True, ["there is no make 'smoky'"]),
        ({"wood": "barrel"}, True, ["no cask has the wood 'barrel'"]),
        ({"wood": "oak butt", "make": "plain"}, True, []),
    ],
)
def test_a_filling_that_is_expected(more: dict[str, Any], anew: bool, told: list[str]) -> None:
    names, said = stock_of_names()
    each: Any = SimpleNamespace(**{"on": date(2025, 9, 1), "make": None, "wood": None, **more})
    names._filling(3, each, anew=anew)
    assert [str(given[-1]).split(":")[0] for given in said] == told
    assert [given[0] == "doubt" for given in said] == ["wood" in more] * len(told)


def test_a_cask_that_is_known_is_not_filled_anew_where_all_is_new(house: House) -> None:
    rows = [
        # Known wood alone; another wood for a known cask; a known filling; a new cask.
        "C2,American oak,200,,,,,,",
        "C3,American oak,400,2020-01-01,3,62,480,C3/9,",
        "C1,American oak,200,2010-05-01,1,63.5,190,C1/1,plain",
        "N1,American oak,200,2020-01-01,1,63.5,190,N1/1,plain",
    ]
    head = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,make"
    with house.store.write() as db:
        found = loaded(db, "\n".join([head, *rows]) + "\n")
    assert [(row, column) for row, column, _ in found] == [
        *((2, "cask"), (3, "wood"), (3, "size_l"), (4, "filling"))
    ]
    assert "there is a cask C2 already" in found[0][2]
    assert "known already, and there it is European oak" in found[1][2]
    assert "there is a filling C1/1 already: give this one a name of its own" in found[3][2]


def loaded(db: Any, content: str) -> list[tuple[int, str, str]]:
    """What is at fault in casks that are all to be new."""
    told: list[tuple[int, str, str]] = []
    rows = []
    for at, line in enumerate(csv.DictReader(io.StringIO(content)), 2):
        filled = date.fromisoformat(line["filled_on"]) if line["filled_on"] else None
        rows.append(
            SimpleNamespace(
                **{"at": at, "cask": line["cask"], "wood": line["wood"], "filled_on": filled},
                **{"size_l": float(line["size_l"]), "label": line["filling"]},
                wood_only=filled is None,
            )
        )
    kept: Any = SimpleNamespace(db=db, unsound=[SimpleNamespace(at=9)])
    kept.fault = lambda row, column, _value, words: told.append((row, column, words))
    refuse_known(kept, Kind.CASKS, rows)
    return sorted(told, key=lambda each: (each[0], -len(each[1]) if each[1] == "wood" else 0))


def test_a_cask_emptied_on_the_day_it_is_filled_again_is_the_one_that_leaves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from panel.intake import events

    old, new, gone = (
        SimpleNamespace(filled_on=day, out=out)
        for day, out in ((SPRING, SUMMER), (SUMMER, None), (SPRING, SPRING))
    )
    monkeypatch.setattr(events, "emptied_on", lambda filling: filling.out)
    monkeypatch.setattr(events, "find_filling", lambda *_: "by the day")
    stock = SimpleNamespace(by_cask={"C1": [old, new, gone], "C2": [new]})
    intake: Any = SimpleNamespace(stock=stock, load=None)

    def found(cask: str, kind: EventKind = EventKind.EMPTIED, filling: str | None = None) -> Any:
        row: Any = SimpleNamespace(kind=kind, filling=filling, cask=cask, happened_on=SUMMER)
        return events._Intake._filling(intake, row)

    assert found("C1") is old
    old.out = None
    assert found("C1") is old
    assert found("C2") == found("C9") == "by the day"
    assert found("C1", filling="C1/1") == found("C1", EventKind.MOVED) == "by the day"
    gone.out = None
    assert found("C1") == "by the day", "two may leave"


def test_a_line_of_the_register_stays_as_it_stands() -> None:
    from panel.intake import draws

    column, other, *_ = draws.IN_REGISTER
    told: list[Any] = []
    intake: Any = SimpleNamespace(load=SimpleNamespace(fault=lambda *given: told.append(given)))
    row: Any = SimpleNamespace(at=4)
    draw: Any = SimpleNamespace(label="D1", **dict.fromkeys(draws.IN_REGISTER))
    setattr(draw, column, 5.0)
    for values, left, faults in (
        ({column: 5.0, other: 1.0}, {column: 5.0, other: 1.0}, 0),
        ({column: None, other: None}, {other: None}, 0),
        ({column: 6.0}, {column: 6.0}, 1),
        ({}, {}, 0),
    ):
        told.clear()
        given: dict[str, Any] = dict(values)
        draws._Intake._check_register(intake, row, draw, given)
        assert given == left
        assert [(at, name, value) for at, name, value, _ in told] == [(4, column, 6.0)] * faults


def test_rows_in_memory_that_cannot_be_read_are_reported(house: House) -> None:
    load: Any = partial(load_rows, house.store, Kind.MAKES, now=NOW, by=BY)
    found = load([{"makes": "reed"}])
    assert found.problems
    assert load([]).rows == 0
    good = load([{"make": "reed", "site": "Sallow Weir", "cereal": "barley", "phenol_ppm": "1"}])
    assert not good.problems
    with pytest.raises(ValueError, match="the same keys"):
        load([{"make": "a"}, {"site": "b"}])
