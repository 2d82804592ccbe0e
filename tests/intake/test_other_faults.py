"""A fault of a row hides neither its other faults nor that another row is its double."""

from __future__ import annotations

import pytest

from panel.intake.kinds import Kind
from tests.intake.files import CASKS, House

HEAD = CASKS.partition("\n")[0]


def said(house: House, kind: Kind, content: str, **asked: bool) -> set[tuple[int, str, str]]:
    report = house.load(kind, content, **asked)
    assert not report.written
    return {(each.row, each.column, each.message) for each in report.problems}


@pytest.mark.parametrize("bad_first", [True, False])
def test_a_doubled_cask_is_told_though_its_other_row_has_a_fault(
    house: House, bad_first: bool
) -> None:
    good = "C9,American oak,200,2010-05-01,1,63.5,190,,,"
    bad = "C9,American oak,200,1.5.2010,1,63.5,190,,,"
    rows = [bad, good] if bad_first else [good, bad]
    found = said(house, Kind.CASKS, "\n".join([HEAD, *rows]) + "\n")
    assert (2 if bad_first else 3, "filled_on") in {(row, column) for row, column, _ in found}
    twins = [(row, text) for row, column, text in found if column == "filling"]
    assert len(twins) == 1
    assert twins[0][0] == 3
    assert "C9/1" in twins[0][1]
    assert "stands in row 2 already" in twins[0][1]


def test_a_row_s_own_checks_look_at_what_could_be_read(house: House) -> None:
    """The day cannot be read; that water only lowers the strength can still be said."""
    content = "sample,kind,cask,drawn_on,abv,reduced_to\nX1,cask,C1,2026-13-02,20,40\n"
    found = said(house, Kind.DRAWS, content)
    assert {column for _, column, _ in found} == {"drawn_on", "reduced_to"}


def test_litres_over_the_cask_are_told_though_the_day_has_a_fault(house: House) -> None:
    found = said(house, Kind.CASKS, f"{HEAD}\nC9,American oak,500,1.5.2010,1,6.35,4800,,,\n")
    assert {column for _, column, _ in found} == {"filled_on", "fill_abv", "fill_bulk_l"}


def test_a_number_that_is_whole_has_a_whole_example(house: House) -> None:
    found = said(house, Kind.CASKS, f"{HEAD}\nC9,American oak,500,2010-05-01,two,63.5,480,,,\n")
    assert {text for _, _, text in found} == {"must be a number such as 2"}


@pytest.mark.parametrize("cask", ["C1", "C99"])
def test_a_strength_is_asked_about_though_its_gauge_has_a_fault(house: House, cask: str) -> None:
    content = f"cask,gauged_on,bulk_l,abv,method\n{cask},2020-01-01,900,6.02,diped\n"
    columns = {column for _, column, _ in said(house, Kind.REGAUGES, content)}
    assert columns == {"method", "abv", "bulk_l" if cask == "C1" else "cask"}


@pytest.mark.parametrize("cask", ["C1", "C99"])
@pytest.mark.parametrize("volume", ["900000", "-3"])
def test_a_strength_is_asked_about_though_its_draw_has_a_fault(
    house: House, cask: str, volume: str
) -> None:
    content = f"sample,kind,cask,drawn_on,abv,volume_ml\nX1,cask,{cask},2020-01-01,6.01,{volume}\n"
    columns = {column for _, column, _ in said(house, Kind.DRAWS, content)}
    odd = set() if cask == "C99" and volume == "900000" else {"volume_ml"}
    assert columns == {"abv"} | odd | ({"cask"} if cask == "C99" else set())


def test_a_record_that_no_cask_has_is_told_before_there_are_casks(empty: House) -> None:
    content = "plan,release,year,target,bottles,limits\nP,R1,2028,House,600,share foo=bar:0.3\n"
    columns = {column for _, column, _ in said(empty, Kind.PLANS, content)}
    assert columns == {"target", "limits"}


SCORES = "session,assessor,sample,kind,descriptor,score\n"


def test_a_score_off_the_line_is_told_though_its_glass_has_a_fault(house: House) -> None:
    content = SCORES + "S1,Alder,C1 spring,tset,hearth smoke,130\n"
    found = said(house, Kind.SCORES, content)
    assert {column for _, column, _ in found} == {"kind", "score"}


@pytest.mark.parametrize("bad_first", [True, False])
def test_a_doubled_score_is_told_though_its_other_row_has_a_fault(
    house: House, bad_first: bool
) -> None:
    good = "S1,Alder,C1 spring,test,hearth smoke,30"
    bad = "S1,Alder,C1 spring,tset,hearth smoke,31"
    rows = [bad, good] if bad_first else [good, bad]
    found = said(house, Kind.SCORES, SCORES + "\n".join([*rows, "S1,Alder,REF,,hearth smoke,3\n"]))
    twins = [(row, text) for row, column, text in found if column == "replicate"]
    assert len(twins) == 1
    assert twins[0][0] == 3
    assert "row 2 has the same session" in twins[0][1]


def test_of_a_wide_file_a_doubled_row_is_said_once(house: House) -> None:
    content = (
        "session,assessor,sample,kind,hearth smoke,plum stone\n"
        "S1,Alder,C1 spring,tset,30,20\nS1,Alder,C1 spring,test,31,140\n"
    )
    found = said(house, Kind.SCORES, content)
    assert {(row, column) for row, column, _ in found} == {
        (2, "kind"),
        (3, "replicate"),
        (3, "plum stone"),
    }
