"""Foretelling casks that were never nosed, as wide as they should be."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pandas as pd

from ..array_types import Vector
from ..house_line import on_the_line
from ..profile import Profile
from .covariates import why_not
from .fits import Fits
from .note_fits import NoteFit
from .terms import Points, group_keys
from .unnosed import foretell_unnosed

COLUMNS = ["cask", "filling", "descriptor", "estimate", "se", "low", "high", "note"]
MOST_YEARS_BEYOND, MOST_SHARE_BEYOND = 3.0, 0.25
Remarks = tuple[str, ...]


def never_nosed(profile: Profile, stock: pd.DataFrame) -> pd.DataFrame:
    """Rows of the fillings of which no sample has an estimate or a reason for none."""
    known = profile.estimates["filling"].dropna().astype("str")
    return stock[~stock["filling"].isin(known)].reset_index(drop=True)


def foretell_stock(fits: Fits, stock: pd.DataFrame) -> pd.DataFrame:
    """Foretell every descriptor of some fillings by what others like them were.

    Parameters
    ----------
    fits
        The models, with the draws that they stand on.
    stock
        A checked draws frame of the fillings to be foretold, at their present age.
    """
    return foretell_remarked(fits, stock)[COLUMNS]


def foretell_remarked(fits: Fits, stock: pd.DataFrame) -> pd.DataFrame:
    """The same with a column ``remarks``: what the note says, one by one."""
    if stock.empty or not fits.fits:
        return pd.DataFrame(columns=[*COLUMNS, "remarks"])
    rows = fits.stock(stock.reset_index(drop=True))
    reason = why_not(rows)
    usable = rows[reason.isna()].reset_index(drop=True)
    names = [fit.note.descriptor for fit in fits.fits]
    parts = [_unknown(rows[reason.notna()], reason.dropna(), name) for name in names]
    if len(usable):
        said = remarks(usable, fits.draws)
        parts += [_foretold(fit, usable, said, fits.settings.level) for fit in fits.fits]
    found = pd.concat([part for part in parts if len(part)], ignore_index=True)
    return found.sort_values(["cask", "filling", "descriptor"], ignore_index=True)


def _unknown(rows: pd.DataFrame, reason: pd.Series, descriptor: str) -> pd.DataFrame:
    return rows[["cask", "filling"]].assign(
        descriptor=descriptor,
        estimate=np.nan,
        se=np.nan,
        low=np.nan,
        high=np.nan,
        note=reason.to_numpy(),
        remarks=reason.map(lambda why: (str(why),)),
    )


def _foretold(fit: NoteFit, stock: pd.DataFrame, said: list[Remarks], level: float) -> pd.DataFrame:
    note = fit.note
    mean, own = foretell_unnosed(note, Points.of(stock, note.terms.levels))
    sd = np.sqrt(own**2 + fit.common)
    estimate, low, high = on_scale(mean, sd, level)
    notes = ["; ".join(each) or None for each in said]
    remarked = pd.Series(notes, index=stock.index, dtype="object")
    return stock[["cask", "filling"]].assign(
        descriptor=note.descriptor,
        estimate=estimate,
        se=sd,
        low=low,
        high=high,
        note=remarked,
        remarks=pd.Series(said, index=stock.index, dtype="object"),
    )


def on_scale(mean: Vector, sd: Vector, level: float) -> tuple[Vector, Vector, Vector]:
    """Estimate and interval, kept on the line; one that touches an end is one-sided there.

    Examples
    --------
    >>> [part.round(1).tolist() for part in on_scale(np.array([3.0]), np.array([2.0]), 0.95)]
    [[3.0], [0.0], [6.9]]
    """
    z = NormalDist().inv_cdf(0.5 + 0.5 * level)
    estimate, low, high = (on_the_line(value) for value in (mean, mean - z * sd, mean + z * sd))
    return estimate, low, high


def remarks(stock: pd.DataFrame, draws: pd.DataFrame) -> list[Remarks]:
    """What is out of the ordinary about foretelling each of these."""
    known, keys = group_keys(draws), group_keys(stock)
    never = {
        f"{word} never nosed": ~keys[group].isin(known[group])
        for group, word in (("wood", "wood"), ("fill", "fill number"), ("make", "make"))
    }
    limits = age_limits(draws)
    span = [limits.get(wood, (-np.inf, np.inf)) for wood in stock["wood"]]
    ages = stock["age_years"].to_numpy()
    low, high = np.array(span).T
    never["beyond the ages nosed in this wood"] = pd.Series((ages < low) | (ages > high))
    table = pd.DataFrame({words: rows.to_numpy() for words, rows in never.items()})
    rows, which = np.unique(table.to_numpy(dtype=bool), axis=0, return_inverse=True)
    said = [tuple(str(words) for words in table.columns[row]) for row in rows]
    return [said[row] for row in which.ravel()]


def age_limits(draws: pd.DataFrame) -> dict[str, tuple[float, float]]:
    """Ages at which each wood may be spoken of.

    Those nosed, and beyond them three years or a quarter of their span, whichever is less.

    Examples
    --------
    >>> draws = pd.DataFrame({"wood": ["butt"] * 3, "age_years": [4.0, 6.0, 12.0]})
    >>> age_limits(draws)
    {'butt': (2.0, 14.0)}
    """
    found = {}
    for wood, ages in draws.groupby("wood")["age_years"]:
        low, high = float(ages.min()), float(ages.max())
        more = min(MOST_YEARS_BEYOND, MOST_SHARE_BEYOND * (high - low))
        found[str(wood)] = (max(0.0, low - more), high + more)
    return found
