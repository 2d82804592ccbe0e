"""Casks that nobody nosed, filled from casks that somebody did: foretold by mixing the parents.

Wood, fill and age say nothing of spirit that lay in more than one wood. What its parents were
like does, as far as the rule of mixing holds; what the new wood has done since is not in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ..array_types import Floats
from ..digits import in_digits
from ..influences import Foretold
from ..influences.foretold import COLUMNS, FORETOLD
from ..influences.foretold_errors import JointForetold
from ..profile import Profile
from ..profile.latest import latest_draws
from .mixing import MixingRule, how_mixed

STILL_STANDS_YEARS = 1.0
"""So long in its new wood a cask counts as what its parents were; after that it says so beside
the figures and does not go into a vatting. A house default: nobody measured it."""
NORMAL_95 = 1.96


@dataclass(frozen=True)
class _Parent:
    """The latest draw of a parent: points and covariance of its own error, by descriptor."""

    sample: str
    points: Floats
    own: Floats


def with_parents(
    foretold: Foretold,
    profile: Profile,
    given: pd.DataFrame,
    rule: MixingRule,
    *,
    descriptors: Sequence[str] | None = None,
) -> Foretold:
    """Fill in the fillings that were foretold as nothing, but whose parents were all nosed.

    Parameters
    ----------
    foretold
        Casks never nosed, as :func:`analysis.influences.foretell_casks` has them.
    profile
        What was nosed.
    given
        One row a parent: `filling, parent, lpa, years_since` (in the new wood).
    rule
        How notes mix.
    descriptors
        Those wanted; all of the profile by default.

    Returns
    -------
    Foretold
        The same with figures for these fillings; `parents` names the samples they rest on.
        `se` holds the parents' errors, weighed by what each gave, and the error of the rule.
    """
    names = tuple(profile.descriptors if descriptors is None else descriptors)
    told = set(foretold.rows.loc[foretold.rows["estimate"].notna(), "filling"])
    rows = foretold.rows.drop_duplicates("filling").set_index("filling")
    mixed: dict[str, _Mixed] = {}
    for filling, parts in given.groupby("filling", sort=True):
        if str(filling) in rows.index and str(filling) not in told:
            found = _mix(profile, parts, rule, names)
            if found is not None:
                mixed[str(filling)] = found
    if not mixed:
        return foretold
    new = [_rows(name, rows.loc[[name]].iloc[0], each, names) for name, each in mixed.items()]
    kept = foretold.rows[~foretold.rows["filling"].isin(list(mixed))]
    all_rows = pd.concat([part for part in (kept, *new) if len(part)], ignore_index=True)
    return replace(
        foretold,
        rows=all_rows.sort_values(["cask", "filling", "descriptor"], ignore_index=True),
        joint=_joint(foretold.joint, mixed, names),
        parents={name: each.samples for name, each in mixed.items()},
    )


@dataclass(frozen=True)
class _Mixed:
    """What the parents of one filling come to; `common` is what all readings share."""

    samples: tuple[str, ...]
    points: Floats
    own: Floats
    common: Floats
    years_since: float


def _mix(
    profile: Profile, parts: pd.DataFrame, rule: MixingRule, names: Sequence[str]
) -> _Mixed | None:
    """Mix the parents of a filling by pure alcohol; None where one of them is not known."""
    parents = [_parent(profile, str(name), names) for name in parts["parent"]]
    lpa = parts["lpa"].to_numpy(dtype=np.float64)
    known = [parent for parent in parents if parent is not None]
    if len(known) < len(parents) or not lpa.sum() > 0.0:
        return None
    shares = lpa / lpa.sum()
    power = 1.0 / rule.exponents_of(names)
    gain = rule.gains_of(names) ** how_mixed(shares)
    points = np.clip(np.array([parent.points for parent in known]), 0.0, 100.0)
    amount = shares @ points**power
    mixed = np.minimum(gain * amount ** (1.0 / power), 100.0)
    slopes = _slopes(points, amount, shares, power, gain)
    own = sum(np.outer(s, s) * parent.own for s, parent in zip(slopes, known, strict=True))
    held = profile.posterior
    common = np.zeros(len(names)) if held is None else held.shared(names)
    return _Mixed(
        tuple(parent.sample for parent in known),
        mixed,
        own + np.diag(rule.sd_of(names, shares) ** 2),
        slopes.sum(axis=0) ** 2 * common,
        float(parts["years_since"].max()),
    )


def _slopes(
    points: Floats, amount: Floats, shares: Floats, power: Floats, gain: Floats
) -> NDArray[np.float64]:
    """How much the mixture moves with each parent's score; never more than by all of it."""
    least = np.maximum(amount, 1e-9)
    rise = gain * shares[:, None] * np.maximum(points, 1e-9) ** (power - 1.0)
    found: NDArray[np.float64] = np.minimum(rise * least ** (1.0 / power - 1.0), gain)
    return found


