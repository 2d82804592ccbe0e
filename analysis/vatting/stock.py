"""What lies in the warehouse, and what each cask is expected to smell of."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from ..array_types import Flags, Floats, Ints, Names
from ..bars import Bars, Status
from ..errors import FrameError
from ..profile.latest import in_cask
from .records import bars_in

REQUIRED = ("cask", "filling", "age_years", "abv", "bulk_l")


@dataclass(frozen=True, eq=False)
class Stock:
    """Casks with what is predicted of them; one row a filling that still holds spirit.

    Attributes
    ----------
    casks
        A casks frame (see :mod:`analysis`). Beyond it, where known: `owner`, `hold_reason`,
        `gauge_age_years`, `reserved_l` (litres promised to other releases), `bars` (what the
        records hold against a cask, see :mod:`analysis.bars`; else made from the columns), and
        how well litres and strength are known (see :attr:`litres_errors`).
    descriptors
        Names of the descriptors, in the order of the arrays.
    estimate, sd
        Expected score and its standard deviation, points of the 0-100 line, shape (casks,
        descriptors); missing where nothing is known.
    as_of
        The date that ages and litres hold for.
    panel_sd
        Standard deviation of what the panel as a whole may be off, by descriptor. It is common
        to all casks, so that no number of casks averages it out.
    covariance
        Of each cask's own error over the descriptors, shape (casks, descriptors, descriptors),
        with the squares of `sd` along its diagonal; without it the errors of a cask's notes are
        taken as independent.
    loadings
        Errors that several casks share, shape (casks, descriptors, sources): the error of cask
        i is ``loadings[i] @ g`` with g standard normal, the same for all casks, in addition to
        `sd`. For instance the effect of a wood class.
    note_loadings
        The same note by note, ``note_loadings[i, d] @ g_d`` with a `g_d` for each descriptor.
    draws
        Joint draws of all casks, shape (draws, casks, descriptors), instead of all these
        wherever a chance is computed.
    grown
        What the estimates are held to have gone up or down since the draws, in their shape.
    added_sd
        The part of `sd` that is for want of knowing what became of the notes between the draw and
        the stock's date, shape (casks, descriptors).
    margin_casks
        Over how many casks errors of litres average out when a vatting is chosen; None: over as
        many as the quantity takes.

    Raises
    ------
    FrameError
        When columns are missing, a cask comes twice, or arrays do not fit.
    """

    casks: pd.DataFrame
    descriptors: tuple[str, ...]
    estimate: Floats
    sd: Floats
    as_of: date | None = None
    panel_sd: Mapping[str, float] = field(default_factory=dict)
    loadings: Floats | None = None
    draws: Floats | None = None
    covariance: Floats | None = None
    note_loadings: Floats | None = None
    grown: Floats | None = None
    added_sd: Floats | None = None
    margin_casks: float | None = None

    def __post_init__(self) -> None:
        """Refuse a frame or arrays that do not fit together."""
        problems = [*_frame_faults(self.casks), *_array_faults(self)]
        if problems:
            raise FrameError("casks", problems)

    def __len__(self) -> int:
        return len(self.casks)

    @cached_property
    def names(self) -> Names:
        """Cask numbers as text."""
        return self.casks["cask"].astype("str").to_numpy(dtype=object)

    @cached_property
    def position(self) -> Mapping[str, int]:
        """Row of each cask."""
        return {str(name): row for row, name in enumerate(self.names)}

    @cached_property
    def bulk_litres(self) -> Floats:
        """Litres in each cask."""
        return self.number("bulk_l")

    @cached_property
    def abv_percent(self) -> Floats:
        """Strength of each cask."""
        return self.number("abv")

    @cached_property
    def age_years(self) -> Floats:
        """Age of each cask on the stock's date."""
        return self.number("age_years")

    @cached_property
    def reserved_litres(self) -> Floats:
        """Litres promised elsewhere; a cask that is merely marked reserved counts as whole."""
        litres = np.nan_to_num(self.number("reserved_l"))
        marked = (self.text("status") == Status.RESERVED.value) & (litres <= 0.0)
        return np.where(marked, np.inf, litres)

    @cached_property
    def available_litres(self) -> Floats:
        """Litres that nobody else was promised."""
        return np.maximum(0.0, np.nan_to_num(self.bulk_litres) - self.reserved_litres)

    @cached_property
    def litres_errors(self) -> tuple[Floats, Floats]:
        """Relative standard deviations of the litres: each cask's own, and the shared one.

        From the columns `bulk_error` and `bulk_shared`; none where the frame has none.
        """
        return np.nan_to_num(self.number("bulk_error")), np.nan_to_num(self.number("bulk_shared"))

    @cached_property
    def abv_errors(self) -> tuple[Floats, Floats]:
        """The same of the strengths, from `abv_error` and `abv_shared`."""
        return np.nan_to_num(self.number("abv_error")), np.nan_to_num(self.number("abv_shared"))

    @cached_property
    def most_litres(self) -> Floats:
        """The litres that each cask may hold at most: what is expected, or `bulk_high`."""
        return np.fmax(self.bulk_litres, self.number("bulk_high"))

    @cached_property
    def bars(self) -> list[Bars]:
        """All that the records hold against using each cask."""
        return bars_in(self.casks)

    @cached_property
    def found(self) -> dict[Hashable, Any]:
        """What every step of a search asks of all casks again: bars, old gauges, columns."""
        return {}

    @cached_property
    def foretold(self) -> Flags:
        """Casks that nobody nosed (column `foretold` of the casks frame)."""
        if "foretold" not in self.casks.columns:
            return np.zeros(len(self), dtype=np.bool_)
        return np.asarray(self.casks["foretold"].to_numpy(dtype=np.bool_))

    def only(self, rows: Ints) -> Stock:
        """The same stock with some of the casks."""
        return replace(
            self,
            casks=self.casks.iloc[rows].reset_index(drop=True),
            estimate=self.estimate[rows],
            sd=self.sd[rows],
            loadings=None if self.loadings is None else self.loadings[rows],
            draws=None if self.draws is None else self.draws[:, rows],
            covariance=None if self.covariance is None else self.covariance[rows],
            note_loadings=None if self.note_loadings is None else self.note_loadings[rows],
            grown=None if self.grown is None else self.grown[rows],
            added_sd=None if self.added_sd is None else self.added_sd[rows],
        )

    def number(self, column: str) -> Floats:
        """A column as numbers; missing where the frame has no such column."""
        if column not in self.casks.columns:
            return np.full(len(self), np.nan)
        found = pd.to_numeric(self.casks[column], errors="coerce")
        return np.asarray(found.to_numpy(dtype=np.float64, na_value=np.nan))

    @cached_property
    def is_apart(self) -> Flags:
        """Casks that only sessions know which share no glass with those compared."""
        if "is_apart" not in self.casks.columns:
            return np.zeros(len(self), dtype=np.bool_)
        return self.casks["is_apart"].to_numpy(dtype=np.bool_)

    def text(self, column: str) -> Names:
        """A column as text; empty where nothing is recorded."""
        key = ("text", column)
        if key not in self.found:
            self.found[key] = self._as_text(column)
        words: Names = self.found[key]
        return words

    def _as_text(self, column: str) -> Names:
        if column not in self.casks.columns:
            return np.full(len(self), "", dtype=object)
        missing = self.casks[column].isna().to_numpy()
        values = self.casks[column].to_list()
        words = ["" if gone else str(value) for gone, value in zip(missing, values, strict=True)]
        return np.array(words, dtype=object)

    def columns_of(self, descriptors: Sequence[str]) -> Ints:
        """Columns of some descriptors in the arrays."""
        place = {name: column for column, name in enumerate(self.descriptors)}
        return np.array([place[name] for name in descriptors], dtype=np.intp)


