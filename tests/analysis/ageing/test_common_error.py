"""The error that all readings share is in curves and windows, the same for every cask."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.ageing import AgeingSettings
from analysis.ageing.joint_draws import JointDraws
from analysis.ageing.states import Known
from analysis.influences import fit_profile
from analysis.influences.covariates import check_draws
from tests.houses.casks import Casks, profile_of

COMMON = 25.0


def test_it_widens_curves_and_moves_all_casks_together() -> None:
    made = Casks(n=60)
    draws = made.draws()
    fits = fit_profile(profile_of(draws, made.readings(draws)), draws, descriptors=["custard"])
    stock = fits.stock(check_draws(draws.drop_duplicates("filling").head(30)))
    plain, wider = fits.fits[0], replace(fits.fits[0], common=COMMON)
    ages = np.array([6.0, 9.0])
    sd = [Known.of_casks(fit, stock).at(0, ages)[1] for fit in (plain, wider)]
    assert sd[1] ** 2 - sd[0] ** 2 == pytest.approx([COMMON, COMMON])
    spread = []
    for fit in (plain, wider):
        drawn = JointDraws([fit], stock, AgeingSettings(), seed=3)
        places = np.arange(30, dtype=np.intp)
        values = next(iter(drawn.each(places, np.full((30, 1), 9.0))))
        spread.append(float(values[:, :, 0].mean(axis=0).var()))
    assert spread[1] - spread[0] == pytest.approx(COMMON, rel=0.1)
