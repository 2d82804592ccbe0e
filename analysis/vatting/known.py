"""From a profile to the stock of a vatting: what was nosed and, on demand, what is foretold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from ..array_types import Floats, Ints
from ..influences import Foretold
from ..profile import Profile
from ..profile.latest import in_cask, latest_draws
from .stock import Stock


def latest_samples(estimates: pd.DataFrame, casks: pd.DataFrame) -> pd.DataFrame:
    """The latest draw with an estimate of each cask's current filling: `sample, cask`."""
    known = estimates[estimates["estimate"].notna() & estimates["se"].notna()]
    latest = latest_draws(known, in_cask(casks)["filling"])
    return latest.loc[latest["is_current"], ["sample", "cask"]]


def stock_from_profile(
    profile: Profile,
    casks: pd.DataFrame,
    *,
    as_of: date | None = None,
    panel_sd: Mapping[str, float] | None = None,
    foretold: Foretold | None = None,
) -> Stock:
    """Put a casks frame and what the panel found together, with the errors of both.

    Parameters
    ----------
    profile
        Samples that nothing ties to the part of the stock that is compared are left out.
    casks
        A casks frame; rows of emptied fillings are left out.
    as_of
        The date the casks frame holds for.
    panel_sd
        What the panel as a whole may be off beyond the profile's own common error, by
        descriptor; for instance what bench blends have shown.
    foretold
        Casks never nosed that may go in as well, reckoned `with_joint`. Those foretold with a
        reservation (a wood never nosed, an age beyond those nosed) stay out.

    Returns
    -------
    Stock
        Each cask with the covariance of its notes. The error that all samples share is in
        `panel_sd`: no number of casks averages it out. In `note_loadings` is what nosed casks
        share, because nobody knows better what the order of serving did to them, and what foretold
        ones do, because they lean on the same wood, age and peat.

    Examples
    --------
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": s, "filling": s, "replicate": r,
    ...      "descriptor": "smoke", "score": level + 2 * r}
    ...     for a in "AB" for s, level in [("x", 10), ("y", 40)] for r in (1, 2)
    ... ]
    >>> casks = pd.DataFrame({"cask": ["x", "y"], "filling": ["x", "y"], "age_years": 8.0,
    ...     "abv": 60.0, "bulk_l": 180.0})
    >>> stock = stock_from_profile(estimate_profile(pd.DataFrame(rows)), casks)
    >>> stock.estimate.round().ravel().tolist(), stock.covariance.shape
    ([13.0, 43.0], (2, 1, 1))
    """
    stock = _nosed(profile, in_cask(casks).reset_index(drop=True), as_of)
    common = {} if profile.posterior is None else _common(profile)
    more = panel_sd or {}
    names = {*common, *more}
    both = {name: float(np.hypot(common.get(name, 0.0), more.get(name, 0.0))) for name in names}
    stock = replace(stock, panel_sd=both)
    return stock if foretold is None else _with_foretold(stock, foretold)


def comparable(estimates: pd.DataFrame) -> pd.DataFrame:
    """Leave out what nothing ties to the part of the stock that is compared."""
    of_casks = estimates[estimates["cask"].notna() & estimates["estimate"].notna()]
    return of_casks[of_casks["component"] == 0]


def _apart(profile: Profile, casks: pd.DataFrame) -> pd.Series:
    """Whether what is in each cask was nosed in other parts of the stock only."""
    rows = profile.estimates[profile.estimates["estimate"].notna()]
    here = rows.loc[rows["component"] == 0, "filling"]
    elsewhere = rows.loc[rows["component"] > 0, "filling"]
    filling = casks["filling"]
    return filling.isin(elsewhere) & ~filling.isin(here)


def _common(profile: Profile) -> dict[str, float]:
    held = profile.posterior
    if held is None:
        return {}
    sd = np.sqrt(np.nan_to_num(held.common))
    return dict(zip(held.descriptors, sd.tolist(), strict=True))


