"""One nosed sample beside a target, such as the bench blend of a release: is it what was meant?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import scipy.special

from ..as_json import AsJson
from ..profile.result import Profile
from .candidates import errors_of
from .chance import chance_within
from .target import Target, TargetLine

OUT_RATE = 0.05
"""So often, at most, a sample within all its tolerances is said to be out on some line."""
_TOLD = 3


@dataclass(frozen=True)
class NosedLine:
    """What was nosed on one line of a target.

    Attributes
    ----------
    estimate, se
        As the panel found it, and its standard error; None where it was not scored.
    probability
        Chance that it is within the tolerance.
    is_out
        Whether it lies outside by more than the panel may err, all lines looked at.
    """

    descriptor: str
    aim: float
    tolerance: float
    estimate: float | None
    se: float | None
    probability: float | None
    is_out: bool


@dataclass(frozen=True)
class SampleNosed(AsJson):
    """A sample against a target.

    Attributes
    ----------
    probability
        Chance that every line is within tolerance; None with `reason` where a line was not
        scored or cannot be compared.
    """

    sample: str
    lines: tuple[NosedLine, ...]
    probability: float | None
    reason: str | None

    @property
    def out(self) -> tuple[NosedLine, ...]:
        """The lines that it is out on."""
        return tuple(line for line in self.lines if line.is_out)


def sample_against(profile: Profile, sample: str, target: Target) -> SampleNosed:
    """Hold what was nosed of one sample against a target.

    Parameters
    ----------
    profile
        What was nosed; the sample need not be of a cask.
    sample
        Its label.
    target
        Aims and tolerances.

    Returns
    -------
    SampleNosed

    Notes
    -----
    The chance is that of the joint normal of the estimates to lie within every tolerance, as in
    :func:`analysis.target.match_casks`. A line is out where its estimate lies beyond the tolerance
    by more than z standard errors, z the normal quantile of 1 - .05 / lines: a sample that is
    within all its tolerances is called out on none of them in 95 cases of 100 or more.

    Examples
    --------
    >>> import pandas as pd
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": None, "replicate": r,
    ...      "descriptor": "smoke", "score": level + 2 * r}
    ...     for a in "ABC" for s, level in [("x", 20), ("y", 45), ("z", 70)] for r in (1, 2)
    ... ]
    >>> profile = estimate_profile(pd.DataFrame(rows))
    >>> near, far = (Target("Fen", (TargetLine("smoke", aim, 6),)) for aim in (46, 20))
    >>> found = [sample_against(profile, "y", aim) for aim in (near, far)]
    >>> [each.probability > 0.9 for each in found], [len(each.out) for each in found]
    ([True, False], [0, 1])
    """
    rows = profile.estimates
    rows = rows[(rows["sample"] == sample) & rows["estimate"].notna() & rows["se"].notna()]
    figures = zip(rows["estimate"].astype(float), rows["se"].astype(float), strict=True)
    found = dict(zip(rows["descriptor"].astype(str), figures, strict=True))
    lines = tuple(
        _line(line, found.get(line.descriptor), len(target.lines)) for line in target.lines
    )
    unscored = [line.descriptor for line in lines if line.estimate is None]
    if unscored:
        return SampleNosed(sample, lines, None, f"{', '.join(unscored)} was not scored in it")
    elsewhere = _apart(profile, sample)
    if apart := [line.descriptor for line in lines if line.descriptor in elsewhere]:
        reason = f"{', '.join(apart)} was scored only where nothing ties it to the other sessions"
        return SampleNosed(sample, tuple(_not_judged(line) for line in lines), None, reason)
    return SampleNosed(sample, lines, _together(profile, sample, target, found), None)


def _line(line: TargetLine, found: tuple[float, float] | None, lines: int) -> NosedLine:
    if found is None:
        return NosedLine(line.descriptor, line.aim, line.tolerance, None, None, None, is_out=False)
    estimate, se = found
    low, high = _ends(line)
    spread = max(se, 1e-9)
    within = float(
        scipy.special.ndtr((high - estimate) / spread)
        - scipy.special.ndtr((low - estimate) / spread)
    )
    surely = float(scipy.special.ndtri(1.0 - OUT_RATE / lines)) * se
    is_out = estimate > high + surely or estimate < low - surely
    return NosedLine(line.descriptor, line.aim, line.tolerance, estimate, se, within, is_out=is_out)


def _apart(profile: Profile, sample: str) -> set[str]:
    """Notes of a sample that nothing ties to the part of the stock that is compared."""
    rows = profile.estimates
    mine = rows[(rows["sample"] == sample) & rows["estimate"].notna()]
    return set(mine.loc[mine["component"] > 0, "descriptor"])


def _not_judged(line: NosedLine) -> NosedLine:
    return replace(line, probability=None, is_out=False)


def _ends(line: TargetLine) -> tuple[float, float]:
    """Ends of the tolerance; one beyond an end of the line is free."""
    low, high = line.aim - line.tolerance, line.aim + line.tolerance
    return (-np.inf if low <= 0.0 else low), (np.inf if high >= 100.0 else high)


def _together(
    profile: Profile, sample: str, target: Target, found: dict[str, tuple[float, float]]
) -> float:
    names = [line.descriptor for line in target.lines]
    estimate, se = (np.array([[found[name][part] for name in names]]) for part in (0, 1))
    own, common = errors_of(profile, [sample], names, se)
    low, high = np.array([_ends(line) for line in target.lines]).T
    return float(chance_within(estimate, own + np.diag(common), low, high, _TOLD)[0])
