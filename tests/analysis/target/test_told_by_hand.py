"""Who is ranked, who is left out and what a list tells, of a handful of casks written by hand."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from analysis.profile import Profile
from analysis.target import Target, TargetLine, match_casks, sample_against
from analysis.target.candidates import complete
from analysis.target.nearest import sureness
from analysis.target.result import CaskMatch
from tests.analysis.target.test_at_the_edges import FIRST, SMOKE, candidates_of

BOTH = Target("Fen", (SMOKE, TargetLine("wax", 10.0, 4.0, 3.0)))
SMOKE_OF = {"C1": 41.0, "C2": 30.0, "C3": 55.0}


def house(*changed: tuple[str, str, dict[str, Any]], **more: Any) -> Profile:
    """Three casks with two notes each; *changed* are sample, note and what is otherwise there."""
    rows = {
        (cask, note): {
            **{"sample": cask, "cask": cask, "filling": f"{cask}/1", "descriptor": note},
            **{"estimate": smoke if note == "smoke" else 11.0, "se": 2.0, "component": 0.0},
            **{"n_scores": 4.0, "reason": None},
            **{"drawn_on": pd.Timestamp("2026-01-10"), "last_nosed": pd.Timestamp("2026-02-03")},
        }
        for cask, smoke in SMOKE_OF.items()
        for note in ("smoke", "wax", "peel")
    }
    for cask, note, values in changed:
        rows[cask, note].update(values)
    about = {"posterior": None, "camps": (), "note_on": lambda _notes: None, **more}
    estimates = pd.DataFrame(rows.values())
    made = SimpleNamespace(estimates=estimates, descriptors=("smoke", "wax", "peel"), **about)
    return cast(Profile, made)


def test_casks_come_by_their_chance_with_what_is_known_of_each() -> None:
    found = match_casks(house(), BOTH, draws=200)
    assert [one.cask for one in found.casks] == ["C1", "C2", "C3"]
    first, second, third = found.casks
    apart = scipy.stats.norm(41.0, 2.0), scipy.stats.norm(11.0, 2.0)
    chance = (apart[0].cdf(46) - apart[0].cdf(34)) * (apart[1].cdf(14) - apart[1].cdf(6))
    assert first.probability == pytest.approx(chance, abs=1e-6)
    # One part in four smoke, three wax: squares of what is off and of the error, in tolerances.
    off = 0.25 * (1.0 + 4.0) / 36.0 + 0.75 * (1.0 + 4.0) / 16.0
    assert first.distance == pytest.approx(off)
    assert (first.worst_descriptor, first.worst_off) == ("wax", 0.25)
    assert {second.worst_descriptor, third.worst_descriptor} == {"smoke"}
    assert [second.worst_off, third.worst_off] == pytest.approx([-10 / 6, 2.5])
    assert (first.filling, first.sample, first.n_scores) == ("C1/1", "C1", 8)
    assert (first.last_nosed, first.note) == (date(2026, 2, 3), None)
    assert (found.n_ranked, found.left_out, found.seed) == (3, (), 1)
    assert (found.first_hold_best, found.n_distinguishable) == (1.0, 2)
    assert 0.8 < (found.best_is_best or 0.0) < 1.0
    assert [one.cask for one in match_casks(house(), BOTH, top=2, draws=10).casks] == ["C1", "C2"]
    none = match_casks(house(), BOTH, top=0, draws=10)
    assert (none.casks, none.n_ranked) == ((), 3)
    assert none.best_is_best is not None, "the best is looked at though none is shown"


@pytest.mark.parametrize(
    ("note", "values", "reason"),
    [
        ("wax", {"estimate": np.nan, "reason": "every score alike"}, "of wax (every score alike)"),
        ("wax", {"se": np.nan}, "no estimate of wax"),
        ("smoke", {"estimate": np.nan}, "no estimate of smoke"),
        ("smoke", {"component": 1.0}, "pour it once more"),
    ],
)
def test_a_cask_without_a_line_is_left_out(note: str, values: dict[str, Any], reason: str) -> None:
    found = match_casks(house(("C2", note, values)), BOTH, draws=10)
    assert [one.cask for one in found.casks] == ["C1", "C3"]
    (left,) = found.left_out
    assert (left.cask, left.sample) == ("C2", "C2")
    assert reason in left.reason
    assert ("(" in left.reason) is (values.get("reason") is not None)
    beside = match_casks(house(("C2", "peel", values)), BOTH, draws=10)
    assert beside.left_out == (), "a note that the target does not name"


def test_where_no_cask_can_be_ranked_nothing_is_told_of_the_first() -> None:
    gone = {"estimate": np.nan}
    found = match_casks(house(*((cask, "wax", gone) for cask in SMOKE_OF)), BOTH, draws=10)
    assert (found.best_is_best, found.first_hold_best, found.n_distinguishable) == (None,) * 3
    assert (found.casks, found.n_ranked, len(found.left_out)) == ((), 0, 3)


def test_the_candidates_are_in_order_of_the_samples_and_lines() -> None:
    profile = house(("C3", "wax", {"se": 3.0, "n_scores": np.nan}))
    samples = profile.estimates.drop_duplicates("sample").iloc[[2, 0]].reset_index(drop=True)
    found, _ = complete(profile, samples, BOTH)
    assert found.estimate.tolist() == [[55.0, 11.0], [41.0, 11.0]]
    assert found.se.tolist() == [[2.0, 3.0], [2.0, 2.0]]
    assert found.n_scores.tolist() == [4, 8]
    assert found.covariance[0].tolist() == [[4.0, 0.0], [0.0, 9.0]]


@pytest.mark.parametrize(("filled", "said"), [("C2", "draw it again"), ("C9", "the cask is empty")])
def test_a_cask_that_was_filled_anew_or_emptied(filled: str, said: str) -> None:
    inside = pd.DataFrame({"cask": ["C1", filled, "C3"], "filling": ["C1/1", "C2/2", "C3/1"]})
    found = match_casks(house(), BOTH, casks=inside, draws=10)
    (left,) = found.left_out
    assert left.reason == f"nosed as filling C2/1, which is no longer in it: {said}"


def test_only_camps_on_notes_of_the_target_are_told() -> None:
    for note, told in (("wax", True), ("peel", False)):
        camps = (SimpleNamespace(descriptor=note),)
        found = match_casks(house(camps=camps), BOTH, draws=200)
        assert found.sentence.startswith("Only if the right camp was followed on wax") is told
        assert (found.beside_best is None) or not told


@pytest.mark.parametrize("note", [None, "Two evenings share no glass."])
def test_what_a_list_reads_like(note: str | None) -> None:
    gone = {"estimate": np.nan}
    profile = house(("C2", "wax", gone), note_on=lambda names: note and f"{note} {names}")
    found = match_casks(profile, BOTH, draws=50)
    said = list(found.said())
    assert said[0] == f"Fen: {found.sentence}"
    assert said[1:-3] == ([] if note is None else [f"{note} ['smoke', 'wax']"])
    assert said[-3].startswith("1. C1: ")
    assert said[-3].endswith("furthest off on wax (+0.2 tolerances)")
    assert said[-2].startswith("2. C3: ")
    assert said[-1] == "2 ranked, 1 left out."
    assert tuple(found.rows()) == found.casks


def test_the_ninth_cask_is_not_among_the_first_eight() -> None:
    """Ten casks alike: each is the nearest one time in ten."""
    target = Target("T", (TargetLine("smoke", 0.0, 5.0),))
    alike = candidates_of([[20.0]] * 10, 0.0)
    found = sureness(alike, target, np.arange(10), FIRST, 6000, 1)
    assert found.best_is_best == pytest.approx(0.1, abs=0.015)
    assert found.first_hold_best == pytest.approx(0.8, abs=0.02)
    assert (found.n_first, found.n_ranked, found.n_distinguishable) == (8, 10, 0)
    assert found.alike == tuple(f"C{i}" for i in range(1, 8))


def test_a_sample_is_held_against_all_lines_with_the_errors_that_samples_share() -> None:
    """The notes go together: against the two-dimensional normal of the whole covariance."""
    whole = np.array([[9.0, 4.0], [4.0, 8.0]])
    held = SimpleNamespace(
        samples=("C1",), part=lambda *_: (None, whole[None]), shared=lambda _: np.array([3.0, 2.0])
    )
    errors = ({"se": 3.0}, {"se": np.sqrt(8.0)})
    profile = house(("C1", "smoke", errors[0]), ("C1", "wax", errors[1]), posterior=held)
    found = sample_against(profile, "C1", BOTH)
    normal = scipy.stats.multivariate_normal([41.0, 11.0], whole)
    wanted = normal.cdf([46.0, 14.0], lower_limit=[34.0, 6.0])
    assert found.probability == pytest.approx(wanted, abs=2e-3)


def test_a_match_without_a_date_says_why() -> None:
    assert FIRST.note == "the session has no date"
    nosed = CaskMatch("C1", None, "C1", 0.5, 1.0, "smoke", 0.0, 9, date(2026, 2, 3))
    assert nosed.note is None
