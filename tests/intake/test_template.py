"""Templates: filled in below their headings they load, and nothing above those ever does."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from openpyxl import load_workbook

from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.meanings import EXAMPLES, meaning
from panel.intake.saving import save_template, template_headings
from panel.intake.template import HEADING_ROW
from tests.intake.files import BY, NOW, House, counts


@pytest.fixture
def settled(house: House) -> House:
    """A house that has what the examples name."""
    row = "C12,American oak,200,2014-09-25,1,63.5,190.5,C12/1,plain"
    house.take(
        "casks",
        f"cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,make\n{row}\n",
    )
    house.take("lexicon", "descriptor,stage,low_words,high_words\nplum stone,nose,none,full\n")
    house.take("targets", "target,descriptor,aim,tolerance\nLantern,plum stone,10,5\n")
    house.take("draws", "sample,kind,cask,drawn_on\nC12 spring,cask,C12,2026-02-10\n")
    return house


def test_every_column_has_a_meaning() -> None:
    for kind in Kind:
        for heading in template_headings(kind, names=True):
            assert meaning(kind, heading)
        assert EXAMPLES[kind].keys() <= set(template_headings(kind))


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
@pytest.mark.parametrize("kind", Kind)
def test_an_empty_template_loads_nothing(house: House, kind: Kind, ending: str) -> None:
    path = house.folder / f"template.{ending}"
    save_template(kind, path)
    report = load_file(house.store, kind, path, now=NOW, by=BY)
    assert (report.problems, report.rows, report.written) == ((), 0, False)
    assert (report.heading_row, report.rows_above) == (HEADING_ROW, HEADING_ROW - 1)


LOADED = [kind for kind in Kind if kind not in {Kind.ANSWERS, Kind.TRACES, Kind.STAGES}]
"""What answers, traces and stages name is an open session: they are loaded in `tests/sets`,
`tests/traces` and `tests/stages`."""


def test_answers_want_the_session_that_the_example_names(settled: House) -> None:
    path = settled.folder / "template.csv"
    save_template(Kind.ANSWERS, path)
    rows = list(csv.reader(io.StringIO(path.read_text())))
    with path.open("a", newline="") as file:
        csv.writer(file).writerow(rows[HEADING_ROW - 2])
    report = load_file(settled.store, Kind.ANSWERS, path, now=NOW, by=BY)
    assert [(each.row, each.column) for each in report.problems] == [(HEADING_ROW + 1, "session")]


@pytest.mark.parametrize("kind", LOADED)
def test_a_csv_template_filled_in_as_its_example_loads(settled: House, kind: Kind) -> None:
    path = settled.folder / "template.csv"
    save_template(kind, path)
    rows = list(csv.reader(io.StringIO(path.read_text())))
    with path.open("a", newline="") as file:
        csv.writer(file).writerow(rows[HEADING_ROW - 2])
    report = load_file(settled.store, kind, path, now=NOW, by=BY, create=True)
    assert report.problems == (), [each.sentence() for each in report.problems]
    assert sum(counts(report)) == 1


def fill_in(path: Path) -> None:
    """Write the example below the headings, with the types that its cells have."""
    book = load_workbook(path)
    page = book.active
    assert page is not None
    for place, cell in enumerate(list(page[HEADING_ROW - 1]), start=1):
        page.cell(HEADING_ROW + 1, place).value = cell.value
    book.save(path)


@pytest.mark.parametrize("kind", [Kind.CASKS, Kind.REGAUGES, Kind.ASSESSORS])
def test_a_workbook_filled_in_as_its_example_loads(settled: House, kind: Kind) -> None:
    path = settled.folder / "template.xlsx"
    save_template(kind, path)
    fill_in(path)
    report = load_file(settled.store, kind, path, now=NOW, by=BY)
    assert report.problems == (), [each.sentence() for each in report.problems]
    assert sum(counts(report)) == 1


def test_a_workbook_lists_the_words_and_holds_the_headings_in_sight(tmp_path: Path) -> None:
    path = tmp_path / "regauges.xlsx"
    save_template("regauges", path)
    page = load_workbook(path).active
    assert page is not None
    assert page.freeze_panes == f"A{HEADING_ROW + 1}"
    lists = {
        str(each.sqref).split(":")[0]: each.formula1
        for each in page.data_validations.dataValidation
        if each.type == "list"
    }
    headings = [cell.value for cell in page[HEADING_ROW]]
    method = page.cell(HEADING_ROW + 1, headings.index("method") + 1).coordinate
    assert lists[method] == '"weighed,dipped"'
    assert page.cell(2, headings.index("bulk_l") + 1).value == "litres in the cask, in L"


def test_the_template_of_people_says_how_roles_are_joined(tmp_path: Path) -> None:
    save_template("assessors", tmp_path / "people.csv")
    assert "joined by +" in (tmp_path / "people.csv").read_text()
    assert "lead+assessor" in (tmp_path / "people.csv").read_text()
