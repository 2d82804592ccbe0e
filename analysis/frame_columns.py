"""One column at a time as the scores frame wants it, and rows as numbers.

A frame may have a million rows and few names in it. Each column of names is looked through once;
every check after that, and every sum, goes by numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from .array_types import Codes, Flags, Names

_ROOM = 8
"""Places a row for which a table of all possible keys is cheaper than sorting the keys."""


@dataclass(frozen=True)
class NameCodes:
    """A column of names as numbers.

    Attributes
    ----------
    codes
        Place of each row's name in `names`; -1 where there is none.
    names
        Each once, sorted as text. Some may be in no row.
    """

    codes: Codes
    names: Names

    @classmethod
    def constant(cls, name: str, n_rows: int) -> NameCodes:
        """One name in all rows."""
        return cls(np.zeros(n_rows, dtype=np.intp), np.array([name], dtype=object))

    @property
    def used(self) -> Codes:
        """Places in `names` of those that are in some row."""
        return np.flatnonzero(np.bincount(self.codes, minlength=len(self.names)))

    def where(self, rows: Flags) -> NameCodes:
        """Those of some rows."""
        return NameCodes(self.codes[rows], self.names)

    def without_gaps(self) -> NameCodes:
        """The same rows with no name that is in none of them."""
        used = self.used
        if len(used) == len(self.names):
            return self
        place = np.empty(len(self.names), dtype=np.intp)
        place[used] = np.arange(len(used))
        return NameCodes(place[self.codes], self.names[used])


@dataclass(frozen=True)
class ScoreCodes:
    """Flags of a checked scores frame as numbers.

    Attributes
    ----------
    glass
        Which glass each row is of: one session, assessor, sample and replicate. Glasses are
        numbered in that order; some numbers may be in no row.
    """

    session: NameCodes
    assessor: NameCodes
    sample: NameCodes
    descriptor: NameCodes
    kind: NameCodes
    status: NameCodes
    glass: Codes

    def where(self, rows: Flags) -> ScoreCodes:
        """Those of some rows."""
        if rows.all():
            return self
        return ScoreCodes(
            session=self.session.where(rows),
            assessor=self.assessor.where(rows),
            sample=self.sample.where(rows),
            descriptor=self.descriptor.where(rows),
            kind=self.kind.where(rows),
            status=self.status.where(rows),
            glass=self.glass[rows],
        )


def as_text(column: pd.Series) -> tuple[pd.Series, NameCodes]:
    """Names as text, and as numbers; a missing one has the code -1."""
    places, values = _distinct(column)
    texts = pd.Series(values, dtype=values.dtype).astype("str")
    rank, names = pd.factorize(texts.to_numpy(dtype=object), sort=True)
    codes = np.append(rank, -1)[places].astype(np.intp, copy=False)
    found = NameCodes(codes, np.asarray(names, dtype=object))
    if isinstance(column.dtype, pd.StringDtype) and column.dtype == texts.dtype:
        return column, found
    return pd.Series(texts.array.take(places, allow_fill=True), index=column.index), found


def _distinct(column: pd.Series) -> tuple[Codes, Any]:
    """Each different value once, and which of them each row has."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.cat.codes.to_numpy().astype(np.intp), column.cat.categories
    if pd.api.types.is_integer_dtype(column.dtype):
        return pd.factorize(column)
    if isinstance(column.dtype, pd.StringDtype) or column.dtype == np.dtype(object):
        places, values = pd.factorize(column.to_numpy(dtype=object))
        if pd.api.types.infer_dtype(values) in {"string", "empty"}:
            return places, values
    # Equal values may read differently, such as 1 and True: they are told apart as text.
    places, values = pd.factorize(column.astype("str").to_numpy(dtype=object))
    places[column.isna().to_numpy()] = -1
    return places, values


def or_none(column: pd.Series) -> pd.Series:
    """Names as they are, None where there is none."""
    missing = column.isna()
    found = column.astype("object")
    return found.where(~missing, None) if missing.any() else found


def as_numbers(column: pd.Series) -> pd.Series:
    """Floats; what is no number is missing."""
    if column.dtype == np.dtype(np.float64):
        return column
    return pd.to_numeric(column, errors="coerce").astype("float64")


def as_dates(column: pd.Series) -> pd.Series:
    """Dates without a zone; what is no date is missing."""
    if isinstance(column.dtype, np.dtype) and column.dtype.kind == "M":
        return column
    return pd.to_datetime(column, errors="coerce", format="ISO8601", utc=True).dt.tz_localize(None)


def number_glasses(columns: Sequence[NameCodes], replicate: NDArray[np.int64]) -> Codes:
    """Number the glasses, sorted by the columns in turn and then by replicate."""
    parts = [(column.codes, len(column.names)) for column in columns]
    keys, size = np.zeros(len(replicate), dtype=np.intp), 1
    for codes, count in [*parts, _from_zero(replicate)]:
        if size * count > _ROOM * len(keys):
            keys, size = number(keys, size)
        keys, size = keys * count + codes, size * count
    return number(keys, size)[0]


def number(keys: Codes, size: int) -> tuple[Codes, int]:
    """Number keys below `size` in their order without gaps; and how many there are."""
    if size > _ROOM * len(keys):
        values, codes = np.unique(keys, return_inverse=True)
        return codes.astype(np.intp, copy=False), len(values)
    there = _there(keys, size)
    place = np.cumsum(there, dtype=np.intp) - 1
    return place[keys], int(np.count_nonzero(there))


def distinct(keys: Codes, size: int) -> Codes:
    """Keys below `size`, each once and in their order."""
    if size > _ROOM * len(keys):
        return np.unique(keys)
    return np.flatnonzero(_there(keys, size))


def _there(keys: Codes, size: int) -> Flags:
    there = np.zeros(size, dtype=np.bool_)
    there[keys] = True
    return there


def _from_zero(whole: NDArray[np.int64]) -> tuple[Codes, int]:
    """Whole numbers in their order from zero, with gaps if they are few."""
    least, most = (int(whole.min()), int(whole.max())) if len(whole) else (0, 0)
    if most - least < _ROOM * len(whole):
        return (whole - least).astype(np.intp, copy=False), most - least + 1
    codes, found = pd.factorize(whole, sort=True)
    return codes.astype(np.intp, copy=False), len(found)
