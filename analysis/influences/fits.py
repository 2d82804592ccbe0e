"""Models of all descriptors: what influences and ageing both stand on."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import threadpoolctl

from analysis.errors import FrameError, InputError, TooLittleError
from analysis.influences.covariates import check_draws, explainable
from analysis.influences.evidence import Evidence, EvidenceFitter
from analysis.influences.layout import Codes, Vector
from analysis.influences.note_model import NoteFitter, NoteModel
from analysis.influences.power import foretold_without, with_inflation
from analysis.influences.readings import read_back
from analysis.influences.separate import Separation, separation
from analysis.influences.settings import InfluenceSettings
from analysis.influences.shape import Shape, check_shape
from analysis.influences.terms import Levels
from analysis.profile import Profile

STRUCTURE = ("wood", "fill", "age", "phenol", "strength", "warehouse")


@dataclass(frozen=True)
class NoteFit:
    """One descriptor: its model, and the draws it stands on row by row.

    `residual` is of the readings foretold without their cask. Fits of one `pattern` have the
    same draws and columns.
    """

    note: NoteModel
    draws: pd.DataFrame
    casks: Codes
    batches: Codes
    residual: Vector
    shape: Shape
    evidence: Evidence
    pattern: int

    @property
    def reading(self) -> Vector:
        """What was read of each draw."""
        return self.note.centre + self.note.models[0].y


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
    fits = fit_readings(readings, draws, descriptors=descriptors, settings=settings)
    unread = set(profile.descriptors) - set(readings["descriptor"])
    said = {fit.descriptor: fit.reason for fit in profile.fits}
    why = "no cask was found to differ from another on it, or it was hardly scored"
    unread = {name for name in unread if _wanted(name, descriptors)}
    return replace(
        fits,
        reasons={**fits.reasons, **{name: said[name] or why for name in sorted(unread)}},
        left_out={**fits.left_out, **_untied(profile)},
        n_sessions=sum(len(link.sessions) for link in profile.links),
    )


def _wanted(name: str, descriptors: Sequence[str] | None) -> bool:
    return descriptors is None or name in descriptors


def _untied(profile: Profile) -> dict[str, int]:
    """Draws of casks that no common glass ties to the others."""
    rows = profile.estimates
    apart = rows[(rows["component"] > 0) & rows["cask"].notna()]
    tied = rows.loc[rows["component"] == 0, "sample"]
    count = int(apart.loc[~apart["sample"].isin(tied), "sample"].nunique())
    return {"nosed only in sessions that share no glass with the others": count} if count else {}


def fit_readings(
    readings: pd.DataFrame,
    draws: pd.DataFrame,
    *,
    descriptors: Sequence[str] | None = None,
    settings: InfluenceSettings = InfluenceSettings(),  # noqa: B008  (frozen)
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

    Examples
    --------
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
    >>> fits.fits[0].evidence.used, fits.separation.inseparable
    ('casks of different ages', ())
    """
    missing = {"sample", "descriptor", "reading", "noise_variance"} - set(readings.columns)
    if missing:
        raise FrameError("readings", [f"Missing columns: {', '.join(sorted(missing))}."])
    checked = check_draws(draws)
    nosed = checked[checked["sample"].isin(readings["sample"])]
    known, left_out = explainable(nosed)
    known["age_when_nosed"] = known.groupby("filling")["age_years"].transform("mean")
    _enough(known, left_out, settings)
    known, apart, with_wood = _told_apart(known, settings)
    fits, reasons = _fit_all(readings, known, descriptors, apart, settings)
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
    first = separation(known, (*STRUCTURE, "previous"), settings)
    lost = tuple(part for part in first.inseparable if part.factor == "previous")
    usual = str(known["previous"].mode().iloc[0])
    with_wood = {part.level: usual for part in lost}
    known = _with_held(known, with_wood)
    found = separation(known, (*STRUCTURE, "previous"), settings)
    makes = separation(known, ("wood", "fill", "age", "make"), settings)
    lost += tuple(part for part in makes.inseparable if part.factor == "make")
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


def _fit_all(
    readings: pd.DataFrame,
    known: pd.DataFrame,
    descriptors: Sequence[str] | None,
    apart: Separation,
    settings: InfluenceSettings,
) -> tuple[tuple[NoteFit, ...], dict[str, str]]:
    """Fit every descriptor; those read of the same draws share their columns."""
    reading = _wide(readings, known, "reading")
    noise = _wide(readings, known, "noise_variance")
    grounds: dict[bytes, _Shared] = {}
    fits: list[NoteFit] = []
    reasons: dict[str, str] = {}
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        for name in sorted(set(readings["descriptor"])):
            if not _wanted(name, descriptors):
                continue
            here = reading[name].notna().to_numpy()
            n_casks = known.loc[here, "cask"].nunique()
            if n_casks < settings.least_casks:
                reasons[name] = f"scored on {n_casks} casks only: {settings.least_casks} at least"
                continue
            if here.tobytes() not in grounds:
                some = known[here].reset_index(drop=True)
                grounds[here.tobytes()] = _Shared(some, apart, settings)
            shared = grounds[here.tobytes()]
            y, r = (part[name].to_numpy(dtype=np.float64)[here] for part in (reading, noise))
            fits.append(shared.fit(name, y, r, list(grounds).index(here.tobytes())))
    return tuple(fits), reasons


class _Shared:
    """The draws that some descriptors were read of."""

    def __init__(self, draws: pd.DataFrame, apart: Separation, settings: InfluenceSettings) -> None:
        self.draws, self.settings = draws, settings
        self.age_is_lost = apart.find("age", "") is not None
        self.evidence = EvidenceFitter(draws, settings)
        self.fitters: dict[bool, NoteFitter] = {}
        self.ages = draws["age_years"].to_numpy(dtype=np.float64)
        self.casks = pd.factorize(draws["cask"])[0].astype(np.intp)
        self.batches = _joined(self.casks, pd.factorize(draws["batch"])[0].astype(np.intp))

    def fit(self, name: str, y: Vector, r: Vector, pattern: int) -> NoteFit:
        """Fit one descriptor, age read from the better evidence."""
        evidence = self.evidence.fit(name, y, r)
        vintage = evidence.prefers_again or (self.age_is_lost and evidence.again is not None)
        note = self._fitter(vintage=vintage).fit(name, y, r)
        residual, variance = foretold_without(note, self.casks)
        return NoteFit(
            note=with_inflation(note, residual, variance),
            draws=self.draws,
            casks=self.casks,
            batches=self.batches,
            residual=residual,
            shape=check_shape(self.ages, residual, variance),
            evidence=evidence,
            pattern=2 * pattern + int(vintage),
        )

    def _fitter(self, *, vintage: bool) -> NoteFitter:
        if vintage not in self.fitters:
            levels = Levels.of(self.draws, vintage=vintage)
            self.fitters[vintage] = NoteFitter(self.draws, levels, self.settings)
        return self.fitters[vintage]


def _wide(readings: pd.DataFrame, known: pd.DataFrame, value: str) -> pd.DataFrame:
    wide = readings.pivot(index="sample", columns="descriptor", values=value)
    return wide.reindex(known["sample"])


def _joined(casks: Codes, batches: Codes) -> Codes:
    """Batches in whole casks: those that share a cask (refilled) count as one."""
    joined = batches.copy()
    for cask in np.flatnonzero(np.bincount(casks) > 1):
        mine = np.unique(joined[casks == cask])
        joined[np.isin(joined, mine)] = mine[0]
    return np.unique(joined, return_inverse=True)[1].astype(np.intp)
