"""Headings: unknown, missing, twice, without a name."""

from __future__ import annotations

from tests.intake.files import House, message, said, table


def test_all_faults_of_headings_and_cells_at_once(empty: House) -> None:
    report = empty.load("makes", "make,sight,cereal,phenol_ppm,make\na,b,c,x,a\n")
    assert said(report) == [
        (1, "make", "make"),
        (1, "sight", "sight"),
        (1, "site", ""),
        (2, "phenol_ppm", "x"),
    ]
    assert "nearest: site" in message(report, 1, "sight")
    assert "columns 1, 5" in message(report, 1, "make")
    assert not report.written


def test_headings_may_be_written_as_people_write_them(empty: House) -> None:
    empty.take("makes", "Make; SITE ;Cereal;Phenol  ppm\na;b;c;1\n")


def test_a_column_with_cells_but_no_heading(empty: House) -> None:
    report = empty.load("makes", "make,,site,cereal,phenol_ppm\na,x,b,c,1\n")
    assert "column 2 has cells but no heading" in message(report, 1)


def test_an_empty_column_at_the_end_is_passed_over(empty: House) -> None:
    empty.take("makes", "make,site,cereal,phenol_ppm,,\na,b,c,1,,\n")


def test_pins_are_never_loaded(empty: House) -> None:
    report = empty.load("assessors", "assessor,pin\nAlder,1234\n")
    assert "PINs are never loaded" in message(report, 1, "pin")


def test_a_filling_or_a_cask_must_be_named_by_a_column(house: House) -> None:
    report = house.load("regauges", "gauged_on,bulk_l,abv,method\n2020-01-01,1,50,dipped\n")
    assert "filling or cask" in message(report, 1, "filling")


def test_a_heading_with_unseen_signs_cannot_write_to_the_terminal(empty: House) -> None:
    report = empty.load("makes", "make,site,cereal,phenol_ppm,\x1b[2Jx\na,b,c,1,2\n")
    assert "\x1b" not in report.problems[0].sentence()


def test_an_unknown_heading_hides_no_fault_of_the_rows(house: House) -> None:
    """A second cask of the same number and litres too many are told beside the stray heading."""
    rows = (
        ("MT1", "American oak", 200, "2014-06-01", 1, 63.5, 190, "MT1/1", "no such make", "x"),
        ("MT1", "American oak", 200, "2014-06-01", 1, 63.5, 300, "MT1/2", "", "y"),
    )
    heading = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,make,bunghole"
    report = house.load("casks", table(heading, *rows))
    assert not report.written
    assert "no such column" in message(report, 1, "bunghole")
    assert "no such make" in str(report.problems)
    over = [(each.row, each.value) for each in report.problems if "more than fits" in each.message]
    assert over == [(3, "300")]


def test_a_heading_that_is_near_none_is_told_which_there_are(empty: House) -> None:
    report = empty.load("makes", "make,site,cereal,phenol_ppm,litres,Spirit\na,b,c,1,2,3\n")
    for stray in ("litres", "Spirit"):
        assert "nearest" not in message(report, 1, stray)
        assert "there are: make, site, cereal, phenol_ppm" in message(report, 1, stray)


def test_a_row_with_a_word_of_ours_in_it_is_no_row_of_headings(empty: House) -> None:
    report = empty.load("assessors", "Kürzel,Name,Rollen\nReiher,R.,lead\nAnna,A.,assessor\n")
    assert (1, "Kürzel", "Kürzel") in said(report)
    assert {row for row, _, _ in said(report)} == {1}
    # Titles above true headings stay titles, whatever they hold.
    empty.take("assessors", "Stand,2026,x\nassessor,name,roles\nAnna,A.,assessor\n")
