"""The equations against the model written out in full."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.errors import FitError
from analysis.profile import moments
from analysis.profile.layout import ModelLayout
from analysis.profile.moments import Moments
from analysis.profile.predict import predict
from analysis.profile.slopes import slopes
from analysis.profile.system import System
from analysis.profile.terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)
from tests.analysis.profile.dense import RATIOS, Dense, World

CASES = [
    RATIOS,
    {name: r for name, r in RATIOS.items() if name != FILLING},
    {name: r for name, r in RATIOS.items() if name not in (SESSION, ASSESSOR_SAMPLE)},
    {name: r for name, r in RATIOS.items() if name != ASSESSOR_SESSION},
    RATIOS | {SAMPLE: 0.0},
    RATIOS | {FILLING: 0.0, SESSION: 0.0},
    RATIOS | {ASSESSOR: 0.0, ASSESSOR_SAMPLE: 0.0},
    {SAMPLE: 0.7},
]


@pytest.fixture(params=range(len(CASES)))
def ratios(request: pytest.FixtureRequest) -> dict[str, float]:
    found: dict[str, float] = CASES[request.param]
    return found


@pytest.fixture
def world() -> World:
    return World.draw()


def system_of(world: World, ratios: dict[str, float]) -> System:
    return System(world.layout, world.covariates, ratios, world.scale, world.weight)


def test_effects_are_the_predictions_written_out(world: World, ratios: dict[str, float]) -> None:
    dense, found = Dense.of(world, ratios), system_of(world, ratios).solve(world.y)
    pulled = dense.p @ world.y
    assert found.squares == pytest.approx(world.y @ pulled)
    np.testing.assert_allclose(found.left * world.weight, pulled, atol=1e-9)
    g = world.glasses
    effect = {name: ratios.get(name, 0.0) * z.T @ pulled for name, z in dense.z.items()}
    u = effect[SAMPLE] + effect[FILLING][g.filling]
    np.testing.assert_allclose(found.u, u - u.mean(), atol=1e-9)
    np.testing.assert_allclose(found.session, effect[SESSION], atol=1e-9)
    np.testing.assert_allclose(found.cell, effect[ASSESSOR_SAMPLE], atol=1e-9)


def test_log_determinant(world: World, ratios: dict[str, float]) -> None:
    dense = Dense.of(world, ratios)
    inner = dense.x.T @ np.linalg.solve(dense.v, dense.x)
    wanted = np.linalg.slogdet(dense.v)[1] + np.linalg.slogdet(inner)[1]
    assert system_of(world, ratios).log_determinant == pytest.approx(wanted)


def test_slopes_of_the_deviance(world: World, ratios: dict[str, float]) -> None:
    dense, system = Dense.of(world, ratios), system_of(world, ratios)
    found = slopes(system, system.solve(world.y), Moments(system))
    q, d = world.y @ dense.p @ world.y, system.degrees
    pulled = dense.p @ world.y
    f = [dense.z[name] @ dense.z[name].T @ pulled for name in ratios]
    lengths = np.array([pulled @ part for part in f])
    traces = np.array([np.trace(dense.z[n].T @ dense.p @ dense.z[n]) for n in ratios])
    np.testing.assert_allclose(found.gradient, traces - d * lengths / q, rtol=1e-8, atol=1e-8)
    gram = np.array([[a @ dense.p @ b for b in f] for a in f])
    wanted = d * (gram / q - np.outer(lengths, lengths) / q**2)
    np.testing.assert_allclose(found.hessian, wanted, rtol=1e-8, atol=1e-8)


def test_random_columns_are_right_on_average(
    world: World, ratios: dict[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With many columns the traces of a large system come close to the exact ones."""
    system = system_of(world, ratios)
    exact = Moments(system).traces()
    monkeypatch.setattr(moments, "EXACT_UP_TO", 0)
    monkeypatch.setattr(moments, "N_COLUMNS", 40_000)
    moments._columns.cache_clear()
    found = Moments(system).traces()
    moments._columns.cache_clear()
    for name, value in exact.items():
        assert found[name] == pytest.approx(value, rel=0.03, abs=0.02)