def _parent(profile: Profile, filling: str, names: Sequence[str]) -> _Parent | None:
    mine = profile.estimates[profile.estimates["filling"].astype("str") == filling]
    # Parents of evenings that share no glass cannot be mixed on one footing.
    mine = mine[mine["estimate"].notna() & mine["se"].notna() & (mine["component"] == 0)]
    if mine.empty:
        return None
    sample = str(latest_draws(mine)["sample"].iloc[-1])
    rows = mine[mine["sample"] == sample].set_index("descriptor").reindex(list(names))
    points = rows["estimate"].to_numpy(dtype=np.float64)
    se = rows["se"].to_numpy(dtype=np.float64)
    if np.isnan(points).any() or np.isnan(se).any():
        return None
    held = profile.posterior
    if held is None or sample not in held.samples:
        return _Parent(sample, points, np.diag(se**2))
    mean, covariance = held.part([sample], names)
    own = covariance[0] - np.diag(np.minimum(held.shared(names), np.diag(covariance[0])))
    return _Parent(sample, mean[0], own)


def _rows(filling: str, row: pd.Series, mixed: _Mixed, names: Sequence[str]) -> pd.DataFrame:
    """One filling in the columns of a profile."""
    se = np.sqrt(np.diag(mixed.own) + mixed.common)
    long = mixed.years_since > STILL_STANDS_YEARS
    reason = (
        (f"{in_digits(mixed.years_since, '.1f')} years in its new wood are not in these figures")
        if long
        else None
    )
    return pd.DataFrame(
        {
            **{"sample": filling, "cask": row["cask"], "filling": filling, "kind": FORETOLD},
            **{"drawn_on": pd.NaT, "age_years": row["age_years"], "descriptor": list(names)},
            **{"estimate": mixed.points, "se": se},
            "low": np.clip(mixed.points - NORMAL_95 * se, 0.0, 100.0),
            "high": np.clip(mixed.points + NORMAL_95 * se, 0.0, 100.0),
            **{"raw_mean": np.nan, "n_scores": 0, "n_sessions": 0, "last_nosed": pd.NaT},
            **{"component": 0, "reason": reason},
        }
    )[list(COLUMNS)]


def _joint(
    joint: JointForetold | None, mixed: Mapping[str, _Mixed], names: Sequence[str]
) -> JointForetold | None:
    """The mixed fillings beside the others; they share no coefficients with those."""
    fresh = JointForetold(
        tuple(mixed),
        tuple(names),
        np.array([each.points for each in mixed.values()]),
        np.array([each.own for each in mixed.values()]),
        np.zeros((len(mixed), len(names), 0)),
    )
    if joint is None:
        return fresh
    of = [list(names).index(name) for name in joint.descriptors]
    old = [i for i, name in enumerate(joint.fillings) if name not in mixed]
    sources = joint.shared.shape[2]
    return JointForetold(
        (*(joint.fillings[i] for i in old), *fresh.fillings),
        joint.descriptors,
        np.concatenate([joint.mean[old], fresh.mean[:, of]]),
        np.concatenate([joint.own[old], fresh.own[np.ix_(range(len(mixed)), of, of)]]),
        np.concatenate([joint.shared[old], np.zeros((len(mixed), len(of), sources))]),
    )
