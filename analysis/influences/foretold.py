"""Casks that nobody nosed, as rows of the profile: foretold from wood, fill, age and peat."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from ..errors import TooLittleError
from ..profile import Profile
from .covariates import check_draws
from .fits import Fits, fit_profile
from .foretold_errors import JointForetold, joint_foretold
from .predict import foretell_remarked, never_nosed
from .searched import Search, search_anew
from .settings import InfluenceSettings

FORETOLD = "foretold"
"""Kind of a row that rests on no glass; those that were nosed are test or reference."""
COLUMNS = (
    *("sample", "cask", "filling", "kind", "drawn_on", "age_years", "descriptor", "estimate"),
    *("se", "low", "high", "raw_mean", "n_scores", "n_sessions", "last_nosed", "component"),
    "reason",
)


@dataclass(frozen=True)
class Foretold:
    """What casks never nosed are expected to be.

    Attributes
    ----------
    rows
        In the columns of a profile's `estimates`, one row a filling and descriptor: `kind` is
        "foretold", `sample` the filling itself, `n_scores` 0. Where nothing can be foretold
        `estimate` is missing and `reason` says why; beside an estimate it says what is out of
        the ordinary.
    n_casks
        Casks nosed that the foretelling rests on.
    reason
        Why nothing can be foretold of any cask; None where something can.
    remarks
        What is out of the ordinary or stands in the way, each once, in the order of the rows;
        empty where `reason` says it for all of them, in whole sentences.
    parents
        Samples that a filling was mixed from, for those foretold from their parents alone.
    joint
        The same with how the errors go together; None where that was not asked for or nothing
        is foretold.
    """

    rows: pd.DataFrame
    n_casks: int
    reason: str | None = None
    joint: JointForetold | None = None
    remarks: tuple[str, ...] = ()
    parents: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def refused(self) -> bool:
        """Whether too little was nosed to foretell anything: `reason` is then whole sentences."""
        return self.n_casks == 0

    json_keys = ("n_casks", "reason", ("parents", "from_parents"))

    def of(self, filling: str) -> pd.DataFrame:
        """Rows of one filling."""
        return self.rows[self.rows["filling"] == filling]


def foretell_casks(
    profile: Profile,
    draws: pd.DataFrame,
    stock: pd.DataFrame,
    *,
    descriptors: Sequence[str] | None = None,
    settings: InfluenceSettings = InfluenceSettings(),  # noqa: B008  (frozen)
    with_joint: bool = False,
    search: Search = search_anew,
) -> Foretold:
    """Foretell the fillings that nobody nosed from those that somebody did.

    Parameters
    ----------
    profile
        What the samples are.
    draws
        What is known of each draw, see :mod:`analysis.influences.covariates`.
    stock
        The same of fillings as they are now; those with a row in the profile are passed over.
    descriptors
        Those wanted; all of the profile by default.
    settings
        See :class:`InfluenceSettings`.
    with_joint
        Whether to reckon how the errors of the fillings go together.
    search
        What was found before, see :mod:`analysis.influences.searched`.

    Returns
    -------
    Foretold
        Scores that the standing panel would be expected to give, in points of the 0-100 line;
        `se` is that of one such cask: what the records do not tell, what is not known of wood,
        age and peat, and the error that all readings share.

    Raises
    ------
    FrameError
        With every fault of a frame.
    InputError
        The profile leans on covariates already, or a descriptor was never scored.

    Notes
    -----
    The mean and variance of the model of influences (:func:`estimate_influences`) for a cask
    whose own level and liveliness are unknown, averaged over the ways of growing and fading,
    the standard deviation widened by what casks left out were further off than it says.

    Examples
    --------
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": s, "filling": s, "replicate": r,
    ...      "descriptor": "smoke", "score": level + 2 * r}
    ...     for a in "AB" for s, level in [("x", 10), ("y", 40)] for r in (1, 2)
    ... ]
    >>> casks = pd.DataFrame({"sample": ["x", "y", "z"], "wood": "barrel", "fill_number": 1,
    ...     "age_years": 8.0, "make": "Low", "phenol_ppm": 1.0, "fill_abv": 63.5})
    >>> casks["cask"] = casks["filling"] = casks["sample"]
    >>> found = foretell_casks(estimate_profile(pd.DataFrame(rows)), casks[:2], casks)
    >>> found.rows[["cask", "kind", "n_scores"]].to_numpy().tolist(), found.reason[:24]
    ([['z', 'foretold', 0]], 'Only 2 casks were nosed ')
    """
    unknown = never_nosed(profile, check_draws(stock))
    wanted = tuple(profile.descriptors if descriptors is None else descriptors)
    try:
        fits = fit_profile(
            profile, draws, descriptors=descriptors, settings=settings, search=search
        )
    except TooLittleError as error:
        rows = _refused(unknown, dict.fromkeys(wanted, str(error)))
        return Foretold(rows[list(COLUMNS)], 0, str(error))
    told = foretell_remarked(fits, unknown)
    reasons = {name: fits.reasons[name] for name in wanted if name in fits.reasons}
    parts = [_rows(told, unknown), _refused(unknown, reasons)]
    rows = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    rows = rows.sort_values(["cask", "filling", "descriptor"], ignore_index=True)
    each = itertools.chain.from_iterable(rows["remarks"])
    return Foretold(
        rows=rows[list(COLUMNS)],
        remarks=tuple(dict.fromkeys(each)),
        n_casks=int(fits.draws["cask"].nunique()),
        reason=_nothing(fits),
        joint=joint_foretold(fits, unknown) if with_joint else None,
    )


def _nothing(fits: Fits) -> str | None:
    if fits.fits:
        return None
    return "; ".join(f"{name}: {why}" for name, why in fits.reasons.items()) or None


def _rows(told: pd.DataFrame, stock: pd.DataFrame) -> pd.DataFrame:
    """What was foretold, in the columns of a profile."""
    ages = stock.set_index("filling")["age_years"]
    rows = told.rename(columns={"note": "reason"}).assign(
        sample=told["filling"], kind=FORETOLD, age_years=told["filling"].map(ages)
    )
    return _as_profile(rows)


def _refused(stock: pd.DataFrame, reasons: Mapping[str, str]) -> pd.DataFrame:
    """Rows without figures, for every filling and each descriptor with its reason."""
    parts = [
        stock[["cask", "filling", "age_years"]].assign(
            sample=stock["filling"],
            kind=FORETOLD,
            descriptor=name,
            reason=why,
            remarks=pd.Series([(why,)] * len(stock), index=stock.index, dtype="object"),
        )
        for name, why in reasons.items()
    ]
    rows = (
        pd.concat(parts, ignore_index=True)
        if parts
        else pd.DataFrame(columns=[*COLUMNS, "remarks"])
    )
    return _as_profile(rows.assign(estimate=np.nan, se=np.nan, low=np.nan, high=np.nan))


def _as_profile(rows: pd.DataFrame) -> pd.DataFrame:
    nothing = pd.Series(pd.NaT, index=rows.index, dtype="datetime64[ns]")
    filled = rows.assign(
        drawn_on=nothing, last_nosed=nothing, raw_mean=np.nan, n_scores=0, n_sessions=0, component=0
    )
    return filled[[*COLUMNS, "remarks"]]
