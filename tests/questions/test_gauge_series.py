"""Days of gauges are reckoned for a judgement as they are for what the house learns."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from panel.questions.gauge_flags import Stretch, _series
from panel.questions.loss_limits import LossRules
from panel.questions.store_losses import as_year, store_losses
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState
from panel.store.stories import Place

DAYS = (date(2015, 7, 1), date(2018, 1, 1), date(2020, 1, 1))


def filling(*days: date) -> FillingState:
    gauges = tuple(Gauge(day, 200.0 - 5.0 * at, 63.0) for at, day in enumerate(days))
    bare = FillingState(
        *(0, "", "", "oak", 250.0, "Make", 0.0, None, 1, 63.0, days[0], None, None),
        *(gauges[-1], 63.0, 190.0, Place(None, None, None, None), None, None, None, None),
        *(None, False, days[-1]),
    )
    return replace(bare, gauges=gauges)


def test_a_gauge_of_new_years_day_counts_to_the_year_that_begins() -> None:
    states = [filling(*DAYS), filling(*DAYS[:2])]
    like = store_losses(states, LossRules(5.0, 12.0, 3.0, 0.5, 1.0, frozenset()))
    on = _series(
        [Stretch(s, list(s.gauges), [1.0] * len(s.gauges), set()) for s in states], like
    ).on
    assert on[0].tolist() == [as_year(day) for day in DAYS]
    assert np.floor(on[0]).tolist() == [2015.0, 2018.0, 2020.0]
    assert np.isnan(on[1, 2])