def _nosed(profile: Profile, casks: pd.DataFrame, as_of: date | None) -> Stock:
    """The stock with what was nosed; casks without it have no figures."""
    estimates = comparable(profile.estimates)
    casks = casks.assign(is_apart=_apart(profile, casks))
    latest = latest_samples(estimates, casks).set_index("cask")["sample"]
    sample = casks["cask"].astype("str").map(latest)
    names = tuple(sorted(set(estimates["descriptor"])))
    rows = estimates[estimates["sample"].isin(latest)]
    estimate, sd = (
        rows.pivot(index="sample", columns="descriptor", values=value)
        .reindex(index=sample, columns=list(names))
        .to_numpy(dtype=np.float64, na_value=np.nan, copy=True)
        for value in ("estimate", "se")
    )
    covariance = np.nan_to_num(sd)[:, :, None] ** 2 * np.eye(len(names))
    held, shared = profile.posterior, None
    if held is not None:
        at = np.flatnonzero(sample.isin(held.samples).to_numpy())
        mean, own = held.part(sample.iloc[at].tolist(), names)
        own -= np.diag(held.shared(names))
        missing = np.isnan(estimate[at])
        served = np.where(missing[:, :, None], 0.0, held.of_order(sample.iloc[at].tolist(), names))
        own -= np.sum(served**2, axis=2)[:, :, None] * np.eye(len(names))
        shared = _for_all(served, at, len(casks))
        estimate[at] = np.where(missing, np.nan, mean)
        covariance[at] = np.where(missing[:, :, None] | missing[:, None, :], 0.0, own)
        own_sd = np.sqrt(np.maximum(np.einsum("idd->id", covariance), 0.0))
        sd[at] = np.where(missing, np.nan, own_sd[at])
    return Stock(casks, names, estimate, sd, as_of, covariance=covariance, note_loadings=shared)


def _for_all(served: Floats, at: Ints, n_casks: int) -> Floats | None:
    """Put what some casks share among all; None where it is nothing."""
    if not served.any():
        return None
    shared = np.zeros((n_casks, *served.shape[1:]))
    shared[at] = served
    return shared


def _with_foretold(stock: Stock, foretold: Foretold) -> Stock:
    """Fill in the casks that nobody nosed, in the notes that are foretold."""
    joint = foretold.joint
    flagged = stock.casks.assign(foretold=False)
    if joint is None:
        return replace(stock, casks=flagged)
    place = {name: row for row, name in enumerate(flagged["filling"].astype("str"))}
    odd = set(foretold.rows.loc[foretold.rows["reason"].notna(), "filling"])
    names = [name for name in joint.descriptors if name in stock.descriptors]
    columns, of = stock.columns_of(names), [joint.descriptors.index(name) for name in names]
    some = [i for i, name in enumerate(joint.fillings) if name in place and name not in odd]
    rows = np.array([place[joint.fillings[i]] for i in some], dtype=np.intp)
    flagged.loc[rows, "foretold"] = True
    estimate, sd = stock.estimate.copy(), stock.sd.copy()
    covariance = _own_covariance(stock)
    shared = np.zeros((*estimate.shape, joint.shared.shape[2]))
    own = joint.own[np.ix_(some, of, of)]
    estimate[np.ix_(rows, columns)] = joint.mean[np.ix_(some, of)]
    sd[np.ix_(rows, columns)] = np.sqrt(np.einsum("idd->id", own))
    covariance[np.ix_(rows, columns, columns)] = own
    shared[np.ix_(rows, columns)] = joint.shared[np.ix_(some, of)]
    if stock.note_loadings is not None:
        shared = np.concatenate([stock.note_loadings, shared], axis=2)
    return replace(
        stock,
        casks=flagged,
        estimate=estimate,
        sd=sd,
        covariance=covariance,
        note_loadings=shared,
    )


def _own_covariance(stock: Stock) -> Floats:
    if stock.covariance is not None:
        return stock.covariance.copy()
    independent: Floats = np.nan_to_num(stock.sd)[:, :, None] ** 2 * np.eye(stock.sd.shape[1])
    return independent
