"""Foretelling casks that were never nosed, as wide as they should be."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
import pandas as pd

from analysis.influences.covariates import why_not
from analysis.influences.layout import Vector
from analysis.influences.note_model import NoteModel
from analysis.influences.settings import InfluenceSettings
from analysis.influences.terms import Points, group_keys

COLUMNS = ["cask", "filling", "descriptor", "estimate", "se", "low", "high", "note"]
MOST_YEARS_BEYOND, MOST_SHARE_BEYOND = 3.0, 0.25
SCALE_LOW, SCALE_HIGH = 0.0, 100.0


def foretell_stock(
    notes: Sequence[NoteModel],
    stock: pd.DataFrame,
    draws: pd.DataFrame,
    settings: InfluenceSettings,
) -> pd.DataFrame:
    """Foretell every descriptor of the fillings that were never nosed.

    Parameters
    ----------
    notes
        The models.
    stock
        A checked draws frame of the fillings to be foretold, at their present age.
    draws
        The draws that the models stand on.
    settings
        For the width of the intervals.
    """
    rest = stock[~stock["filling"].isin(draws["filling"])].reset_index(drop=True)
    if rest.empty or not notes:
        return pd.DataFrame(columns=COLUMNS)
    reason = why_not(rest)
    usable = rest[reason.isna()].reset_index(drop=True)
    parts = [_unknown(rest[reason.notna()], reason.dropna(), note.descriptor) for note in notes]
    if len(usable):
        remarks = _remarks(usable, draws)
        parts += [_foretold(note, usable, remarks, settings) for note in notes]
    found = pd.concat([part for part in parts if len(part)], ignore_index=True)
    return found.sort_values(["cask", "filling", "descriptor"], ignore_index=True)[COLUMNS]


def _unknown(rows: pd.DataFrame, reason: pd.Series, descriptor: str) -> pd.DataFrame:
    return rows[["cask", "filling"]].assign(
        descriptor=descriptor,
        estimate=np.nan,
        se=np.nan,
        low=np.nan,
        high=np.nan,
        note=reason.to_numpy(),
    )


def _foretold(
    note: NoteModel, stock: pd.DataFrame, remarks: list[str | None], settings: InfluenceSettings
) -> pd.DataFrame:
    points = Points.of(stock, note.terms.levels)
    mean, sd = note.foretell(points, np.full(points.n, -1, dtype=np.intp))
    estimate, low, high = on_scale(mean, sd, settings.level)
    said = pd.Series(remarks, index=stock.index, dtype="object")
    return stock[["cask", "filling"]].assign(
        descriptor=note.descriptor, estimate=estimate, se=sd, low=low, high=high, note=said
    )


def on_scale(mean: Vector, sd: Vector, level: float) -> tuple[Vector, Vector, Vector]:
    """Estimate and interval, kept on the line; one that touches an end is one-sided there.

    Examples
    --------
    >>> [part.round(1).tolist() for part in on_scale(np.array([3.0]), np.array([2.0]), 0.95)]
    [[3.0], [0.0], [6.9]]
    """
    z = NormalDist().inv_cdf(0.5 + 0.5 * level)
    estimate, low, high = (
        np.clip(value, SCALE_LOW, SCALE_HIGH) for value in (mean, mean - z * sd, mean + z * sd)
    )
    return estimate, low, high


def _remarks(stock: pd.DataFrame, draws: pd.DataFrame) -> list[str | None]:
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
    return ["; ".join(table.columns[row]) or None for row in table.to_numpy(dtype=bool)]


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
