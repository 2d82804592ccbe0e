"""One answer wherever a fit starts: from nothing, from an earlier fit, from a look at a part."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import demo_panel
from analysis.profile import Profile, ProfileSettings, begin, coarse, estimate_profile, ways
from analysis.profile.ends import ReadAs
from analysis.profile.fit import TOLERANCE
from analysis.profile.parameters import FitProblem, Parameters
from tests.bench.low_worlds import Kind, World
from tests.thinned import some

ONE = ProfileSettings(processes=1)
OF_SE, OF_EACH_SE = 0.1, 0.02
ABOUT = ["session", "held_on", "assessor", "sample", "kind", "replicate", "position", "status"]


def demo_scores(*notes: str) -> pd.DataFrame:
    """Some notes of the invented distillery, draws as samples of fillings."""
    folder = Path(demo_panel.__file__).parent
    wide = pd.read_csv(folder / "scores.csv")
    filling = pd.read_csv(folder / "draws.csv").set_index("sample")["filling"]
    long = wide.melt(ABOUT, list(notes), "descriptor", "score").dropna(subset="score")
    return long.assign(filling=long["sample"].map(filling))


def sparse_scores() -> pd.DataFrame:
    """A made-up note that nine glasses in ten lack, which may be told in two ways."""
    scores = World(32, Kind.THRESHOLDS).scores
    return scores[scores["descriptor"] == "faint"]


def agree(found: Profile, wanted: Profile) -> None:
    """Estimates and standard errors of two fits, each within what may not hang on a start."""
    both = found.estimates.merge(wanted.estimates, on=["sample", "descriptor"])
    assert len(both) == len(wanted.estimates)
    assert both["se_y"].notna().all()
    off = (both["estimate_x"] - both["estimate_y"]).abs() / both["se_y"]
    assert off.max() < OF_SE
    assert (both["se_x"] / both["se_y"] - 1.0).abs().max() < OF_EACH_SE
    assert [f.reading for f in found.fits] == [f.reading for f in wanted.fits]


NOTES = ("wet slate", "custard skin", "struck match", "hearth smoke")
FRAMES = {"demo": lambda: demo_scores(*NOTES), "sparse": sparse_scores}


@pytest.mark.parametrize("name", some(FRAMES, 2))
def test_a_session_left_out_and_put_back(name: str) -> None:
    scores = FRAMES[name]()
    wanted = estimate_profile(scores, settings=ONE)
    sessions = scores["session"].unique()
    for gone in (sessions[0], sessions[-1]):
        earlier = estimate_profile(scores[scores["session"] != gone], settings=ONE)
        agree(estimate_profile(scores, settings=ONE, start=earlier), wanted)


def test_the_demo_holds_notes_that_are_read_both_ways() -> None:
    """Else the tests beside this one would try one half of the fit."""
    fits = estimate_profile(demo_scores(*NOTES), settings=ONE).fits
    assert {f.reading for f in fits} == {ReadAs.AS_WRITTEN, ReadAs.BELOW}


@pytest.mark.slow
def test_a_first_look_as_in_a_large_house(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """There zeros are fitted from a look too, and have to end at the same place."""
    scores = demo_scores(*NOTES)
    wanted = estimate_profile(scores, settings=ONE)
    looks = []

    def look(problem: FitProblem) -> Parameters | None:
        looks.append(coarse.first_look(problem))
        return looks[-1]

    monkeypatch.setattr(begin, "TOLERANCE_LARGE", TOLERANCE)
    for module in (begin, coarse):
        monkeypatch.setattr(module, "WORTH_IT", 100)
    monkeypatch.setattr(coarse, "WANTED", 80)
    monkeypatch.setattr(begin, "first_look", look)
    agree(estimate_profile(scores, settings=ONE), wanted)
    assert any(one is not None for one in looks)


@pytest.fixture
def cheap_rounds(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As in a large house whose sessions are tied by few samples."""
    monkeypatch.setattr(begin, "WORTH_IT", 20)
    monkeypatch.setattr(ways, "EXACT_UP_TO", 20)
    ways.sparse_pays.cache_clear()
    yield
    ways.sparse_pays.cache_clear()


@pytest.mark.slow
def test_an_earlier_fit_where_rounds_are_cheap(cheap_rounds: None) -> None:
    """There zeros are fitted from an earlier fit too, and have to end at the same place."""
    scores = demo_scores(*NOTES)
    wanted = estimate_profile(scores, settings=ONE)
    last = scores["session"].unique()[-1]
    earlier = estimate_profile(scores[scores["session"] != last], settings=ONE)
    found = estimate_profile(scores, settings=ONE, start=earlier)
    agree(found, wanted)
    assert found.fits != wanted.fits


@pytest.mark.slow
def test_a_fit_that_stops_early_stands_where_a_finer_one_does(
    cheap_rounds: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A creep that has far to go in small rounds is not taken for rest."""
    scores = demo_scores("boat shed", "hearth smoke", "struck match")
    early = estimate_profile(scores, settings=ONE)
    monkeypatch.setattr(begin, "TOLERANCE_CHEAP", TOLERANCE / 3.0)
    agree(early, estimate_profile(scores, settings=ONE))


@pytest.mark.slow
def test_a_small_fit_with_scores_at_the_ends_stands_where_a_finer_one_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its rounds are small long before it rests."""
    scores = demo_scores("boat shed", "struck match")
    wanted = estimate_profile(scores, settings=ONE)
    assert {f.reading for f in wanted.fits} == {ReadAs.BELOW}
    monkeypatch.setattr(begin, "TOLERANCE", TOLERANCE / 10.0)
    agree(wanted, estimate_profile(scores, settings=ONE))


def test_levels_of_the_noise_are_cut_from_the_scores_alone() -> None:
    """Two fits that begin far apart cut the same bins."""
    scores = demo_scores("wet slate")
    first = estimate_profile(scores, settings=ONE)
    low = scores.assign(score=0.4 * scores["score"] + 5.0)
    again = estimate_profile(scores, settings=ONE, start=estimate_profile(low, settings=ONE))
    assert len(first.fits[0].level_edges) == 2
    np.testing.assert_array_equal(first.fits[0].level_edges, again.fits[0].level_edges)
    agree(again, first)