def _frame_faults(casks: pd.DataFrame) -> list[str]:
    missing = [name for name in REQUIRED if name not in casks.columns]
    if missing:
        return [f"Missing columns: {', '.join(missing)}. Add them."]
    names = casks["cask"].astype("str")
    twice = sorted(set(names[names.duplicated()]))
    if not twice:
        return []
    shown = ", ".join(twice[:5]) + (", ..." if len(twice) > 5 else "")
    return [f"More than one filling is in cask {shown}: keep the one that is in it now."]


def _array_faults(stock: Stock) -> list[str]:
    shape = (len(stock.casks), len(stock.descriptors))
    faults = []
    for name, array in (("estimates", stock.estimate), ("standard deviations", stock.sd)):
        if array.shape != shape:
            faults.append(f"The {name} have shape {array.shape}, the stock needs {shape}.")
    if not faults and np.any(stock.sd < 0.0):
        faults.append("A standard deviation is below zero.")
    shared = (part for part in (stock.loadings, stock.note_loadings) if part is not None)
    if any(part.shape[:2] != shape for part in shared):
        faults.append(f"The shared errors need shape {shape} and one axis more.")
    if stock.covariance is not None and stock.covariance.shape != (*shape, shape[1]):
        faults.append(f"The covariances need shape {(*shape, shape[1])}.")
    if stock.draws is not None and stock.draws.shape[1:] != shape:
        faults.append(f"The joint draws need shape (draws, {shape[0]}, {shape[1]}).")
    return faults


