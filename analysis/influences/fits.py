"""Models of all descriptors: what influences and ageing both stand on."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import threadpoolctl

from ..errors import FrameError, InputError, TooLittleError
from ..profile import Profile
from ..profile.words import apart_notes, undated
from .covariates import check_draws, explainable
from .factors import Covariate
from .note_fits import NoteFit, fit_all
from .readings import read_back
from .searched import Search, search_anew
from .separate import Separation, separation
from .settings import InfluenceSettings
from .terms import plain_words

STRUCTURE = (
    *(Covariate.WOOD, Covariate.FILL, Covariate.AGE),
    *(Covariate.PHENOL, Covariate.STRENGTH, Covariate.WAREHOUSE),
)


@dataclass(frozen=True)
class Fits:
    """Models of all descriptors.

    Attributes
    ----------
    draws, readings
        Draws that can be explained, and what was read of them.
    fits
        One a descriptor that could be fitted.
    reasons
        Why the other descriptors could not.
    separation
        Which influences the draws tell apart.
    with_wood
        Previous contents that cannot be told from the wood, and count as part of it.
    left_out
        Draws not used, by reason.
    n_sessions
        Sessions behind the readings, where they are known.
    note
        What to know of how the sessions hang together; None where they do.
    """

    draws: pd.DataFrame
    readings: pd.DataFrame
    fits: tuple[NoteFit, ...]
    reasons: Mapping[str, str]
    separation: Separation
    with_wood: Mapping[str, str]
    left_out: Mapping[str, int]
    settings: InfluenceSettings
    n_sessions: int | None = None
    note: str | None = None

    def stock(self, stock: pd.DataFrame) -> pd.DataFrame:
        """Casks to be foretold as the models take them (a checked draws frame)."""
        ages = self.draws.groupby("filling")["age_when_nosed"].first()
        nosed = stock["filling"].map(ages).fillna(stock["age_years"])
        return _with_held(stock, self.with_wood).assign(age_when_nosed=nosed)


def check_descriptors(profile: Profile, descriptors: Sequence[str]) -> None:
    """Refuse a descriptor that was never scored.

    Raises
    ------
    InputError
        With the nearest names.
    """
    for name in descriptors:
        if name not in profile.descriptors:
            near = difflib.get_close_matches(name, profile.descriptors, 3, 0.5)
            hint = f" The nearest are {', '.join(near)}." if near else ""
            raise InputError(f"No session has scored {name!r}.{hint}")


def fit_profile(
    profile: Profile,
    draws: pd.DataFrame,
    *,
    descriptors: Sequence[str] | None = None,
    settings: InfluenceSettings = InfluenceSettings(),  # noqa: B008  (frozen)
    search: Search = search_anew,
) -> Fits:
    """Fit what wood, age, peat and strength do, from a profile's estimates.

    Raises
    ------
    FrameError
        With every fault of the draws frame.
    TooLittleError
        Too few casks were nosed.
    """
    readings = read_back(profile)
    try:
        fits = fit_readings(
            readings, draws, descriptors=descriptors, settings=settings, search=search
        )
    except TooLittleError as error:
        if profile.note is None:
            raise
        raise TooLittleError(f"{error} {profile.note}") from error
    common = _common_errors(profile)
    unread = set(profile.descriptors) - set(readings["descriptor"].unique())
    said = {fit.descriptor: fit.reason for fit in profile.fits}
    why = "no cask was found to differ from another on it, or it was hardly scored"
    unread &= unread if descriptors is None else set(descriptors)
    return replace(
        fits,
        reasons={**fits.reasons, **{name: said[name] or why for name in sorted(unread)}},
        left_out={**fits.left_out, **_untied(profile)},
        n_sessions=len(profile.links[0].sessions) if profile.links else None,
        fits=tuple(replace(fit, common=common.get(fit.note.descriptor, 0.0)) for fit in fits.fits),
        note=_note(profile, [fit.note.descriptor for fit in fits.fits], _undated(fits, draws)),
    )


def _undated(fits: Fits, draws: pd.DataFrame) -> int:
    """How many draws behind the models have no day, in a frame that could tell it."""
    return int(fits.draws["drawn_on"].isna().sum()) if "drawn_on" in draws.columns else 0


def _note(profile: Profile, names: Sequence[str], n_undated: int) -> str | None:
    apart = apart_notes(profile.estimates, profile.links, names)
    said = (profile.note_on(names), apart, undated(n_undated))
    return " ".join(part for part in said if part) or None


def _common_errors(profile: Profile) -> dict[str, float]:
    """Variance of the error that all samples share, by descriptor."""
    held = profile.posterior
    if held is None:
        return {}
    return dict(zip(held.descriptors, np.nan_to_num(held.common).tolist(), strict=True))


def _untied(profile: Profile) -> dict[str, int]:
    """Draws of casks that no common glass ties to the others."""
    rows = profile.estimates
    apart = rows[(rows["component"] > 0) & rows["cask"].notna()]
    tied = rows.loc[rows["component"] == 0, "sample"]
    count = int(apart.loc[~apart["sample"].isin(tied), "sample"].nunique())
    return (
        {"nosed only in sessions that share no glass with those compared": count} if count else {}
    )


def fit_readings(
    readings: pd.DataFrame,
    draws: pd.DataFrame,
    *,
    descriptors: Sequence[str] | None = None,
    settings: InfluenceSettings = InfluenceSettings(),  # noqa: B008  (frozen)
    search: Search = search_anew,
) -> Fits:
    """Fit readings of draws whose noise is known.

    Parameters
    ----------
    readings
        ``sample, descriptor, reading, noise_variance``, in points of the 0-100 line.
    draws
        See :mod:`analysis.influences.covariates`; draws without readings are ignored.
    descriptors
        Those to fit; all by default.
    settings
        See :class:`InfluenceSettings`.
    search
        What was found before, see :mod:`analysis.influences.searched`.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> casks = pd.DataFrame(
    ...     {"cask": [f"c{i}" for i in range(40)], "fill_number": 1, "fill_abv": 63.5,
    ...      "wood": ["barrel", "butt"] * 20, "age_years": rng.uniform(3, 15, 40),
    ...      "make": "Low", "phenol_ppm": 1.0}
    ... )
    >>> casks["sample"] = casks["filling"] = casks["cask"]
    >>> gift = np.where(casks["wood"] == "barrel", 40.0, 10.0)
    >>> readings = casks[["sample"]].assign(
    ...     descriptor="custard", noise_variance=4.0,
    ...     reading=5 - gift * np.expm1(-casks["age_years"] / 8) + rng.normal(0, 2, 40),
    ... )
    >>> fits = fit_readings(readings, casks)
    >>> fits.fits[0].evidence.used.value, fits.separation.inseparable
    ('casks of different ages', ())
    """
    missing = {"sample", "descriptor", "reading", "noise_variance"} - set(readings.columns)
    if missing:
        raise FrameError("readings", [f"Missing columns: {', '.join(sorted(missing))}."])
    checked = check_draws(draws)
    nosed = checked[checked["sample"].isin(readings["sample"])]
    known, left_out = explainable(nosed)
    known = plain_words(known)
    known["age_when_nosed"] = known.groupby("filling")["age_years"].transform("mean")
    _enough(known, left_out, settings)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        known, apart, with_wood = _told_apart(known, settings)
    wanted = set(readings["descriptor"].unique()) if descriptors is None else set(descriptors)
    fits, reasons = fit_all(readings, known, wanted, apart, settings, search)
    return Fits(
        draws=known,
        readings=readings[readings["sample"].isin(known["sample"])].reset_index(drop=True),
        fits=fits,
        reasons=reasons,
        separation=apart,
        with_wood=with_wood,
        left_out=left_out,
        settings=settings,
    )


def _told_apart(
    known: pd.DataFrame, settings: InfluenceSettings
) -> tuple[pd.DataFrame, Separation, dict[str, str]]:
    """Find what can be told apart; previous contents that cannot become part of the wood."""
    first = separation(known, (*STRUCTURE, Covariate.PREVIOUS), settings)
    lost = tuple(part for part in first.inseparable if part.factor is Covariate.PREVIOUS)
    usual = str(known["previous"].mode().iloc[0])
    with_wood = {part.level: usual for part in lost}
    known = _with_held(known, with_wood)
    found = separation(known, (*STRUCTURE, Covariate.PREVIOUS), settings)
    about = (Covariate.WOOD, Covariate.FILL, Covariate.AGE, Covariate.MAKE)
    makes = separation(known, about, settings)
    lost += tuple(part for part in makes.inseparable if part.factor is Covariate.MAKE)
    return known, Separation(found.condition_number, (*found.inseparable, *lost)), with_wood


def _with_held(frame: pd.DataFrame, with_wood: Mapping[str, str]) -> pd.DataFrame:
    return frame.assign(held=frame["previous"].replace(dict(with_wood)))


def _enough(known: pd.DataFrame, left_out: Mapping[str, int], settings: InfluenceSettings) -> None:
    n_casks = known["cask"].nunique()
    if n_casks >= settings.least_casks:
        return
    lost = ", ".join(f"{count} {reason}" for reason, count in left_out.items())
    because = f" Left out: {lost}." if lost else ""
    raise TooLittleError(
        f"Only {n_casks} {'cask was' if n_casks == 1 else 'casks were'} nosed of which wood, "
        f"age and make are known; to tell what they do takes {settings.least_casks} at least, "
        f"better thirty.{because} Nose casks that differ in wood, fill and age."
    )
