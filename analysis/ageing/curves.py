"""Growth curves of styles and of single casks, marked where knowledge ends."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
import pandas as pd

from ..array_types import Matrix, Vector
from ..days import DAYS_A_YEAR
from ..house_line import on_the_line
from ..influences import NoteFit
from ..influences.predict import age_limits, on_scale
from ..influences.terms import Groups
from .result import Curve, Mark, Point, Reading
from .settings import AgeingSettings
from .states import Known

STYLE = ["make", "wood", "fill_number"]
NEVER_NOSED = "never nosed on this note: reckoned from its like"
YEARS_BEYOND_SHOWN = 2.0
AGAIN_YEARS = 0.5
"""Between its first and its last draw, from which a cask counts as drawn again."""
Style = tuple[str, str, int]
"""Make, wood and fill."""


def style_table(draws: pd.DataFrame) -> pd.DataFrame:
    """Styles (make, wood, fill) nosed, with how many casks and what is usual of them."""
    found = draws.groupby(STYLE).agg(
        n_casks=("cask", "nunique"),
        phenol_ppm=("phenol_ppm", "median"),
        fill_abv=("fill_abv", "mean"),
        age_years=("age_years", "median"),
        age_when_nosed=("age_when_nosed", "mean"),
    )
    return found.reset_index()


def style_curves(
    fits: Iterable[NoteFit], styles: pd.DataFrame, settings: AgeingSettings
) -> Iterator[Curve]:
    """Curves of the average cask of some styles (rows of `style_table`) on some descriptors."""
    if styles.empty:
        return
    about = styles.assign(warehouse=None, batch=None, previous=None, held=None)
    groups = Groups.of(about)
    counts: dict[int, Mapping[Style, _Counts]] = {}
    for fit in fits:
        if fit.pattern not in counts:
            counts[fit.pattern] = _counted(fit.draws)
        known = Known.of_styles(fit, about, groups)
        yield from _style_curves(known, styles, counts[fit.pattern], settings)


def _style_curves(
    known: Known, styles: pd.DataFrame, counts: Mapping[Style, _Counts], settings: AgeingSettings
) -> Iterator[Curve]:
    fit = known.fit
    spans = nosed_in_woods(fit.draws)
    rows = list(styles.itertuples(index=False))
    ages = np.stack([_ages(spans.get(_style(row)[1]), settings) for row in rows])
    drawn = _drawn(known, ages, settings, of_styles=True)
    for place, row in enumerate(rows):
        key = _style(row)
        count, nosed = counts.get(key, _Counts()), spans.get(key[1])
        yield Curve(
            descriptor=fit.note.descriptor,
            make=key[0],
            wood=key[1],
            fill_number=key[2],
            cask=None,
            filling=None,
            n_casks=count.n_casks,
            n_draws=count.n_draws,
            n_again=count.n_again,
            evidence=fit.evidence.used,
            points=() if nosed is None else drawn.points(place, nosed.marks(ages[place])),
            note=_joined(_thin(count.n_casks, settings), fit.shape.note),
            reason=None if nosed else "no cask of this wood was nosed on this note",
            ages_known=nosed.limits if nosed else None,
        )


def _style(row: object) -> Style:
    make, wood, fill = (getattr(row, name) for name in STYLE)
    return str(make), str(wood), int(fill)


@dataclass(frozen=True)
class _Counts:
    """Casks, draws and casks drawn again of one style."""

    n_casks: int = 0
    n_draws: int = 0
    n_again: int = 0


def _counted(draws: pd.DataFrame) -> dict[Style, _Counts]:
    """How often each style stands among some draws."""
    styles = [_style(row) for row in draws[STYLE].itertuples(index=False)]
    of_filling = defaultdict[tuple[Style, str], list[float]](list)
    for style, name, age in zip(styles, draws["filling"], draws["age_years"], strict=True):
        of_filling[style, str(name)].append(float(age))
    casks = Counter(style for style, _ in set(zip(styles, draws["cask"], strict=True)))
    again = Counter(
        style for (style, _), ages in of_filling.items() if max(ages) - min(ages) >= AGAIN_YEARS
    )
    times = Counter(styles)
    return {style: _Counts(casks[style], n, again[style]) for style, n in times.items()}


def _joined(*notes: str | None) -> str | None:
    return "; ".join(note for note in notes if note) or None


def _thin(n_casks: int, settings: AgeingSettings) -> str | None:
    if n_casks >= settings.least_casks_a_style:
        return None
    if n_casks == 0:
        return "no cask of this style was nosed on this note: reckoned from its like"
    casks = "1 cask" if n_casks == 1 else f"{n_casks} casks"
    return f"rests on {casks} of this style, otherwise on its like"


@dataclass(frozen=True)
class NosedInWood:
    """Ages at which a wood was nosed, and between which something may be said of it."""

    youngest: float
    oldest: float
    limits: tuple[float, float]

    def marks(self, ages: Vector) -> list[Mark]:
        """How far each age is known."""
        low, high = self.limits
        nosed = (self.youngest <= ages) & (ages <= self.oldest)
        known = (low <= ages) & (ages <= high)
        return [
            Mark.NOSED if of_these else Mark.RECKONED if between else Mark.BEYOND
            for of_these, between in zip(nosed.tolist(), known.tolist(), strict=True)
        ]


def nosed_in_woods(draws: pd.DataFrame) -> dict[str, NosedInWood]:
    """The ages of every wood among some draws."""
    limits = age_limits(draws)
    return {
        str(wood): NosedInWood(float(ages.min()), float(ages.max()), limits[str(wood)])
        for wood, ages in draws.groupby("wood")["age_years"]
    }


def _ages(nosed: NosedInWood | None, settings: AgeingSettings) -> Vector:
    """Ages that a curve is drawn at; zeros where none is drawn."""
    low, high = (0.0, -YEARS_BEYOND_SHOWN) if nosed is None else nosed.limits
    return np.linspace(low, high + YEARS_BEYOND_SHOWN, settings.points_a_curve)


@dataclass(frozen=True)
class _Drawn:
    """Figures of some curves, shape (curves, ages) each, in the order of :class:`Point`."""

    figures: tuple[list[list[float]], ...]

    def points(
        self, place: int, marks: Sequence[Mark], dates: Sequence[date] | None = None
    ) -> tuple[Point, ...]:
        """Points of one of them."""
        on = [None] * len(marks) if dates is None else dates
        mine = (each[place] for each in self.figures)
        return tuple(Point(*each) for each in zip(*mine, marks, on, strict=True))


def _drawn(known: Known, ages: Matrix, settings: AgeingSettings, *, of_styles: bool) -> _Drawn:
    level = settings.influences.level
    mean, sd = known.at(ages)
    one_sd = known.at(ages, of_one_cask=True)[1] if of_styles else sd
    cask = on_scale(mean, one_sd, level)[1:]
    return _Drawn(tuple(each.tolist() for each in (ages, *on_scale(mean, sd, level), *cask)))


def cask_curves(
    fit: NoteFit, casks: pd.DataFrame, as_of: date, settings: AgeingSettings
) -> Iterator[Curve]:
    """Curves of single casks on one descriptor, from their first draw to three years on.

    Parameters
    ----------
    casks
        Rows of the stock, at their age on `as_of`.
    """
    if casks.empty:
        return
    known = Known.of_casks(fit, casks)
    spans = nosed_in_woods(fit.draws)
    rows = list(casks.itertuples(index=False))
    now = casks["age_years"].astype("float64").tolist()
    draws = {str(name): mine for name, mine in fit.draws.groupby("filling")}
    ages = np.stack(
        [
            _cask_ages(age, draws.get(str(row.filling)), settings)
            for row, age in zip(rows, now, strict=True)
        ]
    )
    drawn = _drawn(known, ages, settings, of_styles=False)
    for place, row in enumerate(rows):
        mine, nosed = draws.get(str(row.filling)), spans.get(str(row.wood))
        off = ages[place] - now[place]
        dates = [as_of + timedelta(days=round(years * DAYS_A_YEAR)) for years in off.tolist()]
        marks = nosed.marks(ages[place]) if nosed else [Mark.BEYOND] * len(dates)
        yield Curve(
            descriptor=fit.note.descriptor,
            make=str(row.make),
            wood=str(row.wood),
            fill_number=int(row.fill_number),  # type: ignore[arg-type]
            cask=str(row.cask),
            filling=str(row.filling),
            n_casks=0 if mine is None else int(mine["cask"].nunique()),
            n_draws=0 if mine is None else len(mine),
            n_again=int(mine is not None and len(mine) > 1),
            evidence=fit.evidence.used,
            points=drawn.points(place, marks, dates),
            ages_known=nosed.limits if nosed else None,
            readings=() if mine is None else tuple(_readings(fit, mine.index, settings)),
            note=_joined(NEVER_NOSED if mine is None else None, fit.shape.note),
        )


def _cask_ages(now: float, mine: pd.DataFrame | None, settings: AgeingSettings) -> Vector:
    """Ages that the curve of a cask is drawn at: from its first draw to some years on."""
    first = now if mine is None else min(float(mine["age_years"].min()), now)
    return np.linspace(first, now + settings.years_ahead, settings.points_a_curve)


def _readings(fit: NoteFit, rows: pd.Index, settings: AgeingSettings) -> Iterator[Reading]:
    """What was read of some draws."""
    z = NormalDist().inv_cdf(0.5 + 0.5 * settings.influences.level)
    sd = np.sqrt(fit.note.models[0].noise_variance)
    for i in rows.tolist():
        read = on_the_line(fit.reading[i] + np.array([0.0, -z * sd[i], z * sd[i]]))
        middle, low, high = read.tolist()
        row = fit.draws.iloc[i]
        yield Reading(str(row["sample"]), float(row["age_years"]), middle, low, high)
