"""From fits in codes to frames with names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Vector
from ..house_line import Z_95, on_the_line
from .column import Alone
from .ends import ReadAs
from .found import FoundOrNot
from .joint import join
from .links import components
from .posterior import Latent, Posterior
from .result import DescriptorFit
from .table import ABOUT_SAMPLE, NoteGlasses, ScoreTable
from .words import apart, unsettled

_COLUMNS = [
    "sample",
    *ABOUT_SAMPLE,
    "descriptor",
    "estimate",
    "se",
    "low",
    "high",
    "raw_mean",
    "n_scores",
    "n_found",
    "found_at_most",
    "n_sessions",
    "last_nosed",
    "component",
    "reason",
]
_BAND = 0.95
_LEAST_VARIANCE = 1e-12


def posterior(
    table: ScoreTable, parts: Sequence[NoteGlasses], alone: Sequence[Alone], *, joint: bool
) -> Posterior:
    """Join the descriptors; where there is nothing to join, each keeps its own."""
    shape = (len(table.samples), len(table.descriptors))
    single = _spread(parts, [a.estimate for a in alone], shape)
    fixed = _spread(parts, [a.fixed for a in alone], shape)
    own = _spread(parts, [a.variance - a.common for a in alone], shape)
    told = _spread(parts, [a.told for a in alone], shape)
    noise = _spread(parts, [a.noise for a in alone], shape)
    common = np.array([a.common for a in alone])
    each = np.arange(shape[1])
    covariance = np.zeros((*shape, shape[1]))
    covariance[:, each, each] = np.maximum(own, _LEAST_VARIANCE)
    between = np.diag([a.between for a in alone])
    heard = [k for k, a in enumerate(alone) if np.isfinite(a.told).any()]
    order = _spread_order(parts, alone, shape)
    share = 1.0
    if joint and len(heard) > 1:
        prior = np.array([alone[k].between for k in heard])
        found = join(told[:, heard], noise[:, heard], prior)
        scored = ~np.isnan(told[:, heard])
        known = [1.0 / (1.0 + noise[:, k] / (alone[k].inflation * alone[k].between)) for k in heard]
        order[:, heard] *= np.where(scored, found.own / np.transpose(known), 0.0)[:, :, None]
        single[:, heard] = np.where(scored, fixed[:, heard] + found.mean, np.nan)
        pairs = np.ix_(np.array(heard), np.array(heard))
        covariance[:, pairs[0], pairs[1]] = found.covariance
        between[pairs] = found.between
        share = found.share
    order = _within(order, np.diagonal(covariance, axis1=1, axis2=2))
    rows, lines = [part.sample_ids for part in parts], [a.line for a in alone]
    latent = Latent(single, covariance, common, between, order, rows, lines)
    fixed[:, [k for k, a in enumerate(alone) if a.reading is not ReadAs.AS_WRITTEN]] = np.nan
    return _on_line(table, alone, latent, share, fixed)


def _spread_order(
    parts: Sequence[NoteGlasses], alone: Sequence[Alone], shape: tuple[int, int]
) -> Matrix:
    """Errors that the samples share through what the order does; 0 where it has no term."""
    found = np.zeros((*shape, max((a.order.shape[1] for a in alone), default=0)))
    for k, (part, one) in enumerate(zip(parts, alone, strict=True)):
        if one.order.shape[1]:
            found[part.sample_ids, k] = one.order
    return found


def _within(order: Matrix, variance: Matrix) -> Matrix:
    """No more of an error is shared than there is of it."""
    shared = np.sum(order**2, axis=2)
    most = np.sqrt(np.minimum(variance / np.maximum(shared, _LEAST_VARIANCE), 1.0))
    found: Matrix = order * most[:, :, None]
    return found


def _on_line(
    table: ScoreTable, alone: Sequence[Alone], latent: Latent, share: float, foretold: Matrix
) -> Posterior:
    """The posterior of what the panel would be expected to score.

    Where scores at an end were read as beyond it, what was estimated is latent: covariances go
    with the sd that it has on the line, what the samples share with its mean.
    """
    mean, covariance = latent.mean.copy(), latent.covariance.copy()
    common, between, order = latent.common.copy(), latent.between.copy(), latent.order.copy()
    for k in [k for k, found in enumerate(alone) if found.reading is ReadAs.BELOW]:
        ids = latent.rows[k]
        z, sd = latent.mean[ids, k], latent.sd(k)[ids]
        mean[ids, k], on_line = latent.on_line(k)
        factor = np.ones(len(mean))
        factor[ids] = on_line / sd
        covariance[:, k, :] *= factor[:, None]
        covariance[:, :, k] *= factor[:, None]
        order[:, k] *= factor[:, None]
        common[k] *= float(np.mean(factor[ids])) ** 2
        covariance[ids, k, k] = np.maximum(on_line**2 - common[k], _LEAST_VARIANCE)
        spread = (np.var(mean[ids, k]) + np.mean(on_line**2)) / (np.var(z) + np.mean(sd**2))
        between[k, :] *= np.sqrt(spread)
        between[:, k] *= np.sqrt(spread)
    return Posterior(
        samples=tuple(table.samples.tolist()),
        descriptors=tuple(table.descriptors.tolist()),
        mean=mean,
        covariance=covariance,
        common=common,
        between=between,
        share=share,
        order=order,
        latent=latent,
        foretold=foretold,
    )


def _spread(
    parts: Sequence[NoteGlasses], columns: Sequence[Vector], shape: tuple[int, int]
) -> Matrix:
    """One column a descriptor over all samples; missing where there is nothing."""
    found = np.full(shape, np.nan)
    for k, (part, column) in enumerate(zip(parts, columns, strict=True)):
        if len(column):
            found[part.sample_ids, k] = column
    return found


def estimate_frame(
    table: ScoreTable,
    parts: Sequence[NoteGlasses],
    alone: Sequence[Alone],
    joint: Posterior,
    about: pd.DataFrame,
) -> pd.DataFrame:
    """One row a sample and descriptor."""
    rows = [
        _estimates(table, k, part, found, joint)
        for k, (part, found) in enumerate(zip(parts, alone, strict=True))
    ]
    frame = pd.concat(rows, ignore_index=True).merge(about, on="sample", how="left")
    return frame.sort_values(["sample", "descriptor"], ignore_index=True)[_COLUMNS]


def _estimates(
    table: ScoreTable, k: int, part: NoteGlasses, found: Alone, joint: Posterior
) -> pd.DataFrame:
    ids = part.sample_ids
    component = components(*part.visits)[1]
    reason = reason_of(table, part, found)
    estimate, se, low, high = _numbers(k, part, found, joint)
    counted = found.line if isinstance(found.line, FoundOrNot) else None
    return pd.DataFrame(
        {
            "sample": table.samples[ids].astype(str),
            "descriptor": str(table.descriptors[k]),
            "estimate": on_the_line(estimate),
            "se": se,
            "low": low,
            "high": high,
            "raw_mean": part.raw_mean,
            "n_scores": part.n_scores,
            "n_found": part.n_found,
            "found_at_most": np.nan if counted is None else counted.at_most,
            "n_sessions": part.n_sessions,
            "component": component,
            "reason": [reason or apart(one) for one in component],
        }
    )


def _numbers(k: int, part: NoteGlasses, found: Alone, joint: Posterior) -> tuple[Vector, ...]:
    """Estimate, standard error, and the band that holds the truth 95 times in 100."""
    ids, y = part.sample_ids, part.y
    if found.reason is None and joint.latent is not None:
        return *joint.latent.on_line(k), *joint.latent.band(k, _BAND)
    constant = float(y[0]) if np.ptp(y) == 0.0 else np.nan
    unknown = np.full(len(ids), np.nan)
    return np.full(len(ids), constant), unknown, unknown, unknown


def reason_of(table: ScoreTable, part: NoteGlasses, found: Alone) -> str | None:
    """Why a descriptor has no fit."""
    if found.reason is None or found.rounds == 0:
        return found.reason
    of_one = part.glasses.assessor == found.moving
    name = None if found.moving is None else str(table.assessors[part.assessor_ids[found.moving]])
    return unsettled(found.reason, name, part.y[of_one])


def descriptor_fit(
    table: ScoreTable,
    k: int,
    part: NoteGlasses,
    panel: Codes,
    found: Alone,
    covariates: Sequence[str],
) -> DescriptorFit:
    """The fit of one descriptor with names."""
    names = table.assessors[part.assessor_ids]
    now = found.parameters
    values: Mapping[str, Mapping[str, float]] = {}
    if now is not None:
        values = {
            key: dict(zip(names.tolist(), vector.tolist(), strict=True))
            for key, vector in (("scale", now.scale), ("noise", now.noise), ("spread", now.spread))
        }
    return DescriptorFit(
        descriptor=str(table.descriptors[k]),
        n_scores=len(part.y),
        variances=found.variances,
        residual=now.squares if now else None,
        log_likelihood=found.log_likelihood,
        left_out=found.left_out,
        panel=tuple(names[panel].tolist()),
        reason=reason_of(table, part, found),
        between=found.signal,
        reliability=found.reliability,
        inflation=found.inflation if now else None,
        rounds=found.rounds,
        reading=found.reading,
        reading_reason=found.reading_reason,
        slips=found.slips,
        scale=values.get("scale", {}),
        noise=values.get("noise", {}),
        spread=values.get("spread", {}),
        level_edges=tuple(now.level_edges.tolist()) if now else (),
        level_noise=tuple(now.level_noise.tolist()) if now else (),
        effects=dict(zip(covariates, found.gamma.tolist(), strict=False)),
        effects_covariance=tuple(tuple(row) for row in found.gamma_covariance.tolist()),
        order=found.order_effect,
        order_se=found.order_se,
    )


def assessor_frame(
    table: ScoreTable, parts: Sequence[NoteGlasses], alone: Sequence[Alone], panels: Sequence[Codes]
) -> pd.DataFrame:
    """One row an assessor and descriptor."""
    rows = [
        _assessors(table, k, part, found, panel)
        for k, (part, found, panel) in enumerate(zip(parts, alone, panels, strict=True))
    ]
    frame = pd.concat(rows, ignore_index=True)
    return frame.sort_values(["assessor", "descriptor"], ignore_index=True)


def _assessors(
    table: ScoreTable, k: int, part: NoteGlasses, found: Alone, panel: Codes
) -> pd.DataFrame:
    names = table.assessors[part.assessor_ids].astype(str)
    n = len(names)
    frame = pd.DataFrame(
        {
            "assessor": names,
            "descriptor": str(table.descriptors[k]),
            "in_panel": np.isin(np.arange(n), panel),
            "n_scores": np.bincount(part.glasses.assessor, minlength=n),
        }
    )
    p = found.people
    missing = np.full(n, np.nan)
    half = missing if p is None else Z_95 * p.scale_se
    scale = missing if p is None else p.scale
    return frame.assign(
        offset=missing if p is None else p.offset,
        offset_se=missing if p is None else p.offset_se,
        scale=scale,
        scale_low=scale - half,
        scale_high=scale + half,
        noise=missing if p is None else p.noise,
        noise_low=missing if p is None else p.noise_low,
        noise_high=missing if p is None else p.noise_high,
        signal_share=missing if p is None else p.signal_share,
        p_flat=missing if p is None else p.flat,
        p_reversed=missing if p is None else p.reversed_,
    )
