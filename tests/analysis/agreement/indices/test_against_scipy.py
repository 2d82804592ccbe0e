"""Ranks, rearrangements and mean squares against scipy, and by hand on the smallest tables."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import scipy.stats

from analysis.agreement.indices import reml
from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.agree import concordance
from analysis.agreement.indices.crossed import CrossedDesign
from analysis.agreement.indices.flight import _disputed, _lasting
from analysis.agreement.indices.incomplete import _any_blocks, _ranked
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.permute import permutation_p
from analysis.agreement.indices.reml import fit_reml
from analysis.agreement.indices.scaling import Scaling, mixed_assessor_model

TIED = np.array([[1.0, 2.0, 2.0, 4.0], [2.0, 2.0, 3.0, 1.0], [5.0, 3.0, 3.0, 6.0], [9, 8, 7, 6.0]])


@pytest.mark.parametrize("table", [TIED, TIED[:3], TIED[:, :3], np.argsort(TIED, axis=0) * 1.0])
def test_concordance_is_friedmans_test(table: np.ndarray) -> None:
    """scipy.stats.friedmanchisquare, ties and all; W is its chi-square over m (n - 1)."""
    n, m = table.shape
    peer = scipy.stats.friedmanchisquare(*table)
    found = concordance(table)
    assert found is not None
    assert (found.chi2, found.p) == pytest.approx((peer.statistic, peer.pvalue))
    assert found.w == pytest.approx(peer.statistic / (m * (n - 1)))
    assert (found.df, found.n_assessors) == (n - 1, m)
    assert concordance(np.ones((n, m))) is None
    general = _any_blocks(*_ranked(table))
    assert general is not None
    assert (general.chi2, general.p) == pytest.approx((peer.statistic, peer.pvalue))
    assert general.df == n - 1


def test_ranks_of_blocks_of_unlike_size_by_hand() -> None:
    """Of three people the last had two of three samples: ranks about 2, 2 and 1.5."""
    table = np.array([[1.0, 2.0, 5.0], [2.0, 1.0, 9.0], [3.0, 3.0, np.nan]])
    above = np.array([-1.0 + 0.0 - 0.5, 0.0 - 1.0 + 0.5, 2.0])
    of_three = 2.0 / 2.0 * (np.eye(3) - 1.0 / 3.0)
    of_two = np.array([[0.25, -0.25, 0.0], [-0.25, 0.25, 0.0], [0.0, 0.0, 0.0]])
    wanted = above @ np.linalg.pinv(2.0 * of_three + of_two) @ above
    found = _any_blocks(*_ranked(table))
    assert found is not None
    assert (found.chi2, found.df) == pytest.approx((wanted, 2))
    assert found.p == pytest.approx(scipy.stats.chi2.sf(wanted, 2))


def layout_of(table: np.ndarray, again: np.ndarray | None = None) -> ScoreLayout:
    """A table of assessors by samples, and a second nosing of each."""
    parts = [table] if again is None else [table, again]
    i, j, _ = np.indices((*table.shape, len(parts))).reshape(3, -1)
    names = tuple("ABCDEFGH"[: len(table)]), tuple("stuvwxyz"[: table.shape[1]])
    return ScoreLayout(*names, i, j, np.stack(parts, axis=2).ravel())


def test_equal_scores_have_nothing_to_rearrange() -> None:
    assert permutation_p(layout_of(np.full((4, 3), 20.0))) is None
    levels = np.repeat(np.array([[10.0], [30.0], [70.0]]), 4, axis=1)
    assert permutation_p(layout_of(levels)) is None, "each the same for all samples"
    one = levels + np.eye(3, 4)
    assert permutation_p(layout_of(one), permutations=99) is not None


def test_the_mixed_assessor_model_by_its_sums_of_squares() -> None:
    """Every sum written out; each F and p by scipy."""
    rng = np.random.default_rng(8)
    i, j, k = 4, 5, 2
    truth = np.array([10.0, 25.0, 40.0, 60.0, 70.0])
    width = np.array([0.7, 1.3, 1.0, 1.0])
    first, second = (
        40.0 + width[:, None] * (truth - 41.0) + rng.normal(0, 4, (i, j)) for _ in "ab"
    )
    found = mixed_assessor_model(layout_of(first, second))
    assert isinstance(found, Scaling)
    means = (first + second) / 2.0
    x = means.mean(axis=0) - means.mean()
    own = means - means.mean(axis=1, keepdims=True)
    slopes = own @ x / (x @ x)
    squares = {
        "sample": k * i * (x @ x),
        "scaling": k * ((slopes - 1.0) ** 2).sum() * (x @ x),
        "interaction": k * ((own - x) ** 2).sum(),
        "error": ((first - means) ** 2 + (second - means) ** 2).sum(),
    }
    rest = squares["interaction"] - squares["scaling"]
    df, df_rest, df_error = i - 1, (i - 1) * (j - 2), i * j
    assert found.slopes == pytest.approx(slopes)
    assert found.squares == pytest.approx({"scaling": squares["scaling"], "disagreement": rest})
    assert found.disagreement is not None
    assert found.own_disagreement is not None
    noise = squares["error"] / df_error
    each = k * ((own - slopes[:, None] * x) ** 2).sum(axis=1) / (j - 2)
    tests = [
        (found.sample, squares["sample"] / (j - 1), rest / df_rest, j - 1, df_rest),
        (found.scaling, squares["scaling"] / df, rest / df_rest, df, df_rest),
        (found.disagreement, rest / df_rest, noise, df_rest, df_error),
        *(
            (test, part, noise, j - 2, df_error)
            for test, part in zip(found.own_disagreement, each, strict=True)
        ),
    ]
    for test, above, below, df_num, df_den in tests:
        assert test.f == pytest.approx(above / below)
        assert (test.df_num, test.df_den) == (df_num, df_den)
        assert test.p == pytest.approx(scipy.stats.f.sf(above / below, df_num, df_den))
    once = mixed_assessor_model(layout_of(first))
    assert isinstance(once, Scaling)
    assert (once.disagreement, once.own_disagreement) == (None, None)


@pytest.mark.parametrize(
    ("table", "why"),
    [
        (np.array([[1.0, 2.0], [2.0, 4.0]]), "fewer than three samples"),
        (np.full((3, 4), 7.0), "every score is the same"),
        (np.array([[1.0, 2.0, 3.0], [3.0, 2.0, 1.0]]), "panel means of the samples are all the"),
        (np.array([[1.0, 2.0, 3.0], [2.0, 4.0, 6.0]]), "exact multiples of one another"),
    ],
)
def test_why_a_line_has_no_width(table: np.ndarray, why: str) -> None:
    assert why in str(mixed_assessor_model(layout_of(table)))


LEFT = np.array(
    [
        [1.0, -1.0, 0.0, np.nan],
        [2.0, 0.0, -2.0, np.nan],
        [-3.0, 1.0, 2.0, np.nan],
        [0.0, 0.0, 0.0, 5.0],
    ]
)


def test_what_is_left_in_the_sample_most_disputed() -> None:
    """Squares of 14, 2 and 8 over four people each; one score of a sample disputes nothing."""
    fit: Any = SimpleNamespace(left=LEFT, df=6)
    assert _disputed(fit) == (14.0 / 3.0, 3)
    assert _disputed(SimpleNamespace(left=LEFT[:1], df=6)) == (0.0, 6)  # type: ignore[arg-type]


def test_a_lasting_disagreement_is_as_large_for_more_visits() -> None:
    """Two people, two visits: their means over both, for one visit."""
    fit = additive(
        np.array([[10.0, 20.0, 33.0], [12.0, 20.0, 31.0], [9.0, 24.0, 27.0], [9, 22, 29]])
    )
    means = np.array([fit.left[:2].mean(axis=0), fit.left[2:].mean(axis=0)])
    df = 6 - 2 - 2
    assert _lasting(fit, ["A", "A", "B", "B"]) == pytest.approx((2.0 * (means**2).sum() / df, df))
    assert _lasting(fit, ["A", "A", "A", "A"]) == (0.0, fit.df), "3 - 1 - 2 leaves nothing"


def test_a_component_that_ended_at_zero_is_tried_from_inside(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[list[float]] = []
    states = iter([(0.0, 0.5, 10.0), (0.3, 0.6, 8.0), (0.0, 0.5, 10.0), (0.3, 0.6, 10.0)])

    def search(_design: Any, _response: Any, ratios: np.ndarray, _tolerance: float) -> Any:
        asked.append(ratios.tolist())
        *found, deviance = next(states)
        return SimpleNamespace(ratios=np.array(found), deviance=deviance)

    monkeypatch.setattr(reml, "_search", search)
    monkeypatch.setattr(reml, "CrossedFit", lambda _design, _response, best: best)
    cells = {"cell": np.array([0, 0, 1, 1, 2, 2, 3, 3]), "who": np.array([0, 0, 0, 0, 1, 1, 1, 1])}
    design, y = CrossedDesign(np.ones((8, 1)), cells), np.arange(8.0) ** 1.5
    better: Any = fit_reml(design, y, start={"who": 4.0})
    assert asked == [[reml._START, 4.0], [reml._START, 0.5]]
    assert better.deviance == 8.0
    as_good: Any = fit_reml(design, y)
    assert as_good.ratios.tolist() == [0.0, 0.5], "no worse for being found first"
    monkeypatch.setattr(reml, "_search", lambda *_: SimpleNamespace(ratios=np.zeros(2), n=asked))
    once: Any = fit_reml(design, y, restart=False)
    assert once.ratios.tolist() == [0.0, 0.0]


def test_a_large_table_is_reckoned_as_a_small_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Products that are kept sparse above a size give the same fit."""
    from analysis.agreement.indices import crossed

    rng = np.random.default_rng(4)
    a, s = np.repeat(np.arange(5), 8), np.tile(np.repeat(np.arange(4), 2), 5)
    y = 5.0 * s + rng.normal(0, 3, 5)[a] + rng.normal(0, 4, 20)[a * 4 + s] + rng.normal(0, 2, 40)
    told = np.eye(4)[s], {"assessor": a, "cell": a * 4 + s}
    dense = fit_reml(CrossedDesign(*told), y)
    monkeypatch.setattr(crossed, "_SMALL", 0)
    design = CrossedDesign(*told)
    assert design.first_dense is None
    sparse = fit_reml(design, y)
    assert sparse.log_likelihood == pytest.approx(dense.log_likelihood)
    assert sparse.components == pytest.approx(dense.components)
    assert all(value > 0.0 for value in sparse.components.values())
    assert sparse.beta == pytest.approx(dense.beta)
