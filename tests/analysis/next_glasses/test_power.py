"""How much a question needs: what more people, glasses and sessions buy."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.errors import InputError
from analysis.next_glasses import Design, power_table
from analysis.next_glasses.power import loss_of_choice, panel_as
from tests.analysis.next_glasses.houses import known_house


def test_more_glasses_buy_power_and_cost_less() -> None:
    known = known_house()
    designs = [Design(4, 6, 1), Design(8, 6, 1), Design(8, 6, 4)]
    found = power_table(known.profile, designs, notes=["plum"], casks=30, best=4)
    exact = [row.exact or 0.0 for row in found.rows_of]
    assert exact == sorted(exact)
    assert [row.glasses for row in found.rows_of] == [24, 48, 192]
    losses = [row.loss for row in found.rows_of]
    assert losses == sorted(losses, reverse=True)
    curve = [at.loss for at in found.losses]
    assert curve == sorted(curve, reverse=True)
    assert found.widths[2].a_year < found.widths[0].a_year
    assert found.learned
    assert found.to_dict()["designs"][0]["note"] == "plum"


def test_one_nose_alone_has_no_power_and_says_so() -> None:
    found = power_table(None, [Design(1, 6, 1)], notes=["smoke"])
    assert found.rows_of[0].exact is None
    assert "two people" in found.summary()


def test_the_loss_without_a_glass_is_that_of_a_choice_at_random() -> None:
    panel = panel_as(None, "smoke", ("A",))
    rng = np.random.default_rng(1)
    best = np.sort(rng.normal(0.0, 9.0, (4000, 40)), axis=1)[:, -4:].mean()
    assert loss_of_choice(panel, 0, 40, 4) == pytest.approx(best, rel=0.03)


def test_what_cannot_be_asked_is_refused() -> None:
    with pytest.raises(InputError, match="cannot be chosen"):
        power_table(None, [Design(4, 6, 1)], notes=["smoke"], casks=5, best=5)
    with pytest.raises(InputError, match="a note and a design"):
        power_table(None, [], notes=["smoke"])
    with pytest.raises(InputError, match="1 or more"):
        Design(0, 6, 1)


def test_surely_apart_is_promised_as_it_is_said() -> None:
    once, thrice = Design(12, 6, 1), Design(12, 6, 3)
    at, beyond = (
        power_table(None, [once, thrice], notes=["smoke"], points=points).rows_of
        for points in (10.0, 20.0)
    )
    # At the tolerance itself it may be said 5 times in 100, however surely a difference is seen;
    # over sessions it is said more seldom, by the larger of two errors.
    assert at[0].beyond == pytest.approx(0.05, abs=1e-3)
    assert 0.04 < (at[1].beyond or 0.0) < 0.05
    assert (at[1].simulated or 0.0) > 0.9
    assert (beyond[1].beyond or 0.0) > 0.9
