"""Casks that nobody nosed, as rows of the profile."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.influences import Foretold, fit_profile, foretell_casks
from analysis.influences.covariates import check_draws
from analysis.influences.foretold_errors import LANDMARKS
from analysis.influences.predict import foretell_stock
from analysis.influences.terms import Points
from analysis.influences.unnosed import foretell_unnosed
from analysis.profile import Posterior, Profile
from tests.houses.casks import Casks, profile_of

NOTES = ["custard", "slate", "smoke"]


def new_casks(n: int, seed: int = 77) -> pd.DataFrame:
    """Casks of the same kind that nobody nosed, with their truth."""
    stock = Casks(n=n, again=0.0).draws(seed)
    for name in ("sample", "cask", "filling"):
        stock[name] = "n" + stock[name]
    return stock


def nosed(made: Casks, seed: int = 1) -> tuple[Profile, pd.DataFrame]:
    draws = made.draws(seed)
    return profile_of(draws, made.readings(draws, seed + 50)), draws


def foretold(made: Casks, stock: pd.DataFrame, seed: int = 1) -> Foretold:
    profile, draws = nosed(made, seed)
    return foretell_casks(profile, draws, stock, with_joint=True)


@pytest.mark.slow
def test_rows_are_rows_of_a_profile_that_rest_on_no_glass() -> None:
    profile, draws = nosed(Casks())
    found = foretell_casks(profile, draws, new_casks(3))
    shown = ("sample", "cask", "filling", "kind", "descriptor", "estimate", "se", "low", "high")
    assert set(shown) <= set(found.rows.columns)
    assert set(profile.estimates.columns) <= set(found.rows.columns) | {"reading", "noise_variance"}
    assert set(found.rows["kind"]) == {"foretold"}
    assert (found.rows["n_scores"] == 0).all()
    assert found.rows["raw_mean"].isna().all()
    assert len(found.rows) == 3 * len(NOTES)
    assert found.n_casks == draws["cask"].nunique()


@pytest.mark.slow
def test_bounds_hold_the_truth_as_often_as_they_say() -> None:
    """New casks of many made-up houses: 95 in 100, give or take chance and few casks."""
    inside, n = 0, 0
    for seed in range(6):
        stock = new_casks(40, 300 + seed)
        rows = foretold(Casks(n=60), stock, seed).rows
        for name in NOTES:
            some = rows[rows["descriptor"] == name].merge(stock[["cask", name]], on="cask")
            inside += int(((some["low"] <= some[name]) & (some[name] <= some["high"])).sum())
            n += len(some)
    assert 0.92 < inside / n < 0.985


@pytest.mark.slow
def test_a_filling_that_was_nosed_is_passed_over() -> None:
    profile, draws = nosed(Casks())
    stock = pd.concat([draws.head(1).assign(sample="c0/1"), new_casks(1)])
    assert set(foretell_casks(profile, draws, stock).rows["cask"]) == {"nc0"}


def test_too_few_casks_are_said_on_every_row() -> None:
    found = foretold(Casks(n=6, again=0.0), new_casks(2))
    assert found.rows["estimate"].isna().all()
    assert found.reason is not None
    assert found.reason.startswith("Only 6 casks were nosed")
    assert set(found.rows["reason"]) == {found.reason}
    assert set(found.rows["descriptor"]) == set(NOTES)


def test_a_cask_that_cannot_be_explained_says_why_and_the_others_are_told() -> None:
    stock = new_casks(2)
    stock.loc[0, "years_before"] = 3.0
    rows = foretold(Casks(), stock.fillna({"years_before": 0.0})).rows
    mixed = rows["cask"] == "nc0"
    assert set(rows.loc[mixed, "reason"]) == {"spirit that lay in more than one wood"}
    assert rows.loc[~mixed, "estimate"].notna().all()


def test_one_note_scored_on_few_casks_is_refused_alone() -> None:
    made = Casks()
    draws = made.draws()
    readings = made.readings(draws)
    few = (readings["descriptor"] == "slate") & ~readings["sample"].isin(draws["sample"].head(5))
    rows = foretell_casks(profile_of(draws, readings[~few]), draws, new_casks(1)).rows
    told = {str(row["descriptor"]): row for row in rows.to_dict("records")}
    assert told["custard"]["estimate"] > 0
    assert np.isnan(told["slate"]["estimate"])
    assert "casks only: 10 at least" in told["slate"]["reason"]


@pytest.mark.slow
def test_nothing_is_surer_than_the_error_that_all_readings_share() -> None:
    profile, draws = nosed(Casks())
    stock = new_casks(4)
    plain = foretell_casks(profile, draws, stock).rows
    off = replace(profile, posterior=without_estimates([25.0, 0.0, 0.0]))
    assert off.posterior is not None
    widened = widened_rows(off, draws, stock)
    ratio = widened["se"] ** 2 - plain["se"] ** 2
    assert ratio[plain["descriptor"] == "custard"].to_numpy() == pytest.approx(25.0)
    assert ratio[plain["descriptor"] == "smoke"].to_numpy() == pytest.approx(0.0, abs=1e-9)


def without_estimates(common: list[float]) -> Posterior:
    nothing = np.zeros((0, 3))
    return Posterior(
        (), tuple(NOTES), nothing, np.zeros((0, 3, 3)), np.array(common), np.eye(3), 0.0
    )


def widened_rows(profile: Profile, draws: pd.DataFrame, stock: pd.DataFrame) -> pd.DataFrame:
    """Foretold with a common error; the readings are those of the profile without it."""
    fits = fit_profile(replace(profile, posterior=None), draws)
    common = dict(zip(NOTES, profile.posterior.common, strict=True)) if profile.posterior else {}
    wider = tuple(replace(fit, common=common[fit.note.descriptor]) for fit in fits.fits)
    return foretell_stock(replace(fits, fits=wider), check_draws(stock))


@pytest.mark.slow
def test_errors_add_up_to_those_of_each_cask() -> None:
    _, found = many_foretold()
    errors = found.joint
    assert errors is not None
    wide = found.rows.pivot(index="filling", columns="descriptor", values="se")
    se = wide.loc[list(errors.fillings), list(errors.descriptors)].to_numpy()
    own = np.einsum("idd->id", errors.own)
    assert own + (errors.shared**2).sum(axis=2) == pytest.approx(se**2)
    assert own.min() > 4.0


@pytest.mark.slow
@pytest.mark.parametrize("name", NOTES)
def test_the_quick_way_is_the_whole_one(name: str) -> None:
    """Only the present age and nobody's own draws: traits need not be reckoned apart."""
    profile, draws = nosed(Casks())
    note = fit_profile(profile, draws, descriptors=[name]).fits[0].note
    stock = new_casks(20).assign(held="bourbon", make=["Low", "Far"] * 10)
    points = Points.of(stock, note.terms.levels)
    quick = foretell_unnosed(note, points)
    whole = note.foretell(points, np.full(20, -1, dtype=np.intp))
    assert quick[0] == pytest.approx(whole[0])
    assert quick[1] == pytest.approx(whole[1])


