"""Indices of one descriptor that stand beside its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..indices.agree import Concordance, IccForm, concordance, intraclass
from ..indices.incomplete import RankTest, consistency, rank_test
from ..indices.layout import ScoreLayout
from ..indices.scaling import mixed_assessor_model
from .figure_values import ScalingFigures


@dataclass(frozen=True)
class Unbalanced:
    """Indices that need no complete table; None where the table is complete."""

    icc: Mapping[str, float] | None = None
    order: RankTest | None = None


def agreement_indices(
    layout: ScoreLayout, reason: str | None
) -> tuple[Mapping[str, IccForm] | None, str | None, Concordance | None, str | None]:
    """Agreement indices on the assessors who scored every sample."""
    if reason:
        return None, reason, None, reason
    whole = np.flatnonzero(np.all(layout.counts > 0, axis=1))
    table = layout.means[whole].T
    if table.shape[1] < 2:
        why = f"fewer than two assessors scored every sample; {_BESIDE}"
        return None, why, None, why
    note = None
    if len(whole) < layout.n_assessors:
        who = f"{len(whole)} of {layout.n_assessors} assessors"
        note = f"on the {who} who scored every sample; {_BESIDE}"
    icc, order = intraclass(table), concordance(table)
    icc_note = note if icc else "no variation between samples, or none within them"
    return icc, icc_note, order, note if order else "every assessor tied all samples"


_BESIDE = "the one beside it takes all of them"


def unbalanced_indices(layout: ScoreLayout, reason: str | None) -> Unbalanced:
    """Indices of a table with holes; none where it is complete."""
    if reason or layout.complete:
        return Unbalanced()
    return Unbalanced(icc=consistency(layout.means.T), order=rank_test(layout.means.T))


def scaling_figures(layout: ScoreLayout, reason: str | None) -> ScalingFigures:
    """How wide a line each uses, by the mixed assessor model; or why that is not known."""
    found = reason or mixed_assessor_model(layout)
    if isinstance(found, str):
        return ScalingFigures(reason=found)
    own = found.own_disagreement or ()
    return ScalingFigures(
        f_sample=found.sample.f,
        p_sample=found.sample.p,
        f_scaling=found.scaling.f,
        p_scaling=found.scaling.p,
        f_disagreement=found.disagreement.f if found.disagreement else None,
        p_disagreement=found.disagreement.p if found.disagreement else None,
        slopes=dict(zip(layout.assessors, found.slopes.tolist(), strict=True)),
        disagreement_by_assessor={
            name: part.f for name, part in zip(layout.assessors, own, strict=False)
        },
        reason=None
        if found.disagreement
        else "no replicates: disagreement has no error to test by",
    )
