"""A vatting of one cask: nothing is mixed, and a whole cask is seldom just what was asked."""

from __future__ import annotations

import pytest

from analysis.vatting import Limits
from panel.frames import target_of
from panel.questions.blending import try_litres
from panel.questions.matching import target_match
from panel.questions.vatting import house_stock
from panel.store.engine import Store
from tests.cli.calling import Call
from tests.houses.nosed import NOW


def test_match_and_vat_say_the_same_of_one_cask(house: Store) -> None:
    with house.read() as db:
        day, aim = NOW.date(), target_of(db, "Fen")
        matched = target_match(db, "Fen", as_of=day, with_held=True)
        stock = house_stock(db, as_of=day)
        said = {
            each.cask: try_litres(stock, {each.cask: 10.0}, aim, Limits(litres=10))
            for each in matched.casks
        }
    assert len(said) > 5
    assert max(each.probability for each in matched.casks) > 0.3
    for each in matched.casks:
        alone = said[each.cask].mixture.probability
        assert alone == pytest.approx(each.probability, abs=0.02), each.cask


ASKED = ("vat", "Fen", "--litres", "79", "--casks", "1", "--old-gauges", "flag")


def test_what_the_window_hides_is_told_with_its_price(oakpanel: Call) -> None:
    """C3 fits the litres; C5 fits the target, and gives a third more than was asked."""
    strict = oakpanel(*ASKED, "--json").document
    assert [part["cask"] for part in strict["parts"]] == ["C3"]
    price = next(each for each in strict["prices"] if each["kind"] == "excess")
    assert price["limit"] == "at most 3 % over 79 litres"
    assert price["probability_cost"] > 0.2
    assert price["excess_without"] == pytest.approx(83.0 * 60.0 / 46.0 / 79.0 - 1.0, abs=0.01)
    assert "(what 37 % over would give)" in price["sentence"]


def test_the_window_can_be_opened(oakpanel: Call) -> None:
    wide = oakpanel(*ASKED, "--over", "30", "--json").document
    assert [part["cask"] for part in wide["parts"]] == ["C4"]
    assert wide["limits"]["excess_fraction"] == pytest.approx(0.3)
    assert "at most 30 % over 79 litres" in [each["limit"] for each in wide["prices"]]
    refused = oakpanel(*ASKED, "--over", "-2")
    assert "share over the quantity is -0.02: give 0 or more" in refused.err
