"""The casks that can be ranked for a target, and those that cannot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ..array_types import Codes, Flags, Matrix
from ..errors import FrameError
from ..profile.bends import Bends, bends_of
from ..profile.latest import latest_draws
from ..profile.result import Profile
from .result import LeftOut
from .target import Target


@dataclass(frozen=True)
class Candidates:
    """Casks with an estimate on every line of the target, shape (casks, lines).

    Attributes
    ----------
    own
        Covariance of each cask's own error over the lines, shape (casks, lines, lines).
    common
        Variance of the error that all casks share on each line.
    bends
        How the casks' own errors are spread; None where they count as normal.
    as_estimated
        Estimates as the profile tells them, where the spread of the house has moved them.
    """

    about: pd.DataFrame
    estimate: Matrix
    se: Matrix
    own: Matrix
    common: Matrix
    n_scores: NDArray[np.int64]
    bends: Bends | None = None
    as_estimated: Matrix | None = None

    @property
    def told(self) -> Matrix:
        """Estimates as the profile tells them."""
        return self.estimate if self.as_estimated is None else self.as_estimated

    def only(self, rows: Codes) -> Candidates:
        """Some of the casks."""
        return replace(
            self,
            about=self.about.iloc[rows],
            estimate=self.estimate[rows],
            se=self.se[rows],
            own=self.own[rows],
            n_scores=self.n_scores[rows],
            as_estimated=self.told[rows],
            bends=None if self.bends is None else self.bends.only(rows),
        )

    def shaped(self, bends: Bends | None) -> Candidates:
        """The casks as the spread of their house has them: moved, and known as well as that."""
        if bends is None:
            return self
        moved, own = bends.shaped(self.estimate, self.own)
        se = np.sqrt(np.einsum("idd->id", own) + self.common)
        return replace(
            self, estimate=moved, se=se, own=own, bends=bends, as_estimated=self.estimate
        )

    @property
    def covariance(self) -> Matrix:
        """Covariance of each cask's whole error."""
        return self.own + np.diag(self.common)


def current_draws(
    estimates: pd.DataFrame, casks: pd.DataFrame | None
) -> tuple[pd.DataFrame, list[LeftOut]]:
    """The latest draw of each cask's current filling, and the casks whose filling is gone."""
    latest = latest_draws(estimates, None if casks is None else _fillings(casks))
    gone = latest[~latest["is_current"]]
    filled = set() if casks is None else set(casks["cask"].tolist())
    left_out = [
        LeftOut(
            cask=str(row.cask),
            sample=str(row.sample),
            reason=f"nosed as filling {row.filling}, which is no longer in it: "
            f"{'draw it again' if row.cask in filled else 'the cask is empty'}",
        )
        for row in gone.itertuples()
    ]
    return latest[latest["is_current"]].reset_index(drop=True), left_out


def _fillings(casks: pd.DataFrame) -> set[str]:
    missing = [name for name in ("cask", "filling") if name not in casks.columns]
    if missing:
        raise FrameError("casks", [f"Missing columns: {', '.join(missing)}. Add them."])
    return set(casks["filling"].astype("str").tolist())


def complete(
    profile: Profile, samples: pd.DataFrame, target: Target
) -> tuple[Candidates, list[LeftOut]]:
    """Casks with an estimate on every line, spread as the house shows, and those without."""
    names = [line.descriptor for line in target.lines]
    rows = profile.estimates
    rows = rows[rows["sample"].isin(samples["sample"]) & rows["descriptor"].isin(names)]
    wide = {
        value: rows.pivot(index="sample", columns="descriptor", values=value).reindex(
            index=samples["sample"], columns=names
        )
        for value in ("estimate", "se", "component", "n_scores", "reason")
    }
    estimate, se, part, n = (
        wide[value].to_numpy(dtype=np.float64)
        for value in ("estimate", "se", "component", "n_scores")
    )
    known = ~(np.isnan(estimate) | np.isnan(se))
    tied = part == 0.0
    usable = known.all(axis=1) & tied.all(axis=1)
    lacking = [
        LeftOut(str(row.cask), str(row.sample), _why(names, wide["reason"], position, known))
        for position, row in enumerate(samples.itertuples())
        if not usable[position]
    ]
    kept = samples[usable].reset_index(drop=True)
    counts = np.nansum(n[usable], axis=1).astype(np.int64)
    own, common = errors_of(profile, kept["sample"].tolist(), names, se[usable])
    found = Candidates(kept, estimate[usable], se[usable], own, common, counts)
    bends = bends_of(profile.posterior, samples["sample"].tolist(), names)
    spread = bends if bends is None else bends.only(np.flatnonzero(usable))
    return found.shaped(spread), lacking


def errors_of(
    profile: Profile, samples: Sequence[str], names: Sequence[str], se: Matrix
) -> tuple[Matrix, Matrix]:
    """Errors of the casks' own and what they share; their standard errors stay as given."""
    held = profile.posterior
    each = np.arange(len(names))
    own = np.zeros((len(samples), len(names), len(names)))
    own[:, each, each] = se**2
    if held is None or not set(samples) <= set(held.samples):
        return own, np.zeros(len(names))
    _, covariance = held.part(samples, names)
    common = held.shared(names)
    sd = np.sqrt(np.maximum(covariance[:, each, each], 1e-300))
    whole = covariance / (sd[:, :, None] * sd[:, None, :]) * (se[:, :, None] * se[:, None, :])
    shared = np.minimum(common, 0.99 * np.min(se**2, axis=0)) if len(samples) else common
    return whole - np.diag(shared), shared


def _why(
    names: Sequence[str],
    reasons: pd.DataFrame,
    position: int,
    known: Flags,
) -> str:
    unscored = [name for name, here in zip(names, known[position], strict=True) if not here]
    if not unscored:
        return (
            "nosed only in sessions that share no glass with those compared: pour it once more "
            "beside the reference"
        )
    row = reasons.iloc[position]
    given = [row[name] for name in unscored if isinstance(row[name], str)]
    because = f" ({given[0]})" if given else ""
    return f"no estimate of {', '.join(unscored)}{because}"
