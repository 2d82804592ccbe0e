"""What can be told apart: variance inflation against statsmodels, and the words."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.outliers_influence import variance_inflation_factor

from analysis.influences import Covariate, InfluenceSettings
from analysis.influences.covariates import check_draws
from analysis.influences.separate import separation
from tests.houses.casks import Casks

SETTINGS = InfluenceSettings()


def draws() -> pd.DataFrame:
    return check_draws(Casks(n=60, again=0.0).draws(seed=4))


def test_inflation_is_that_of_statsmodels() -> None:
    frame = draws()
    rng = np.random.default_rng(2)
    frame["fill_abv"] = 55 + frame["age_years"] + rng.normal(0.0, 0.8, len(frame))
    found = separation(frame, (Covariate.AGE, Covariate.STRENGTH), SETTINGS)
    x = np.column_stack([np.ones(len(frame)), frame["age_years"], frame["fill_abv"]])
    want = variance_inflation_factor(x, 1)
    assert want > 5.0
    assert [part.vif for part in found.inseparable] == pytest.approx([want, want])
    assert found.inseparable[0].apart_from == ("fill strength",)


def test_condition_number_of_two_columns() -> None:
    """Two standardised columns of correlation r have the condition number ((1+r)/(1-r))^.5."""
    frame = draws()
    r = np.corrcoef(frame["age_years"], frame["fill_abv"])[0, 1]
    found = separation(frame, (Covariate.AGE, Covariate.STRENGTH), SETTINGS)
    assert found.condition_number == pytest.approx(((1 + abs(r)) / (1 - abs(r))) ** 0.5)
    assert found.inseparable == ()


def test_previous_contents_that_go_with_the_wood_are_named_with_a_remedy() -> None:
    found = separation(
        draws(), (Covariate.WOOD, Covariate.FILL, Covariate.AGE, Covariate.PREVIOUS), SETTINGS
    )
    sherry = found.find(Covariate.PREVIOUS, "sherry")
    assert sherry is not None
    assert sherry.vif == pytest.approx(1e6)
    assert sherry.note == (
        "cannot be separated from wood: nose a cask that held sherry before in other wood than butt"
    )


def test_a_wood_that_is_older_than_all_others_is_named_with_its_ages() -> None:
    frame = draws()
    old = frame["wood"] == "butt"
    rng = np.random.default_rng(3)
    frame["age_years"] = np.where(old, 18.0, 5.0) + rng.uniform(0.0, 1.0, len(frame))
    found = separation(frame, (Covariate.WOOD, Covariate.FILL, Covariate.AGE), SETTINGS).find(
        Covariate.WOOD, "butt"
    )
    assert found is not None
    assert found.apart_from == ("age",)
    assert "18 to 19 years, the others at 5 to 6" in found.remedy


def test_casks_that_differ_freely_are_told_apart() -> None:
    found = separation(
        draws(),
        (Covariate.WOOD, Covariate.FILL, Covariate.AGE, Covariate.PHENOL, Covariate.STRENGTH),
        SETTINGS,
    )
    assert found.inseparable == ()
    assert found.condition_number < 5.0


def test_one_level_of_everything_leaves_nothing_to_tell_apart() -> None:
    frame = draws().assign(wood="barrel", fill_number=1, fill_abv=63.5)
    found = separation(frame, (Covariate.WOOD, Covariate.FILL, Covariate.STRENGTH), SETTINGS)
    assert found.condition_number == 1.0
