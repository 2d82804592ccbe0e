"""The figures of one descriptor, before anything is said of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ...digits import in_digits
from ...errors import FitError
from ..indices.additive import additive
from ..indices.agree import Concordance, IccForm
from ..indices.anova import cell_means_f, two_way_mixed
from ..indices.crossed import CrossedDesign
from ..indices.distributions import f_upper
from ..indices.layout import ScoreLayout
from ..indices.permute import permutation_p
from ..indices.reliability import Reliability, panel_reliability
from ..indices.reml import CrossedFit, fit_reml
from ..indices.satterthwaite import (
    FixedTest,
    satterthwaite_f,
    successive_contrasts,
)
from ..settings import AgreementSettings
from .figure_values import (
    SampleEffect,
    SampleMean,
    ScalingFigures,
    Variance,
)
from .figures_beside import (
    Unbalanced,
    agreement_indices,
    scaling_figures,
    unbalanced_indices,
)
from .serving import NoteOrder

BALANCED = "balanced mixed analysis of variance, sample over assessor by sample"
REML = "REML, Satterthwaite degrees of freedom"
CELL_MEANS = "mixed analysis of variance on assessor by sample means (REML interaction is zero)"
NO_FIT = "not computed"
_EXACT = "all assessors gave exactly the same differences: there is no noise to weigh by"


@dataclass(frozen=True)
class Figures:
    """Figures of one descriptor, on the scale the scores were given on."""

    layout: ScoreLayout
    effect: SampleEffect
    effect_reml: SampleEffect
    variance: Variance
    means: tuple[SampleMean, ...]
    seen_difference: float | None
    permutation_p: float | None
    reliability: Reliability | None
    icc: Mapping[str, IccForm] | None
    icc_note: str | None
    concordance: Concordance | None
    kendall_note: str | None
    unbalanced: Unbalanced
    scaling: ScalingFigures

    @property
    def one_mind(self) -> bool:
        """Whether every assessor gave the samples exactly the same differences."""
        return self.layout.n_assessors > 1 and additive(self.layout.means).exact

    @property
    def span(self) -> float | None:
        """Distance between the lowest and the highest sample mean."""
        if self.one_mind:
            return float(np.ptp(additive(self.layout.means).columns))
        values = [part.mean for part in self.means]
        return max(values) - min(values) if len(values) > 1 else None


def descriptor_figures(
    layout: ScoreLayout, settings: AgreementSettings, seed: int, order: NoteOrder | None = None
) -> Figures:
    """Compute all figures of one descriptor of one session.

    `layout` holds the scores with the order of serving taken out, `order` how much of it is not
    known.
    """
    reason = _unfit(layout)
    fit, fit_reason = (None, reason) if reason else _mixed_model(layout)
    reml = _reml_effect(layout, fit, fit_reason)
    effect = _beside_order(_effect(layout, fit, reml, reason), order)
    icc, icc_note, concordant, kendall_note = agreement_indices(layout, reason)
    return Figures(
        layout=layout,
        effect=effect,
        effect_reml=_beside_order(reml, order),
        variance=_variance(layout, fit, fit_reason),
        means=_means(layout, fit, order),
        seen_difference=_wider(
            _seen_difference(layout, fit, settings.power_multiple, reason), order, settings
        ),
        permutation_p=None
        if reason
        else permutation_p(layout, permutations=settings.permutations, seed=seed),
        reliability=None
        if effect.f is None
        else panel_reliability(layout, effect.f, bootstraps=settings.bootstraps, seed=seed),
        icc=icc,
        icc_note=icc_note,
        concordance=concordant,
        kendall_note=kendall_note,
        unbalanced=unbalanced_indices(layout, reason),
        scaling=scaling_figures(layout, reason),
    )


def _unfit(layout: ScoreLayout) -> str | None:
    """Why nothing can be compared on this descriptor, in words."""
    if layout.n_assessors < 2:
        return f"only {layout.assessors[0]} scored it"
    if layout.n_samples < 2:
        return f"only sample {layout.samples[0]} was scored"
    if layout.constant:
        return f"every score is the same ({in_digits(layout.score[0], 'g')})"
    return None


def _mixed_model(layout: ScoreLayout) -> tuple[CrossedFit | None, str | None]:
    """Fit sample fixed, assessor and assessor by sample random."""
    shared = layout.n_cells - layout.n_samples
    if shared <= 0 or layout.free_assessors <= 0:
        return None, "no two assessors share a sample"
    interaction = layout.replicated and shared > layout.free_assessors
    design = _design(layout.assessor.tobytes(), layout.sample.tobytes(), interaction)
    try:
        return fit_reml(design, layout.score, start=_start(layout)), None
    except FitError as error:
        return None, _clause(error)


def _clause(error: FitError) -> str:
    """What went wrong, to stand within a sentence."""
    said = str(error).rstrip(".")
    return said[:1].lower() + said[1:]


@lru_cache(maxsize=8)
def _design(assessor: bytes, sample: bytes, interaction: bool) -> CrossedDesign:
    """The design of a layout; all descriptors of a full session share one."""
    people = np.frombuffer(assessor, dtype=np.intp)
    samples = np.frombuffer(sample, dtype=np.intp)
    factors = {"assessor": people}
    if interaction:
        cells = people * (samples.max() + 1) + samples
        factors["interaction"] = np.unique(cells, return_inverse=True)[1]
    return CrossedDesign(np.eye(samples.max() + 1)[samples], factors)


def _start(layout: ScoreLayout) -> dict[str, float]:
    """Ratios of the components by mean squares: where the search ends in a balanced table."""
    k = layout.replicates
    if k is None or k < 2:
        return {}
    found = two_way_mixed(layout)
    error, between = (found.mean_square(part) for part in ("error", "interaction"))
    if error <= 0.0:
        return {}
    assessor = found.mean_square("assessor") - max(between, error)
    return {
        "interaction": max(between - error, 0.0) / (k * error),
        "assessor": max(assessor, 0.0) / (k * layout.n_samples * error),
    }


def _reml_effect(layout: ScoreLayout, fit: CrossedFit | None, reason: str | None) -> SampleEffect:
    if fit is None:
        return SampleEffect(None, None, None, None, NO_FIT, reason)
    contrasts = successive_contrasts(layout.counts.sum(axis=0))
    try:
        return _tested(satterthwaite_f(fit, contrasts), REML)
    except FitError as error:
        return SampleEffect(None, None, None, None, NO_FIT, _clause(error))


def _effect(
    layout: ScoreLayout, fit: CrossedFit | None, reml: SampleEffect, reason: str | None
) -> SampleEffect:
    """The sample effect that verdicts lean on."""
    if reason:
        return SampleEffect(None, None, None, None, NO_FIT, reason)
    if layout.replicates is not None:
        found = two_way_mixed(layout).sample
        if found is None:
            return SampleEffect(None, None, None, None, NO_FIT, _EXACT)
        return _tested(found, BALANCED)
    if reml.f is not None and fit is not None and fit.components.get("interaction") != 0.0:
        return reml
    found = cell_means_f(layout)
    if found is None:
        why = reml.reason or "too few assessors share samples to tell differences from noise"
        exact = additive(layout.means).exact
        return SampleEffect(None, None, None, None, NO_FIT, _EXACT if exact else why)
    return _tested(found, CELL_MEANS)


def _tested(found: FixedTest, method: str) -> SampleEffect:
    return SampleEffect(found.f, found.df_num, found.df_den, found.p, method)


def _variance(layout: ScoreLayout, fit: CrossedFit | None, reason: str | None) -> Variance:
    if fit is None:
        return Variance(None, None, None, None, reason)
    components = fit.components
    note = None
    if "interaction" not in components:
        why = "too few cells in common" if layout.replicated else "no replicates"
        note = (
            f"{why}: the residual holds the assessor-by-sample interaction as well, the "
            "two cannot be separated; the F over assessor by sample stands"
        )
    elif components["interaction"] == 0.0:
        note = "the interaction is estimated at zero"
    return Variance(
        assessor=components["assessor"],
        interaction=components.get("interaction"),
        residual=fit.residual,
        log_likelihood=fit.log_likelihood,
        note=note,
    )


def _means(
    layout: ScoreLayout, fit: CrossedFit | None, order: NoteOrder | None
) -> tuple[SampleMean, ...]:
    n = layout.counts.sum(axis=0).astype(int)
    if fit is None:
        sums = np.bincount(layout.sample, layout.score, minlength=layout.n_samples)
        values, errors = sums / n, [None] * layout.n_samples
    else:
        values = fit.beta
        more = 0.0 if order is None else np.diag(order.spread)
        errors = np.sqrt(np.diag(fit.beta_covariance) + more).tolist()
    return tuple(
        SampleMean(name, float(value), error, int(count))
        for name, value, error, count in zip(layout.samples, values, errors, n, strict=True)
    )


def _seen_difference(
    layout: ScoreLayout, fit: CrossedFit | None, multiple: float, reason: str | None
) -> float | None:
    """Difference between two samples that is seen four times in five.

    Balanced: ``2.8 sqrt(2 MS_interaction / (I K))``. Otherwise the mean standard error of a
    difference in the mixed model, or, where its interaction is zero, from the cell means.
    """
    if layout.constant and layout.n_assessors > 1 and layout.n_samples > 1:
        return 0.0
    if reason:
        return None
    k = layout.replicates
    if k is not None:
        noise = two_way_mixed(layout).mean_square("interaction")
        return float(multiple * np.sqrt(2.0 * noise / (layout.n_assessors * k)))
    if fit is None:
        return None
    covariance = fit.beta_covariance
    variances = np.diag(covariance)
    pairs = variances[:, None] + variances - 2.0 * covariance
    upper = np.triu_indices(layout.n_samples, 1)
    return float(multiple * np.mean(np.sqrt(np.maximum(pairs[upper], 0.0))))


def _wider(
    seen: float | None, order: NoteOrder | None, settings: AgreementSettings
) -> float | None:
    """A difference that is seen, with what is not known of the order beside the noise."""
    if seen is None or order is None:
        return seen
    more = settings.power_multiple**2 * order.mean_of_pairs
    return float(np.sqrt(seen**2 + more))


def _beside_order(effect: SampleEffect, order: NoteOrder | None) -> SampleEffect:
    """A sample effect with what is not known of the order beside the noise."""
    if effect.f is None or order is None or effect.df_num is None or effect.df_den is None:
        return effect
    f = effect.f * order.kept
    p = f_upper(f, effect.df_num, effect.df_den)
    return SampleEffect(f, effect.df_num, effect.df_den, p, effect.method)
