"""A real panel against lme4, lmerTest, emmeans and psych: 12 people, 30 samples, 5 notes.

The numbers and the versions that made them are in french_fries_mixed_models.json. Weeks 1 to 4
are balanced; over all ten weeks people were missing, which makes the panel unbalanced.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.agreement import Agreement, DescriptorAgreement, SampleEffect, assess_agreement
from analysis.agreement.indices.crossed import CrossedDesign
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.reml import fit_reml
from analysis.agreement.indices.satterthwaite import satterthwaite_f
from tests.outside.real_panels import FRENCH_FRIES_NOTES, french_fries, french_fries_weeks

REFERENCE: Mapping[str, Any] = json.loads(
    (Path(__file__).parent / "french_fries_mixed_models.json").read_text()
)["attributes"]
NEAR = 1e-6
NEAR_DF = 1e-4


@cache
def assessed(weeks: int) -> Agreement:
    return assess_agreement(french_fries(weeks=weeks))


def found(note: str, part: str) -> DescriptorAgreement:
    return assessed(4 if part == "balanced12" else 10).descriptor(note)


def close_component(value: float | None, wanted: float, residual: float) -> None:
    assert value is not None
    if wanted < 1e-6 * residual:
        assert abs(value) < 1e-6 * residual
    else:
        assert value == pytest.approx(wanted, rel=NEAR)


@pytest.mark.parametrize("part", ["balanced12", "full30"])
@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_variance_components_and_likelihood(note: str, part: str) -> None:
    wanted, have = REFERENCE[note][part], found(note, part)
    assert have.n_scores == wanted["n"]
    variance = have.variance
    close_component(variance.assessor, wanted["assessor"], wanted["residual"])
    close_component(variance.interaction, wanted["interaction"], wanted["residual"])
    close_component(variance.residual, wanted["residual"], wanted["residual"])
    assert variance.log_likelihood == pytest.approx(wanted["log_likelihood"], abs=1e-6)


def check_effect(have: SampleEffect, wanted: Mapping[str, Any]) -> None:
    assert have.f == pytest.approx(wanted["f"], rel=NEAR)
    assert have.df_num == wanted["df_num"]
    assert have.df_den == pytest.approx(wanted["df_den"], rel=NEAR_DF)
    assert have.p == pytest.approx(wanted["p"], rel=NEAR_DF)


@pytest.mark.parametrize("part", ["balanced12", "full30"])
@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_reml_sample_effect(note: str, part: str) -> None:
    check_effect(found(note, part).sample_effect_reml, REFERENCE[note][part])


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_balanced_verdict_leans_on_the_mixed_anova(note: str) -> None:
    wanted, have = REFERENCE[note]["anova"], found(note, "balanced12").sample_effect
    assert "balanced" in have.method
    assert have.f == pytest.approx(wanted["f"], rel=1e-9)
    assert have.p == pytest.approx(wanted["p"], rel=1e-9)
    assert (have.df_num, have.df_den) == (11, 121)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_unbalanced_verdict_leans_on_satterthwaite(note: str) -> None:
    have = found(note, "full30")
    assert "Satterthwaite" in have.sample_effect.method
    check_effect(have.sample_effect, REFERENCE[note]["full30"])


def test_zero_interaction_gives_two_f_and_says_which() -> None:
    """Balanced potato: the interaction is zero in REML, and the two F differ (1.566, 1.544)."""
    have = found("potato", "balanced12")
    assert have.variance.interaction == 0.0
    assert have.variance.note is not None
    assert "zero" in have.variance.note
    assert have.sample_effect.f == pytest.approx(1.56642448785, rel=1e-9)
    assert have.sample_effect_reml.f == pytest.approx(1.54366394237, rel=NEAR)
    assert have.sample_effect_reml.df_den == pytest.approx(265.0, rel=NEAR_DF)


@pytest.mark.parametrize("part", ["balanced12", "full30"])
@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_sample_means_and_their_errors(note: str, part: str) -> None:
    """emmeans: estimated means, their standard errors and Satterthwaite degrees of freedom."""
    wanted = REFERENCE[note][part]["first_mean"]
    first = found(note, part).means[0]
    assert first.sample == wanted["sample"]
    assert first.mean == pytest.approx(wanted["mean"], rel=NEAR)
    assert first.se == pytest.approx(wanted["se"], rel=NEAR)
    scores = french_fries(weeks=4 if part == "balanced12" else 10)
    layout = ScoreLayout.of(scores[scores["descriptor"] == note])
    fixed = np.eye(layout.n_samples)[layout.sample]
    factors = {"assessor": layout.assessor, "interaction": layout.cell}
    fit = fit_reml(CrossedDesign(fixed, factors), layout.score)
    assert satterthwaite_f(fit, fixed[:1]).df_den == pytest.approx(wanted["df"], rel=NEAR_DF)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_scaling_model(note: str) -> None:
    wanted, have = REFERENCE[note]["scaling"], found(note, "balanced12").scaling
    assert have.f_scaling == pytest.approx(wanted["f_scaling"], rel=1e-9)
    assert have.f_sample == pytest.approx(wanted["f_sample"], rel=1e-9)
    assert have.p_sample == pytest.approx(wanted["p_sample"], rel=1e-8)
    for assessor, other in REFERENCE[note]["others"].items():
        assert have.slopes[assessor] == pytest.approx(other["slope_on_panel"], rel=1e-8)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_correlation_with_the_mean_of_the_others(note: str) -> None:
    by_name = {part.assessor: part for part in assessed(4).assessors}
    for assessor, other in REFERENCE[note]["others"].items():
        (have,) = [part for part in by_name[assessor].notes if part.descriptor == note]
        if other["r"] is None:
            assert have.correlation is None
        else:
            assert have.correlation == pytest.approx(other["r"], rel=1e-8)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_intraclass_correlations_with_intervals(note: str) -> None:
    have = found(note, "balanced12")
    assert have.icc is not None
    assert have.icc_bounds is not None
    for form, (value, low, high) in REFERENCE[note]["icc"].items():
        assert have.icc[form] == pytest.approx(value, rel=NEAR)
        assert have.icc_bounds[form] == pytest.approx((low, high), rel=NEAR)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_concordance(note: str) -> None:
    wanted, have = REFERENCE[note]["kendall"], found(note, "balanced12")
    assert have.kendall_w == pytest.approx(wanted["W_tie_corrected"], rel=1e-9)
    assert have.friedman is not None
    assert have.friedman.chi2 == pytest.approx(wanted["chi2"], rel=1e-9)
    assert have.friedman.p == pytest.approx(wanted["p"], rel=1e-8)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_four_crossed_factors(note: str) -> None:
    """``y ~ treatment + (1|subject) + (1|subject:treatment) + (1|week) + (1|subject:week)``."""
    wanted = REFERENCE[note]["session_terms"]
    frame = french_fries_weeks().dropna(subset=[note])
    treatment, subject, week = (
        np.unique(frame[name].astype(int), return_inverse=True)[1]
        for name in ("treatment", "subject", "time")
    )
    factors = {
        "subject": subject,
        "subject:treatment": np.unique(subject * 100 + treatment, return_inverse=True)[1],
        "time": week,
        "subject:time": np.unique(subject * 100 + week, return_inverse=True)[1],
    }
    design = CrossedDesign(np.eye(3)[treatment], factors)
    fit = fit_reml(design, frame[note].to_numpy(dtype=float))
    assert design.n == wanted["n"]
    assert fit.log_likelihood == pytest.approx(wanted["REML_logLik"], abs=1e-6)
    for name, component in wanted["varcomp"].items():
        value = fit.residual if name == "Residual" else fit.components[name]
        close_component(value, component, wanted["varcomp"]["Residual"])
