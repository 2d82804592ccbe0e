"""The latest draw of what is in each cask: the one place that says which draw stands for it."""

from __future__ import annotations

from collections.abc import Collection

import pandas as pd

from ..bars import Status

ABOUT = ("sample", "cask", "filling", "drawn_on", "last_nosed")
_ORDER = ["drawn_on", "last_nosed", "sample"]


def in_cask(casks: pd.DataFrame) -> pd.DataFrame:
    """The rows of a casks frame whose filling has not been emptied."""
    if "status" not in casks.columns:
        return casks
    return casks[casks["status"] != Status.EMPTIED.value]


def latest_draws(estimates: pd.DataFrame, fillings: Collection[str] | None = None) -> pd.DataFrame:
    """The draw that stands for each cask: the latest of the filling that is in it.

    Drawn last counts, then nosed last, then the last by name; a draw without a date counts as
    the oldest. A draw that nothing ties to the part of the stock that is compared stands only
    where no other draw does (:mod:`analysis.profile.compared`).

    Parameters
    ----------
    estimates
        The `estimates` of a profile, or some of its rows.
    fillings
        The fillings that are in a cask now; a draw without a filling is taken for one of what
        is there. Without them every filling counts.

    Returns
    -------
    pandas.DataFrame
        One row a cask, in order of casks: `sample, cask, filling, drawn_on, last_nosed,
        is_current`. Where only earlier fillings of a cask were nosed, the latest draw of those
        stands there and `is_current` is false.

    Examples
    --------
    >>> rows = pd.DataFrame({"sample": ["x1", "x2", "x3"], "cask": "x",
    ...     "filling": ["x/1", "x/1", "x/2"], "last_nosed": pd.NaT,
    ...     "drawn_on": pd.to_datetime(["2024-03-01", "2026-01-15", "2025-02-01"])})
    >>> latest_draws(rows, ["x/2"])[["sample", "is_current"]].values.tolist()
    [['x3', True]]
    >>> latest_draws(rows, ["x/3"])[["sample", "is_current"]].values.tolist()
    [['x2', False]]
    """
    ordered = by_draw(estimates)
    if "component" in estimates.columns:
        tied = estimates.loc[estimates["component"] == 0, "sample"]
        is_tied = ordered["sample"].isin(tied)
        ordered = ordered.assign(is_tied=is_tied).sort_values("is_tied", kind="stable")
        ordered = ordered.drop(columns="is_tied")
    current = pd.Series(True, index=ordered.index)
    if fillings is not None:
        named = ordered["filling"].astype("str").isin([str(name) for name in fillings])
        current = ordered["filling"].isna() | named
    ordered = ordered.assign(is_current=current).sort_values("is_current", kind="stable")
    return ordered.drop_duplicates("cask", keep="last").sort_values("cask", ignore_index=True)


def by_draw(estimates: pd.DataFrame) -> pd.DataFrame:
    """One row a draw from a cask, the latest last."""
    of_casks = estimates.loc[estimates["cask"].notna(), list(ABOUT)].drop_duplicates("sample")
    return of_casks.sort_values(_ORDER, na_position="first", kind="stable")
