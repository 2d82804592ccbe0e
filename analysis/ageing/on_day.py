"""What the panel found in each cask, moved to a day: the one home of notes as of a day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
import pandas as pd
import threadpoolctl

from ..array_types import Matrix, Vector
from ..days import DAYS_A_YEAR
from ..errors import TooLittleError
from ..influences import Fits, fit_profile
from ..influences.covariates import check_draws
from ..influences.searched import Search, search_anew
from ..profile import Profile
from ..profile.latest import latest_draws
from .cover import Cover
from .learning import draws_to_learn_from
from .moved_profile import moved_profile
from .moves import Base, Moves
from .settings import AgeingSettings

_MIDDLE_YEARS = 10.0
_SAME_DAY_YEARS = 2.5 / DAYS_A_YEAR


@dataclass(frozen=True)
class Moved:
    """How one cask's notes came to a day.

    Attributes
    ----------
    sample, drawn_on
        The draw that was nosed, and when it was drawn: the day it was nosed where that is not
        on record.
    years
        From then to the day.
    cover
        How far the models of ageing could follow it.
    """

    sample: str
    drawn_on: date | None
    years: float
    cover: Cover


@dataclass(frozen=True)
class NotesOnDay:
    """Notes of what lies in the casks, as of a day.

    Attributes
    ----------
    profile
        The profile with every draw of what is in a cask now as it would be found on the day.
        It is for answers about the day: a model must be fitted to what was nosed.
    moved
        By filling, its latest draw.
    grown
        By filling, what each of `descriptors` is held to have gone up or down since its draw.
    added_sd
        By filling, the standard deviation of each of `descriptors` for want of knowing what
        became of it since the draw.
    moves
        Draws and, after them, casks never nosed, ready for any other day.
    places
        By filling, the row of `moves`.
    n_draws
        Draws that were nosed, by filling.
    reasons
        Notes that have no model, each with the reason.
    """

    profile: Profile
    day: date
    descriptors: tuple[str, ...]
    moved: Mapping[str, Moved]
    grown: Mapping[str, Vector]
    added_sd: Mapping[str, Vector]
    moves: Moves
    places: Mapping[str, int]
    n_draws: Mapping[str, int]
    reasons: Mapping[str, str] = field(default_factory=dict)


def notes_on_day(
    profile: Profile,
    draws: pd.DataFrame,
    stock: pd.DataFrame,
    day: date,
    *,
    descriptors: Sequence[str] | None = None,
    settings: AgeingSettings = AgeingSettings(),  # noqa: B008  (frozen)
    fits: Fits | None = None,
    search: Search = search_anew,
) -> NotesOnDay:
    """Move what was nosed to a day.

    Parameters
    ----------
    profile
        What the draws were when they were nosed.
    draws
        What is known of each draw, see :mod:`analysis.influences.covariates`.
    stock
        The same of what lies in the casks, at its age on `day` (`sample` being the filling).
    day
        The day asked for.
    descriptors
        Notes to be moved; all of the profile by default.
    settings
        See :class:`AgeingSettings`.
    fits
        Models of these notes that were fitted to :func:`draws_to_learn_from` already.
    search
        What was found before, see :mod:`analysis.influences.searched`.

    Raises
    ------
    FrameError
        With every fault of a frame.
    """
    known = set(profile.descriptors)
    wanted = tuple(dict.fromkeys(profile.descriptors if descriptors is None else descriptors))
    names = tuple(name for name in wanted if name in known)
    present = check_draws(stock)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        models, reasons = _fitted(profile, draws, names, settings, fits, search)
        rows = _draws_in_cask(profile.estimates, present, day, _middle_age(draws))
        unnosed = present[~present["filling"].isin(rows["filling"])].reset_index(drop=True)
        casks = pd.concat([rows, unnosed], ignore_index=True) if len(unnosed) else rows
        moves = Moves(models, names, casks, _base(profile, rows, names, len(unnosed)), settings)
        return _on_day(profile, moves, rows, unnosed, day, reasons)


def _fitted(
    profile: Profile,
    draws: pd.DataFrame,
    names: Sequence[str],
    settings: AgeingSettings,
    fits: Fits | None,
    search: Search,
) -> tuple[Fits | None, dict[str, str]]:
    if fits is None:
        some = draws_to_learn_from(draws, profile.estimates)
        few = replace(profile, fits=tuple(fit for fit in profile.fits if fit.descriptor in names))
        try:
            fits = fit_profile(
                few, some, descriptors=names, settings=settings.influences, search=search
            )
        except TooLittleError as error:
            return None, dict.fromkeys(names, str(error))
    return fits, {name: why for name, why in fits.reasons.items() if name in names}


def _middle_age(draws: pd.DataFrame) -> float:
    ages = pd.to_numeric(draws["age_years"], errors="coerce").dropna()
    return float(ages.median()) if len(ages) else _MIDDLE_YEARS


def _draws_in_cask(
    estimates: pd.DataFrame, present: pd.DataFrame, day: date, middle: float
) -> pd.DataFrame:
    """One row a draw of what is in a cask: the cask's records, when drawn, and the years since.

    `before` is the age when drawn, `age_years` that on the day. Where the age is not on record
    a middling one stands for it.
    """
    each = estimates.drop_duplicates("sample")
    about = ["sample", "filling", "drawn_on", "last_nosed", "age_years"]
    each = each.loc[each["filling"].isin(present["filling"]), about]
    each = each.rename(columns={"age_years": "age_drawn"})
    records = present.drop(columns=["sample", "drawn_on"])
    rows = each.merge(records, on="filling", how="left")
    drawn = pd.to_datetime(rows["drawn_on"].fillna(rows["last_nosed"]))
    by_age = rows["age_years"] - rows["age_drawn"].astype("float64")
    years = ((pd.Timestamp(day) - drawn).dt.days / DAYS_A_YEAR).fillna(by_age)
    years = years.fillna(0.0).clip(lower=0.0)
    years = years.where(years > _SAME_DAY_YEARS, 0.0)
    ages = rows["age_years"].fillna(middle + years)
    unknown = rows["age_years"].isna()
    return rows.assign(
        drawn_on=drawn,
        years=years,
        before=(ages - years).clip(lower=0.0),
        # A row without an age is not explained by the models: it goes as casks of its kind.
        age_years=ages,
        make=rows["make"].where(~unknown, None),
    )


def _base(profile: Profile, rows: pd.DataFrame, names: Sequence[str], n_more: int) -> Base:
    """What was found, a row for each draw, and as many rows of nothing."""
    held = profile.posterior
    samples = rows["sample"].astype("str").tolist()
    if (
        held is not None
        and set(samples) <= set(held.samples)
        and set(names) <= set(held.descriptors)
    ):
        mean, whole = held.part(samples, names)
        common = held.shared(names)
        own = whole - np.diag(np.nan_to_num(common))
        at = [held.descriptors.index(name) for name in names]
        between = np.diag(held.between)[at]
    else:
        mean, se = (_wide(profile.estimates, samples, names, value) for value in ("estimate", "se"))
        own = np.nan_to_num(se)[:, :, None] ** 2 * np.eye(len(names))
        common, between = np.zeros(len(names)), _spread(mean)
    found = ~np.isnan(_wide(profile.estimates, samples, names, "estimate"))
    nothing = np.full((n_more, len(names)), np.nan)
    return Base(
        mean=np.vstack([np.where(found, mean, np.nan), nothing]),
        own=np.concatenate([own, np.zeros((n_more, len(names), len(names)))]),
        common=np.nan_to_num(common),
        between=np.nan_to_num(between),
        age_years=np.concatenate([rows["before"].to_numpy(float), np.full(n_more, np.nan)]),
    )


def _wide(
    estimates: pd.DataFrame, samples: Sequence[str], names: Sequence[str], value: str
) -> Matrix:
    some = estimates[estimates["descriptor"].isin(list(names))]
    wide = some.pivot(index="sample", columns="descriptor", values=value)
    found: Matrix = wide.reindex(index=list(samples), columns=list(names)).to_numpy(np.float64)
    return found


def _spread(mean: Matrix) -> Vector:
    if len(mean) < 2:
        return np.zeros(mean.shape[1])
    found: Vector = np.nan_to_num(np.nanvar(mean, axis=0))
    return found


def _on_day(
    profile: Profile,
    moves: Moves,
    rows: pd.DataFrame,
    unnosed: pd.DataFrame,
    day: date,
    reasons: Mapping[str, str],
) -> NotesOnDay:
    n = len(rows)
    ages = rows["age_years"].to_numpy(dtype=np.float64)
    then = moves.at(ages[:, None], slice(0, n))
    mean, own = then.mean[:, 0], then.own[:, 0]
    cover = moves.cover(np.concatenate([ages, unnosed["age_years"].to_numpy(np.float64)]))[:n]
    latest = latest_draws(profile.estimates, set(rows["filling"]))
    latest = latest[latest["is_current"]]
    samples = [str(name) for name in rows["sample"]]
    place = {name: i for i, name in enumerate(samples)}
    at = {str(filling): i for i, filling in enumerate(rows["filling"].tolist())}
    for filling, sample in zip(latest["filling"], latest["sample"], strict=True):
        if str(sample) in place:
            at[str(filling)] = place[str(sample)]
    added, grown = np.sqrt(then.added[:, 0]), np.nan_to_num(mean - moves.base.mean[:n])
    drawn = [None if pd.isna(day) else day.date() for day in rows["drawn_on"].to_list()]
    years = rows["years"].to_list()
    return NotesOnDay(
        profile=moved_profile(profile, moves, rows, mean, own),
        day=day,
        descriptors=moves.descriptors,
        moved={
            filling: Moved(samples[i], drawn[i], years[i], cover[i]) for filling, i in at.items()
        },
        grown={filling: grown[i] for filling, i in at.items()},
        added_sd={filling: added[i] for filling, i in at.items()},
        moves=moves,
        places={**{str(f): n + i for i, f in enumerate(unnosed["filling"].tolist())}, **at},
        n_draws={str(f): int(count) for f, count in rows["filling"].value_counts().items()},
        reasons=reasons,
    )