def test_fitted_variance_is_that_of_the_predictor(world: World, ratios: dict[str, float]) -> None:
    """``var(fitted - truth) = R - R P R`` with ``R`` the noise."""
    dense, system = Dense.of(world, ratios), system_of(world, ratios)
    noise = np.diag(1.0 / world.weight)
    wanted = np.diag(noise - noise @ dense.p @ noise)
    found = Moments(system).fitted_variance[world.layout.meeting]
    np.testing.assert_allclose(found, wanted, rtol=1e-8)


def panel_rows(world: World, panel: np.ndarray) -> dict[str, np.ndarray]:
    """Weights of every effect in the panel's mean of each sample."""
    g, lay = world.glasses, world.layout
    n, mean = g.n_samples, world.scale[panel].mean()
    assessors = np.zeros((n, g.n_assessors))
    assessors[:, panel] = 1.0 / len(panel)
    cells = np.zeros((n, lay.n_cells))
    for c, (j, i) in enumerate(zip(lay.cell_assessor, lay.cell_sample, strict=True)):
        cells[i, c] = (1.0 / len(panel)) * (j in panel)
    about = mean * (np.eye(n) - 1.0 / n)
    fillings = about @ np.eye(int(g.filling.max()) + 1)[g.filling]
    return {
        SAMPLE: about,
        FILLING: fillings,
        ASSESSOR: assessors,
        ASSESSOR_SAMPLE: cells,
    }


def test_predictions_of_the_panel_mean(world: World, ratios: dict[str, float]) -> None:
    """Estimate and error covariance as for any sum of fixed and random effects."""
    panel = np.array([0, 2, 3])
    dense, system = Dense.of(world, ratios), system_of(world, ratios)
    found = predict(Moments(system), system.solve(world.y), panel, 2.0)
    rows = panel_rows(world, panel)
    n = world.glasses.n_samples
    prior, cross = np.zeros((n, n)), np.zeros((n, world.glasses.n))
    for name, row in rows.items():
        ratio = ratios.get(name, 0.0)
        prior += ratio * row @ row.T
        cross += ratio * row @ dense.z[name].T
    unseen = 3 - (rows[ASSESSOR_SAMPLE] > 0).sum(axis=1)
    prior += np.diag(unseen * ratios.get(ASSESSOR_SAMPLE, 0.0) / 9.0)
    mean = world.scale[panel].mean()
    x = np.column_stack([np.ones(n), mean * world.covariates])
    inverse = np.linalg.inv(dense.v)
    middle = np.linalg.inv(dense.x.T @ inverse @ dense.x)
    beta = middle @ dense.x.T @ inverse @ world.y
    left = x - cross @ inverse @ dense.x
    error = prior - cross @ inverse @ cross.T + left @ middle @ left.T
    np.testing.assert_allclose(found.estimate, x @ beta + cross @ dense.p @ world.y, atol=1e-8)
    np.testing.assert_allclose(found.variance, 2.0 * np.diag(error), rtol=1e-8)
    apart = error.sum() - np.trace(error)
    assert found.common == pytest.approx(max(2.0 * apart / (n * (n - 1)), 0.0), rel=1e-6)


def test_left_out_information_is_that_of_leaving_out(world: World) -> None:
    """A sample with an effect of its own, fixed, is predicted from all others."""
    dense, system = Dense.of(world, RATIOS), system_of(world, RATIOS)
    z = dense.z[SAMPLE]
    wanted = np.diag(z.T @ dense.p @ z)
    np.testing.assert_allclose(Moments(system).left_out_information, wanted, rtol=1e-8)


def test_covariance_of_the_effects_of_covariates(world: World) -> None:
    dense, system = Dense.of(world, RATIOS), system_of(world, RATIOS)
    wanted = np.linalg.inv(dense.x.T @ np.linalg.solve(dense.v, dense.x))[1:, 1:]
    np.testing.assert_allclose(system.gamma_covariance(), wanted, rtol=1e-8)


def test_two_covariates_that_say_the_same_are_refused(world: World) -> None:
    twice = np.column_stack([world.covariates[:, 0], world.covariates[:, 0]])
    with pytest.raises(FitError, match="say the same"):
        System(ModelLayout(world.glasses), twice, RATIOS, world.scale, world.weight)
