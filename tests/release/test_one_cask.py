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


@pytest.mark.slow
def test_the_window_can_be_opened(oakpanel: Call) -> None:
    asked = ("vat", "Fen", "--litres", "79", "--casks", "1", "--old-gauges", "flag")
    wide = oakpanel(*asked, "--over", "110", "--json").document
    assert len(wide["parts"]) == 1
    assert wide["limits"]["excess_fraction"] == pytest.approx(1.1)
    assert "at most 110 % over 79 litres" in [each["limit"] for each in wide["prices"]]
    refused = oakpanel(*asked, "--over", "-2")
    assert "share over the quantity is -0.02: give 0 or more" in refused.err