def build_stock(
    casks: pd.DataFrame,
    predictions: pd.DataFrame,
    *,
    as_of: date | None = None,
    panel_sd: Mapping[str, float] | None = None,
) -> Stock:
    """Put a casks frame and predictions together.

    Parameters
    ----------
    casks
        A casks frame; rows of emptied fillings are left out.
    predictions
        One row a cask and descriptor: `cask, descriptor, estimate, sd`.
    as_of
        The date the casks frame holds for.
    panel_sd
        See :class:`Stock`.

    Raises
    ------
    FrameError
        Columns missing, a cask or a prediction twice, a prediction that is no number.

    Examples
    --------
    >>> casks = pd.DataFrame({"cask": ["a"], "filling": ["a/1"], "age_years": [12.4],
    ...                       "abv": [58.0], "bulk_l": [180.0]})
    >>> smoke = {"cask": "a", "descriptor": "smoke", "estimate": 31.0, "sd": 4.0}
    >>> stock = build_stock(casks, pd.DataFrame([smoke]))
    >>> len(stock), stock.descriptors, stock.estimate.tolist()
    (1, ('smoke',), [[31.0]])
    """
    wanted = ("cask", "descriptor", "estimate", "sd")
    missing = [name for name in wanted if name not in predictions.columns]
    if missing:
        raise FrameError("predictions", [f"Missing columns: {', '.join(missing)}. Add them."])
    names = predictions["cask"].astype("str")
    keyed = predictions.assign(cask=names, descriptor=predictions["descriptor"].astype("str"))
    twice = keyed[keyed.duplicated(["cask", "descriptor"])]
    if len(twice):
        row = twice.iloc[0]
        text = f"Cask {row['cask']} has more than one prediction of {row['descriptor']}."
        raise FrameError("predictions", [text])
    present = in_cask(casks).reset_index(drop=True)
    descriptors = tuple(sorted(set(keyed["descriptor"])))
    wide = {
        value: keyed.pivot(index="cask", columns="descriptor", values=value)
        .reindex(index=present["cask"].astype("str"), columns=list(descriptors))
        .to_numpy(dtype=np.float64, na_value=np.nan)
        for value in ("estimate", "sd")
    }
    return Stock(
        casks=present,
        descriptors=descriptors,
        estimate=wide["estimate"],
        sd=wide["sd"],
        as_of=as_of,
        panel_sd=panel_sd or {},
    )
