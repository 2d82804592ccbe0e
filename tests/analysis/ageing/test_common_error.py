"""The error that all readings share is in curves and in what is moved, the same for every cask."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from analysis.ageing import notes_on_day
from analysis.ageing.states import Known
from analysis.influences import fit_profile
from analysis.influences.covariates import check_draws
from analysis.profile.posterior import Posterior
from tests.houses.casks import Casks, profile_of

COMMON = 25.0


def test_it_widens_curves() -> None:
    made = Casks(n=60)
    draws = made.draws()
    fits = fit_profile(profile_of(draws, made.readings(draws)), draws, descriptors=["custard"])
    stock = fits.stock(check_draws(draws.drop_duplicates("filling").head(30)))
    plain, wider = fits.fits[0], replace(fits.fits[0], common=COMMON)
    ages = np.tile([6.0, 9.0], (len(stock), 1))
    sd = [Known.of_casks(fit, stock).at(ages)[1] for fit in (plain, wider)]
    assert sd[1] ** 2 - sd[0] ** 2 == pytest.approx(np.full(ages.shape, COMMON))


def test_a_move_keeps_it_apart_from_the_casks_own_error() -> None:
    made = Casks(n=60)
    draws = made.draws()
    profile = profile_of(draws, made.readings(draws))
    rows = profile.estimates[profile.estimates["descriptor"] == "custard"]
    names, n = tuple(rows["sample"]), len(rows)
    stock = draws.drop_duplicates("filling", keep="last").assign(sample=lambda f: f["filling"])
    own = []
    for common in (0.0, COMMON):
        held = Posterior(
            *(names, ("custard",), rows[["estimate"]].to_numpy(), np.full((n, 1, 1), 4.0)),
            *(np.array([common]), np.array([[150.0]]), 1.0),
        )
        found = notes_on_day(
            replace(profile, posterior=held),
            draws,
            stock.assign(age_years=stock["age_years"] + 2.0),
            date(2026, 11, 25),
            descriptors=["custard"],
        )
        assert found.profile.posterior is not None
        assert found.profile.posterior.common.tolist() == [common]
        own.append(found.profile.posterior.covariance)
    assert own[1] == pytest.approx(own[0], rel=0.2)