@cache
def many_foretold() -> tuple[pd.DataFrame, Foretold]:
    """More casks than there are landmarks, and what is foretold of them."""
    stock = new_casks(LANDMARKS + 60)
    return stock, foretold(Casks(), stock)


def exact_errors(stock: pd.DataFrame, name: str) -> np.ndarray:
    """Covariance of the errors of all pairs of casks, reckoned in full."""
    profile, draws = nosed(Casks())
    note = fit_profile(profile, draws, descriptors=[name]).fits[0].note
    points = Points.of(stock.assign(held=stock["previous"].fillna("nothing")), note.terms.levels)
    whole, means = np.zeros((len(stock),) * 2), []
    for part in note.ways:
        bases = note.terms.bases(part.way, points.age_years, points.phenol_ppm)
        x = np.einsum("il,ilm->im", bases, note.terms.traits(points))
        means.append(x @ part.solution.coefficients)
        own = part.solution.own_prior + note.terms.unseen(points, part.solution.log_variances)
        given = x @ part.solution.covariance @ x.T + np.diag((bases**2 * own).sum(axis=1))
        whole += part.weight * note.inflation**2 * given
    off = np.array(means) - np.tensordot([w.weight for w in note.ways], means, axes=1)
    for part, one in zip(note.ways, off, strict=True):
        whole += part.weight * np.outer(one, one)
    return whole


@pytest.mark.slow
@pytest.mark.parametrize("name", NOTES)
def test_a_few_sources_give_the_spread_of_every_vatting(name: str) -> None:
    """The mean of ten casks of one wood, from sources, against the whole covariance."""
    stock, told = many_foretold()
    errors = told.joint
    assert errors is not None
    stock = stock.set_index("filling").loc[list(errors.fillings)].reset_index()
    at = errors.descriptors.index(name)
    held = errors.shared[:, at] @ errors.shared[:, at].T + np.diag(errors.own[:, at, at])
    whole = exact_errors(stock, name)
    rng = np.random.default_rng(5)
    for wood in ("barrel", "butt", "new oak"):
        ten = rng.choice(np.flatnonzero(stock["wood"] == wood), 10, replace=False)
        some = np.ix_(ten, ten)
        assert np.sqrt(held[some].mean()) == pytest.approx(np.sqrt(whole[some].mean()), rel=0.04)
        # Ten casks are nowhere near as sure as ten that err each for itself.
        assert whole[some].mean() > 1.2 * np.diag(whole)[ten].mean() / 10
