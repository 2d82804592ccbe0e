"""Growth curves of styles and of single casks, marked where knowledge ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
import pandas as pd

from ..array_types import Vector
from ..days import DAYS_A_YEAR
from ..house_line import on_the_line
from ..influences import NoteFit
from ..influences.predict import age_limits, on_scale
from .result import Curve, Mark, Point, Reading
from .settings import AgeingSettings
from .states import Known

STYLE = ["make", "wood", "fill_number"]
NEVER_NOSED = "never nosed on this note: reckoned from its like"
YEARS_BEYOND_SHOWN = 2.0


def style_table(draws: pd.DataFrame) -> pd.DataFrame:
    """Styles (make, wood, fill) nosed, with how many casks and how often."""
    ages = draws.groupby([*STYLE, "filling"])["age_years"]
    spans = ages.max() - ages.min()
    again = (spans >= 0.5).groupby(level=STYLE).sum().rename("n_again")
    found = draws.groupby(STYLE).agg(
        n_casks=("cask", "nunique"),
        n_draws=("sample", "size"),
        phenol_ppm=("phenol_ppm", "median"),
        fill_abv=("fill_abv", "mean"),
        age_years=("age_years", "median"),
        age_when_nosed=("age_when_nosed", "mean"),
    )
    return found.join(again).reset_index()


def style_curves(fit: NoteFit, styles: pd.DataFrame, settings: AgeingSettings) -> Iterator[Curve]:
    """Curves of the average cask of some styles (rows of `style_table`) on one descriptor."""
    about = styles.assign(warehouse=None, batch=None, previous=None, held=None)
    known = Known.of_styles(fit, about)
    limits = age_limits(fit.draws)
    here = {
        (str(row.make), str(row.wood), int(row.fill_number)): row  # type: ignore[arg-type]
        for row in style_table(fit.draws).itertuples(index=False)
    }
    for place, row in enumerate(styles.itertuples(index=False)):
        key = (str(row.make), str(row.wood), int(row.fill_number))  # type: ignore[arg-type]
        counts = _counts(here.get(key))
        ages, marks = _ages(fit.draws, str(row.wood), limits, settings)
        yield Curve(
            descriptor=fit.note.descriptor,
            make=key[0],
            wood=key[1],
            fill_number=key[2],
            cask=None,
            filling=None,
            n_casks=counts[0],
            n_draws=counts[1],
            n_again=counts[2],
            evidence=fit.evidence.used,
            points=_points(known, place, ages, marks, settings) if len(ages) else (),
            note=_joined(_thin(counts[0], settings), fit.shape.note),
            reason=None if len(ages) else "no cask of this wood was nosed on this note",
            ages_known=limits.get(key[1]),
        )


def _joined(*notes: str | None) -> str | None:
    return "; ".join(note for note in notes if note) or None


def _counts(row: object) -> tuple[int, int, int]:
    """Casks, draws and casks nosed again; zeros where there are none."""
    names = ("n_casks", "n_draws", "n_again")
    first, second, third = (int(getattr(row, name, 0)) for name in names)
    return first, second, third


def _thin(n_casks: int, settings: AgeingSettings) -> str | None:
    if n_casks >= settings.least_casks_a_style:
        return None
    if n_casks == 0:
        return "no cask of this style was nosed on this note: reckoned from its like"
    casks = "1 cask" if n_casks == 1 else f"{n_casks} casks"
    return f"rests on {casks} of this style, otherwise on its like"


def _ages(
    draws: pd.DataFrame,
    wood: str,
    limits: dict[str, tuple[float, float]],
    settings: AgeingSettings,
) -> tuple[Vector, list[Mark]]:
    if wood not in limits:
        return np.empty(0), []
    low, high = limits[wood]
    ages = np.linspace(low, high + YEARS_BEYOND_SHOWN, settings.points_a_curve)
    return ages, marks_of(draws, wood, ages, limits)


def marks_of(
    draws: pd.DataFrame, wood: str, ages: Vector, limits: dict[str, tuple[float, float]]
) -> list[Mark]:
    """How far each age is known in a wood."""
    nosed = draws.loc[draws["wood"] == wood, "age_years"]
    if wood not in limits:
        return [Mark.BEYOND] * len(ages)
    youngest, oldest = float(nosed.min()), float(nosed.max())
    low, high = limits[wood]

    def mark(age: float) -> Mark:
        if youngest <= age <= oldest:
            return Mark.NOSED
        return Mark.RECKONED if low <= age <= high else Mark.BEYOND

    return [mark(float(age)) for age in ages]


def _points(
    known: Known,
    place: int,
    ages: Vector,
    marks: Sequence[Mark],
    settings: AgeingSettings,
    dates: Sequence[date] | None = None,
) -> tuple[Point, ...]:
    level = settings.influences.level
    mean, sd = known.at(place, ages)
    one_sd = sd if dates is not None else known.at(place, ages, of_one_cask=True)[1]
    estimate, low, high = (part.tolist() for part in on_scale(mean, sd, level))
    _, cask_low, cask_high = (part.tolist() for part in on_scale(mean, one_sd, level))
    return tuple(
        Point(
            *(float(ages[i]), estimate[i], low[i], high[i], cask_low[i], cask_high[i], marks[i]),
            None if dates is None else dates[i],
        )
        for i in range(len(ages))
    )


def cask_curves(
    fit: NoteFit, casks: pd.DataFrame, as_of: date, settings: AgeingSettings
) -> Iterator[Curve]:
    """Curves of single casks on one descriptor, from their first draw to three years on.

    Parameters
    ----------
    casks
        Rows of the stock, at their age on `as_of`.
    """
    known = Known.of_casks(fit, casks)
    limits = age_limits(fit.draws)
    for place, row in enumerate(casks.itertuples(index=False)):
        mine = fit.draws[fit.draws["filling"] == row.filling]
        age_now = float(row.age_years)  # type: ignore[arg-type]
        first = min(float(mine["age_years"].min()), age_now) if len(mine) else age_now
        ages = np.linspace(first, age_now + settings.years_ahead, settings.points_a_curve)
        marks = marks_of(fit.draws, str(row.wood), ages, limits)
        dates = [as_of + timedelta(days=round((age - age_now) * DAYS_A_YEAR)) for age in ages]
        yield Curve(
            descriptor=fit.note.descriptor,
            make=str(row.make),
            wood=str(row.wood),
            fill_number=int(row.fill_number),  # type: ignore[arg-type]
            cask=str(row.cask),
            filling=str(row.filling),
            n_casks=int(mine["cask"].nunique()),
            n_draws=len(mine),
            n_again=int(len(mine) > 1),
            evidence=fit.evidence.used,
            points=_points(known, place, ages, marks, settings, dates),
            ages_known=limits.get(str(row.wood)),
            readings=tuple(_readings(fit, str(row.filling), settings)),
            note=_joined(None if len(mine) else NEVER_NOSED, fit.shape.note),
        )


def _readings(fit: NoteFit, filling: str, settings: AgeingSettings) -> Iterator[Reading]:
    """What was read of each draw of a filling."""
    z = NormalDist().inv_cdf(0.5 + 0.5 * settings.influences.level)
    sd = np.sqrt(fit.note.models[0].noise_variance)
    for i in np.flatnonzero((fit.draws["filling"] == filling).to_numpy()):
        read = on_the_line(fit.reading[i] + np.array([0.0, -z * sd[i], z * sd[i]]))
        middle, low, high = read.tolist()
        row = fit.draws.iloc[int(i)]
        yield Reading(str(row["sample"]), float(row["age_years"]), middle, low, high)
