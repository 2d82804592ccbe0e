"""Terms for the order of serving: the algebra, and what they are for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.array_types import Codes, Matrix, Vector
from analysis.order import CARRY_SD, PLACE_SD
from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.profile.moments import Moments
from analysis.profile.predict import predict
from analysis.profile.serving import Serving
from analysis.profile.slopes import slopes
from analysis.profile.system import System
from tests.analysis.profile.dense import RATIOS, Dense, World
from tests.analysis.profile.test_system import panel_rows

SQUARES, FALL, N_ASSESSORS, N_SAMPLES = 100.0, 1.8, 8, 8
AS_BEFORE = ProfileSettings(order=False)


@pytest.fixture
def world() -> World:
    return World.draw()


class WithOrder:
    """A small world with two columns of order, and the model of it written out in full."""

    def __init__(self, world: World) -> None:
        rng = np.random.default_rng(9)
        self.x: Matrix = np.column_stack([rng.normal(0, 2, world.glasses.n), rng.normal(size=70)])
        self.system = System(world.layout, world.covariates, RATIOS, world.scale, world.weight)
        self.serving = Serving.of(self.system, self.x, world.y, SQUARES)
        self.dense = Dense.of(world, RATIOS)
        told = self.x.T @ self.dense.p @ self.x / SQUARES
        known = np.linalg.inv(self.serving.covariance) - told
        self.before: Matrix = np.linalg.inv(known).astype(np.float64)
        v = self.dense.v + self.x @ self.before @ self.x.T / SQUARES
        inverse, fixed = np.linalg.inv(v), self.dense.x
        middle = np.linalg.inv(fixed.T @ inverse @ fixed)
        p = inverse - inverse @ fixed @ middle @ fixed.T @ inverse
        self.p: Matrix = p.astype(np.float64)


def test_solution_is_that_of_the_model_written_out(world: World) -> None:
    w = WithOrder(world)
    found, pulled = w.serving.solve(world.y), w.p @ world.y
    np.testing.assert_allclose(found.left * world.weight, pulled, atol=1e-9)
    assert found.squares == pytest.approx(world.y @ pulled)
    effect = w.before @ w.x.T @ pulled / SQUARES
    np.testing.assert_allclose(w.serving.effect(world.y), effect, atol=1e-9)
    u = RATIOS["sample"] * w.dense.z["sample"].T @ pulled
    u += (RATIOS["filling"] * w.dense.z["filling"].T @ pulled)[world.glasses.filling]
    np.testing.assert_allclose(found.u, u - u.mean(), atol=1e-9)


def test_slopes_are_those_of_the_model_written_out(world: World) -> None:
    w = WithOrder(world)
    found = slopes(w.system, w.serving.solve(world.y), Moments(w.system), serving=w.serving)
    pulled = w.p @ world.y
    q, d = world.y @ pulled, w.system.degrees
    f = [w.dense.z[name] @ w.dense.z[name].T @ pulled for name in RATIOS]
    lengths = np.array([pulled @ part for part in f])
    traces = np.array([np.trace(w.dense.z[n].T @ w.p @ w.dense.z[n]) for n in RATIOS])
    np.testing.assert_allclose(found.gradient, traces - d * lengths / q, rtol=1e-8, atol=1e-8)
    gram = np.array([[a @ w.p @ b for b in f] for a in f])
    wanted = d * (gram / q - np.outer(lengths, lengths) / q**2)
    np.testing.assert_allclose(found.hessian, wanted, rtol=1e-8, atol=1e-8)


def test_what_is_fitted_is_as_uncertain_as_written_out(world: World) -> None:
    w = WithOrder(world)
    noise = np.diag(1.0 / world.weight)
    wanted = np.diag(noise - noise @ w.p @ noise)
    found = Moments(w.system).fitted_variance[world.layout.meeting] + w.serving.fitted_variance
    np.testing.assert_allclose(found, wanted, rtol=1e-8)


def test_a_sample_goes_along_with_what_is_fitted_as_written_out(world: World) -> None:
    """``cov(tau, fitted) = cov(tau, y) P R``, the samples without covariates."""
    w, g = WithOrder(replace(world, covariates=np.empty((9, 0)))), world.glasses
    noise = np.diag(1.0 / world.weight)
    prior = RATIOS["sample"] * np.eye(9) + RATIOS["filling"] * np.equal.outer(g.filling, g.filling)
    about = np.eye(9) - 1.0 / 9.0
    cross = about @ prior @ about @ (world.scale[g.assessor][:, None] * np.eye(9)[g.sample]).T
    more = (cross @ (w.p - w.dense.p) @ noise)[g.sample, np.arange(g.n)]
    np.testing.assert_allclose(w.serving.tau_with_fitted, more, atol=1e-9)


def test_errors_of_the_samples_carry_what_is_not_known_of_the_order(world: World) -> None:
    w, panel = WithOrder(world), np.array([0, 2, 3])
    found = predict(Moments(w.system), w.serving.solve(world.y), panel, SQUARES, w.serving)
    bare = predict(Moments(w.system), w.system.solve(world.y), panel, SQUARES)
    rows = panel_rows(world, panel)
    cross = sum(RATIOS[name] * row @ w.dense.z[name].T for name, row in rows.items())
    mean = world.scale[panel].mean()
    fixed = np.column_stack([np.ones(9), mean * world.covariates])
    inverse = np.linalg.inv(w.dense.v)
    beta = np.linalg.inv(w.dense.x.T @ inverse @ w.dense.x) @ w.dense.x.T @ inverse
    along = (fixed @ beta + cross @ w.dense.p) @ w.x
    shared = along @ w.serving.covariance @ along.T
    np.testing.assert_allclose(found.order @ found.order.T, shared, rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(found.variance, bare.variance + np.diag(shared), rtol=1e-8)
    assert found.common == bare.common


def served(seed: int, orders: Codes, fall: float = FALL) -> tuple[pd.DataFrame, Vector]:
    """Three notes that fall along the tray, (assessors, glasses) served; and the truth."""
    rng = np.random.default_rng(seed)
    truth = 50.0 + 8.0 * rng.normal(size=(N_SAMPLES, 3))
    place = np.arange(N_SAMPLES) - (N_SAMPLES - 1) / 2.0
    y = truth[orders] - fall * place[None, :, None] + rng.normal(0, 6, (N_ASSESSORS, 1, 3))
    y += rng.normal(0, 6, y.shape)
    i, g, d = (part.ravel() for part in np.indices(y.shape))
    frame = pd.DataFrame(
        {
            "session": "S1",
            "assessor": [f"P{n}" for n in i],
            "sample": [f"C{n}" for n in orders[i, g]],
            "replicate": 1,
            "position": g + 1,
            "descriptor": np.array(["birch smoke", "plum", "wax"])[d],
            "score": y.ravel(),
        }
    )
    return frame, truth


def own_orders(seed: int) -> Codes:
    """An order of his own for everybody, with the first samples mostly early."""
    rng = np.random.default_rng([seed, 5])
    keys = np.arange(N_SAMPLES) + rng.normal(0.0, 4.0, (N_ASSESSORS, N_SAMPLES))
    return np.argsort(keys, axis=1)


def bias(found: Profile, truth: Vector) -> float:
    """Slope of what is off over the number of the sample, as the trays were filled."""
    wide = found.estimates.pivot(index="sample", columns="descriptor", values="estimate")
    off = (wide.to_numpy() - truth).mean(axis=1)
    return float(np.polyfit(np.arange(N_SAMPLES), off, 1)[0])


@pytest.mark.slow
def test_a_fall_along_trays_of_their_own_is_taken_out() -> None:
    worlds = [served(seed, own_orders(seed)) for seed in range(8)]
    before = np.mean([bias(estimate_profile(s, settings=AS_BEFORE), t) for s, t in worlds])
    after = np.mean([bias(estimate_profile(s), t) for s, t in worlds])
    assert before < -0.4
    assert abs(after) < 0.2


def test_the_fit_says_what_the_order_does() -> None:
    found = estimate_profile(served(3, own_orders(3))[0]).fit("plum")
    assert abs(found.order["place"] + FALL) < 2.5 * found.order_se["place"]
    assert found.order_se["place"] < 0.6 * PLACE_SD


def test_one_order_for_all_goes_into_the_errors_of_the_casks() -> None:
    """How far off the first and the last of eight may be is what was thought before looking."""
    scores, _ = served(4, np.tile(np.arange(N_SAMPLES), (N_ASSESSORS, 1)), fall=0.0)
    bare, found = estimate_profile(scores, settings=AS_BEFORE), estimate_profile(scores)
    fit = found.fit("plum")
    assert fit.order_se["place"] == pytest.approx(PLACE_SD, rel=0.15)
    assert fit.order_se["smoke_before"] == pytest.approx(CARRY_SD, rel=0.3)
    wider = found.compare("C0", "C7")["se"] - bare.compare("C0", "C7")["se"]
    neighbours = found.compare("C3", "C4")["se"] - bare.compare("C3", "C4")["se"]
    assert (wider > 1.0).all()
    assert (neighbours < wider / 2.0).all()
    assert found.posterior is not None
    drawn = found.draws(["C0", "C7"], n=20_000)
    se = np.std(drawn[:, 0] - drawn[:, 1], axis=0)
    np.testing.assert_allclose(se, found.compare("C0", "C7")["se"], rtol=0.03)


def test_without_places_on_record_nothing_is_said_of_the_order() -> None:
    scores = served(5, own_orders(5))[0].assign(position=np.nan)
    found, bare = estimate_profile(scores), estimate_profile(scores, settings=AS_BEFORE)
    assert found.fit("plum").order == {}
    pd.testing.assert_frame_equal(found.estimates, bare.estimates)


def test_a_session_without_places_is_not_moved_by_others() -> None:
    """Its glasses have no part in the order's effect, whatever that is elsewhere."""
    first, _ = served(6, own_orders(6))
    second, truth = served(7, np.tile(np.arange(N_SAMPLES), (N_ASSESSORS, 1)), fall=0.0)
    names = second["sample"].str.replace("C", "D")
    second = second.assign(session="S2", position=np.nan, sample=names)
    found = estimate_profile(pd.concat([first, second], ignore_index=True))
    rows = found.estimates[found.estimates["sample"].str.startswith("D")]
    wide = rows.pivot(index="sample", columns="descriptor", values="estimate").to_numpy()
    slope = np.polyfit(np.arange(N_SAMPLES), (wide - truth).mean(axis=1), 1)[0]
    assert abs(slope) < 0.3


def test_the_plain_model_and_fixed_samples_have_no_terms_of_order() -> None:
    scores = served(8, own_orders(8))[0]
    plain = ProfileSettings(equal_scale=True, equal_noise=True, degrees=None)
    assert estimate_profile(scores, settings=plain).fit("plum").order == {}
    fixed = ProfileSettings(fixed_samples=True)
    assert estimate_profile(scores, settings=fixed).fit("plum").order == {}


@pytest.mark.slow
def test_a_note_with_many_zeros_has_them_too() -> None:
    worlds = [served(seed, own_orders(seed)) for seed in range(6)]
    low = [(s.assign(score=(s["score"] - 48.0).clip(lower=0.0)), t) for s, t in worlds]
    fits = [estimate_profile(s).fit("plum") for s, _ in low]
    places = [fit.order["place"] for fit in fits if fit.order]
    assert len(places) >= 4
    assert np.mean(places) < -0.8
