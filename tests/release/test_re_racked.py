"""A re-rack of nosed casks is foretold from them, by the rule of mixing, and says so."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.engine import Store
from tests.cli.calling import Call
from tests.houses.parts import add_event, add_filling

LIMITS = ("--litres", "250", "--casks", "2-5", "--old-gauges", "flag")


def rack(store: Store, on: date, *, lpa_shares: tuple[float, float] = (30.0, 10.0)) -> None:
    """Fill B1 with so many litres of C1 and of C10, both at 60 %."""
    with store.write() as db:
        litres = sum(lpa_shares)
        child = add_filling(
            db, "B1", None, wood="European oak", filled_on=on, fill_abv=60.0, fill_bulk_l=litres
        )
        for name, share in zip(("C1/1", "C10/1"), lpa_shares, strict=True):
            parent = db.query(Filling).filter_by(label=name).one()
            add_event(db, child, EventKind.RE_RACKED, on, parent=parent, litres=share, abv=60.0)


def rows(oakpanel: Call, name: str) -> dict[str, dict[str, Any]]:
    samples = oakpanel("profile", name, "--json").document["samples"]
    return {each["descriptor"]: each for each in samples}


@pytest.mark.slow
def test_a_note_that_mixes_in_proportion_is_the_mean_by_pure_alcohol(
    oakpanel: Call, house: Store
) -> None:
    rack(house, date(2026, 1, 10))
    parents = [rows(oakpanel, cask)["honeycomb"]["estimate"] for cask in ("C1", "C10")]
    found = rows(oakpanel, "B1")["honeycomb"]
    assert found["estimate"] == pytest.approx(0.75 * parents[0] + 0.25 * parents[1], abs=1e-6)
    assert found["se"] > 1.5  # the rule's own error, and the parents'
    assert found["low"] < found["estimate"] < found["high"]


@pytest.mark.slow
def test_a_potent_note_counts_for_more_than_its_share(oakpanel: Call, house: Store) -> None:
    rack(house, date(2026, 1, 10))
    low, high = (rows(oakpanel, cask)["smoke at the end"]["estimate"] for cask in ("C1", "C10"))
    expected = (0.75 * low**2 + 0.25 * high**2) ** 0.5  # exponent 0.5
    assert rows(oakpanel, "B1")["smoke at the end"]["estimate"] == pytest.approx(expected, abs=1e-6)
    assert expected > 0.75 * low + 0.25 * high


@pytest.mark.slow
def test_the_answer_says_what_it_rests_on(oakpanel: Call, house: Store) -> None:
    rack(house, date(2026, 1, 10))
    document = oakpanel("profile", "B1", "--json").document
    assert document["foretold"]["from_parents"] == {"B1/1": ["D-C1", "D-C10"]}
    said = " ".join(oakpanel("profile", "B1").out.split())
    assert "B1/1 is foretold from what went into it (D-C1, D-C10)" in said
    assert "nothing of it is known" not in said


@pytest.mark.slow
def test_it_may_go_into_a_vatting_where_foretold_casks_may(oakpanel: Call, house: Store) -> None:
    rack(house, date(2026, 1, 10))
    plain = oakpanel("vat", "Fen", *LIMITS, "--quick", "--with", "B1")
    assert plain.code == 1
    found = oakpanel("vat", "Fen", *LIMITS, "--quick", "--with", "B1", "--with-foretold", "--json")
    part = next(each for each in found.document["parts"] if each["cask"] == "B1")
    assert part["foretold"] is True


@pytest.mark.slow
def test_years_in_the_new_wood_keep_it_out_of_a_vatting_and_are_said(
    oakpanel: Call, house: Store
) -> None:
    rack(house, date(2023, 3, 14))
    found = rows(oakpanel, "B1")["ember"]
    assert found["reason"] == "3.0 years in its new wood are not in these figures"
    vat = oakpanel("vat", "Fen", *LIMITS, "--quick", "--with", "B1", "--with-foretold")
    assert vat.code == 1


def test_with_a_parent_that_nobody_nosed_nothing_is_told(oakpanel: Call, house: Store) -> None:
    rack(house, date(2026, 1, 10))
    with house.write() as db:
        child = db.query(Filling).filter_by(label="B1/1").one()
        make = db.query(Filling).filter_by(label="C1/1").one().make
        unknown = add_filling(db, "N1", make, fill_bulk_l=100.0)
        on = date(2026, 1, 10)
        add_event(db, child, EventKind.RE_RACKED, on, parent=unknown, litres=5.0, abv=60.0)
    assert rows(oakpanel, "B1")["ember"]["estimate"] is None
    assert oakpanel("profile", "B1", "--json").document["foretold"]["from_parents"] == {}
