"""A long reckoning tells how far it is, ends when it is stopped, and says the same as unwatched."""

from __future__ import annotations

import threading
from subprocess import Popen

import numpy as np
import pandas as pd
import pytest

from analysis.errors import AnalysisError, FitError, StoppedError
from analysis.profile import ProfileSettings, estimate_profile, parallel
from analysis.under_way import Stage, Step, go_on, step, watched


def scores(notes: int = 3) -> pd.DataFrame:
    rng = np.random.default_rng(3)
    rows = [
        {
            "session": "S1",
            "assessor": f"A{a}",
            "sample": f"x{s}",
            "replicate": r,
            "descriptor": f"note {n}",
            "score": 30 + 8 * ((s * (n + 1)) % 5) + float(rng.normal(0, 4)),
        }
        for a in range(5)
        for s in range(6)
        for r in (1, 2)
        for n in range(notes)
    ]
    return pd.DataFrame(rows)


def test_steps_rise_to_the_whole_and_change_no_estimate() -> None:
    told: list[Step] = []
    with watched(told.append):
        watched_one = estimate_profile(scores())
    assert [each.done for each in told] == [0, 1, 2, 3]
    assert {(each.stage, each.of) for each in told} == {(Stage.PROFILE, 3)}
    pd.testing.assert_frame_equal(watched_one.estimates, estimate_profile(scores()).estimates)


def test_it_ends_between_two_rounds_with_an_error_that_no_fit_swallows() -> None:
    asked = 0

    def enough() -> bool:
        nonlocal asked
        asked += 1
        return asked > 3

    with watched(lambda _step: None, enough), pytest.raises(StoppedError) as stopped:
        estimate_profile(scores())
    assert isinstance(stopped.value, AnalysisError)
    assert not isinstance(stopped.value, FitError)
    assert asked == 4


def test_helpers_end_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    helpers: list[Popen[bytes]] = []
    start = parallel._helper

    def noted() -> Popen[bytes] | None:
        helper = start()
        if helper is not None:
            helpers.append(helper)
        return helper

    monkeypatch.setattr(parallel, "_helper", noted)
    before = threading.active_count()
    with watched(lambda _step: None, lambda: True), pytest.raises(StoppedError):
        estimate_profile(scores(), settings=ProfileSettings(processes=2))
    assert [helper.poll() is not None for helper in helpers] == [True]
    assert threading.active_count() == before


def test_nobody_watches_outside_and_another_thread_is_not_told() -> None:
    told: list[Step] = []
    with watched(told.append, lambda: False):
        other = threading.Thread(target=step, args=(Stage.VATTING, 1, 2))
        other.start()
        other.join()
    step(Stage.VATTING, 2, 2)
    go_on()
    assert told == []


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (Step(Stage.PROFILE, 3, 12), "What each sample is: 3 of 12 notes, 25%"),
        (Step(Stage.VATTING, 0, 1), "Casks and litres: 0 of 1 part, 0%"),
    ],
)
def test_a_step_in_words_fits_a_narrow_screen(told: Step, words: str) -> None:
    assert told.words == words
