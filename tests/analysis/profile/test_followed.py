"""Pseudo-scores that follow their sample: sooner at rest, and at the same rest."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.array_types import Vector
from analysis.profile.ends import Ends
from analysis.profile.followed import OwnSample, followed
from analysis.profile.sites import DAMPING, Fitted, Sites

SAMPLE = np.repeat([0, 1, 2], [8, 6, 5])
SCALE = np.tile([0.6, 1.0, 1.4, -0.8], 5)[:19]
Y = np.array([0.0] * 8 + [0, 0, 14, 0, 9, 0] + [23, 31, 0, 18, 27.0])
SPREAD, APART, NOISE = 12.0, 3.0, 6.0
"""Sds: between samples, of what else is fitted at a glass, and of the noise."""
SLIPS = 0.01


class House:
    """Samples nosed by people of known scales; what else is fitted is each glass's own."""

    def __init__(self) -> None:
        self.ends = Ends.of(Y, np.zeros(len(Y), np.intp))
        self.noise = np.full(len(Y), NOISE**2)
        self.first = Sites.first(self.ends, Y, self.noise)

    def solved(self, sites: Sites) -> tuple[Fitted, OwnSample]:
        """The posterior written out."""
        n = len(Y)
        z = np.zeros((n, 3))
        z[np.arange(n), SAMPLE] = SCALE
        both = np.concatenate([z, np.eye(n)], axis=1)
        prior = np.concatenate([np.full(3, SPREAD**-2), np.full(n, APART**-2)])
        covariance = np.linalg.inv(both.T @ (sites.precision[:, None] * both) + np.diag(prior))
        effects = covariance @ both.T @ (sites.precision * sites.score)
        fitted = Fitted(both @ effects, np.diag(both @ covariance @ both.T), self.noise)
        with_sample = (covariance[:3] @ both.T)[SAMPLE, np.arange(n)]
        variance = np.diag(covariance)[:3]
        along = with_sample / variance[SAMPLE]
        return fitted, OwnSample(SAMPLE, SCALE, effects[:3], variance, along)

    def after(self, rounds: int, *, follow: bool, begin: Sites | None = None) -> Sites:
        """Some rounds on."""
        sites = begin or self.first
        for _ in range(rounds):
            before = sites
            found, own = self.solved(before)
            sites = before.better(self.ends, Y, found, SLIPS, DAMPING)
            if follow:
                sites = followed(sites, before, self.ends, Y, found, own, SLIPS)
        return sites

    def means(self, sites: Sites) -> Vector:
        """What is said of the samples."""
        return self.solved(sites)[1].mean


@pytest.fixture
def house() -> House:
    return House()


def test_where_pseudo_scores_rest_they_stay(house: House) -> None:
    rest = house.after(200, follow=False)
    after = house.after(1, follow=True, begin=rest)
    np.testing.assert_allclose(after.precision, rest.precision, rtol=1e-9)
    np.testing.assert_allclose(after.score, rest.score, rtol=1e-9)


def test_they_rest_where_those_do_that_wait_for_a_round(house: House) -> None:
    wanted, found = (house.after(200, follow=follow) for follow in (False, True))
    np.testing.assert_allclose(found.precision, wanted.precision, rtol=1e-7)
    np.testing.assert_allclose(house.means(found), house.means(wanted), rtol=1e-7)


def test_they_are_there_in_half_of_the_rounds(house: House) -> None:
    wanted = house.means(house.after(200, follow=False))
    off = {
        (rounds, follow): float(
            np.max(np.abs(house.means(house.after(rounds, follow=follow)) - wanted))
        )
        for rounds, follow in ((4, True), (8, False), (4, False))
    }
    assert off[4, True] < off[8, False] < off[4, False]
