"""`oakpanel vat` and `oakpanel target` on a small nosed house."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from panel.errors import OakpanelError
from panel.questions.vat_limits import limits_from_dict, limits_to_dict
from panel.records.share_text import read_range, read_share
from panel.store.casks import Filling, Make
from panel.store.engine import Store
from tests.cli.calling import Call
from tests.houses.parts import add_filling

ASKED = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag", "--quick")


def hold(store: Store, label: str, reason: str = "damp cellar") -> None:
    with store.write() as db:
        db.query(Filling).filter_by(label=label).one().hold_reason = reason


def test_json_has_every_key_that_scripts_lean_on(oakpanel: Call) -> None:
    said = oakpanel("vat", "Fen", *ASKED, "--json")
    found = said.document
    assert said.code == 0
    assert {
        *("proven", "gap", "parts", "bulk_litres", "abv_percent", "water_litres", "bottles"),
        *("age_statement_years", "prediction", "probability"),
    } <= found.keys()
    assert {"cask", "litres", "lpa", "share_lpa"} <= found["parts"][0].keys()
    assert {"descriptor", "aim", "tolerance", "estimate", "sd"} <= found["prediction"][0].keys()
    assert sum(part["share_lpa"] for part in found["parts"]) == pytest.approx(1.0)
    lpa = sum(part["lpa"] for part in found["parts"])
    assert lpa == pytest.approx(found["bulk_litres"] * found["abv_percent"] / 100, rel=1e-9)


def test_words_say_first_how_sure_and_fit_eighty_columns(oakpanel: Call) -> None:
    lines = oakpanel("vat", "Fen", *ASKED[:-1]).out.splitlines()
    assert "chance of" in lines[0] + lines[1]
    assert max(len(line) for line in lines) <= 80
    text = "\n".join(lines)
    for heading in ("What each limit costs", "If a cask fails", "Other answers"):
        assert heading in text
    assert "excise officer" in text
    assert "nose it blind" in text


def test_a_cask_on_hold_stays_out_unless_it_is_asked_for(oakpanel: Call, house: Store) -> None:
    hold(house, "C4/1")
    unasked = oakpanel("vat", "Fen", *ASKED, "--json").document
    assert "C4" not in [part["cask"] for part in unasked["parts"]]
    assert unasked["barred"]["on hold"] == 1
    asked = oakpanel("vat", "Fen", *ASKED, "--with", "C4", "--json").document
    assert "damp cellar" in next(p["note"] for p in asked["parts"] if p["cask"] == "C4")


def add_unnosed(store: Store) -> None:
    """A large cask of the same make and wood as the others, which nobody has nosed."""
    with store.write() as db:
        make = db.query(Make).filter_by(name="Sallow plain").one()
        add_filling(db, "C11", make, filled_on=date(2011, 6, 1), fill_abv=60.0, fill_bulk_l=185.0)


@pytest.mark.slow
def test_a_cask_never_nosed_goes_in_only_when_it_is_asked_for(
    oakpanel: Call, house: Store, tmp_path: Path
) -> None:
    add_unnosed(house)
    must = (*ASKED, "--with", "C11")
    unasked = oakpanel("vat", "Fen", *must)
    assert unasked.code == 1
    assert "without estimates on every line of the target" in unasked.err
    found = oakpanel("vat", "Fen", *must, "--with-foretold", "--json")
    parts = {part["cask"]: part["foretold"] for part in found.document["parts"]}
    assert parts["C11"] is True
    assert list(parts.values()).count(True) == 1
    assert "Cask C11 was never nosed" in found.document["sentence"]
    assert "Never nosed: 1 cask; foretold well enough to go in: 1" in found.document["checks"][0]
    shown = oakpanel("vat", "Fen", *must, "--with-foretold").out
    assert "C11 (never nosed)" in shown
    assert max(map(len, shown.splitlines())) <= 80
    # Casks are reserved only once somebody has nosed what is in them.
    plan = tmp_path / "plan.json"
    plan.write_text(found.out)
    kept = oakpanel("release", "propose", "Spring", "--plan", str(plan))
    assert kept.code == 1
    assert "nose it first" in kept.err


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--share", "wood=American oak:0.8", "--share", "wood=European oak:0.5"), "more than the"),
        (("--abv", "70"), "above that of every cask"),
        (("--abv", "39"), "below the 40 % vol of Scotch whisky"),
        (("--age", "12", "--with", "C10"), "too young for the age statement"),
        (("--with", "C99"), "not in stock"),
        (("--share", "wool=American oak:0.3"), "no record 'wool'"),
        (("--share", "wood=American oak:30"), "more than the whole"),
        (("--share", "wood:0.3"), "is not a share such as"),
        (("--casks", "many"), "is not a number of casks"),
        (("--exponent", "embers=.5"), "no note 'embers'"),
    ],
)
def test_refused_in_words(oakpanel: Call, asked: tuple[str, ...], words: str) -> None:
    said = oakpanel("vat", "Fen", *ASKED, *asked)
    assert (said.code, said.out) == (1, "")
    assert words in said.err


def test_more_bottles_than_stock(oakpanel: Call) -> None:
    said = oakpanel("vat", "Fen", "--bottles", "90000", "--old-gauges", "flag")
    assert said.code == 1
    assert "at most" in said.err


@pytest.mark.slow
def test_an_old_regauge_is_refused_unless_it_may_be_flagged(oakpanel: Call) -> None:
    said = oakpanel("vat", "Fen", "--litres", "350", "--with", "C4")
    assert said.code == 1
    assert "gauged too long ago" in said.err
    flagged = oakpanel("vat", "Fen", *ASKED, "--with", "C4", "--json").document
    assert "regauge" in flagged["parts"][0]["note"]


def test_infeasible_says_which_limits_cannot_stand_together(oakpanel: Call) -> None:
    said = oakpanel(
        *("vat", "Fen", "--litres", "900", "--casks", "2-2", "--old-gauges", "flag", "--part"),
        *("--json",),
    )
    assert said.code == 1
    if said.out:
        assert said.document["bottles"] is None
        assert said.document["conflict"]
    else:
        assert "2 casks" in said.err


@pytest.mark.slow
def test_a_target_no_stock_can_reach_says_which_note_stops_it(oakpanel: Call) -> None:
    oakpanel("target", "make", "Too much", "--from", "Fen", "--more", "ember=+65")
    said = oakpanel("vat", "Too much", *ASKED)
    assert "ember stops it" in " ".join(said.out.split())


@pytest.mark.slow
def test_a_target_like_a_cask_finds_that_cask(oakpanel: Call) -> None:
    made = oakpanel("target", "make", "As C7", "--like-cask", "C7", "--tolerance", "5", "--json")
    aims = {line["descriptor"]: line["aim"] for line in made.document["lines"]}
    assert aims["ember"] == pytest.approx(40.0, abs=3.0)
    best = oakpanel("match", "As C7", "--json").document["casks"][0]
    assert best["cask"] == "C7"


def test_a_target_with_more_of_a_note_changes_only_that(oakpanel: Call) -> None:
    oakpanel("target", "make", "Fen two", "--from", "Fen", "--more", "ember=+10")
    lines = {
        x["descriptor"]: x
        for x in oakpanel("target", "show", "Fen two", "--json").document["lines"]
    }
    assert (lines["ember"]["aim"], lines["honeycomb"]["aim"]) == (40.0, 44.0)
    assert lines["ember"]["tolerance"] == 9.0


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("Fen", "--from", "Fen"), "already"),
        (("X", "--from", "Fen", "--more", "embr=+3"), "nearest: ember"),
        (("X", "--from", "Fen", "--more", "ember"), "not a change such as"),
        (("X", "--like-cask", "C99"), "no cask 'C99'"),
        (("X", "--like-release", "Autumn"), "no release 'Autumn'"),
        (("X", "--from", "Fen", "--tolerance", "0"), "above zero"),
        (("X", "--from", "Fen", "--only", "peat"), "not in target Fen"),
    ],
)
def test_targets_refused_in_words(oakpanel: Call, asked: tuple[str, ...], words: str) -> None:
    said = oakpanel("target", "make", *asked)
    assert said.code == 1
    assert words in said.err


def test_limits_come_back_as_they_were_kept() -> None:
    from analysis.vatting import Basis, Drawing, Limits, Share

    limits = Limits(
        bottles=600,
        shares=(Share("wood", ("oak",), 0.2, 0.3, Basis.LPA),),
        drawing=Drawing.PART,
        must_include=("C1",),
        bottling_on=date(2026, 5, 1),
    )
    assert limits_from_dict(limits_to_dict(limits)) == limits
    with pytest.raises(OakpanelError, match="cannot be read"):
        limits_from_dict({"shares": [{"column": "wood"}]})


def test_shares_and_numbers_of_casks_as_people_write_them() -> None:
    from analysis.vatting import Basis

    share = read_share("make=A | B:25-35%", Basis.CASKS)
    assert (share.column, share.values, share.low, share.high) == ("make", ("A", "B"), 0.25, 0.35)
    assert read_share("a=b:c:30%", Basis.BULK).values == ("b:c",)
    assert read_range("12") == (12, 12)
    assert read_range("10-") == (10, None)
    assert read_range("-40") == (None, 40)
