"""Which influences the draws can tell apart, and what would have to be nosed to do so.

The covariates are set side by side in standardised columns. An influence level is not to be
told from the rest when the others foretell it: variance inflation ``1 / (1 - R^2)`` over the
limit, or a large share in a nearly dependent combination when the condition number is over its
limit (Belsley, Kuh & Welsch 1980).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Matrix, Vector
from .factors import Covariate
from .settings import InfluenceSettings
from .terms import group_keys, peat_varies

CHOICES = (
    *(Covariate.WOOD, Covariate.FILL, Covariate.PREVIOUS),
    *(Covariate.WAREHOUSE, Covariate.MAKE),
)
WORDS = {
    Covariate.WOOD: "wood",
    Covariate.FILL: "fill number",
    Covariate.PREVIOUS: "previous contents",
    Covariate.WAREHOUSE: "warehouse",
    Covariate.MAKE: "make",
    Covariate.AGE: "age",
    Covariate.PHENOL: "phenols of the malt",
    Covariate.STRENGTH: "fill strength",
}
_MOST_VIF = 1e6
_LARGE_SHARE = 0.5
MOST_LISTED = 3


@dataclass(frozen=True)
class Inseparable:
    """A level of an influence that the draws cannot tell from other influences.

    Attributes
    ----------
    vif
        Variance inflation of the level by the other influences; a million stands for all more.
    apart_from
        The influences it goes together with, as words.
    remedy
        What to nose, so that it can be told.
    """

    factor: Covariate
    level: str
    vif: float
    apart_from: tuple[str, ...]
    remedy: str

    json_also = ("note",)

    @property
    def note(self) -> str:
        """Why there is no figure, and what would give one."""
        return f"cannot be separated from {' and '.join(self.apart_from)}: {self.remedy}"


@dataclass(frozen=True)
class Separation:
    """How well the draws tell the influences apart.

    Attributes
    ----------
    condition_number
        Of the standardised columns; above 30 some cannot be told apart. A million stands for
        all more.
    """

    condition_number: float
    inseparable: tuple[Inseparable, ...]

    def find(self, factor: Covariate, level: str) -> Inseparable | None:
        """Return what stands in the way of telling this level, if anything."""
        for part in self.inseparable:
            if part.factor is factor and part.level in {level, ""}:
                return part
        return None


@dataclass(frozen=True)
class _Column:
    """One standardised column: a level of a choice (level "" for a measure)."""

    factor: Covariate
    level: str
    values: Vector


def separation(
    draws: pd.DataFrame, factors: Sequence[Covariate], settings: InfluenceSettings
) -> Separation:
    """Find out which of some influences the draws can tell apart.

    Parameters
    ----------
    draws
        Draws that can be explained.
    factors
        Some of wood, fill, previous, warehouse, make, age, phenol, strength.

    Examples
    --------
    >>> draws = pd.DataFrame(
    ...     {"wood": ["butt", "barrel"] * 3, "previous": ["sherry", "bourbon"] * 3,
    ...      "fill_number": 1, "warehouse": "Loft", "make": "Low", "batch": "x"}
    ... )
    >>> found = separation(draws, (Covariate.WOOD, Covariate.PREVIOUS), InfluenceSettings())
    >>> [(part.factor.value, part.level, part.apart_from) for part in found.inseparable]
    [('wood', 'barrel', ('previous contents',)), ('previous', 'bourbon', ('wood',))]
    """
    columns = _columns(draws, factors)
    if not columns:
        return Separation(1.0, ())
    x = np.column_stack([column.values for column in columns])
    singular = np.linalg.svd(x, compute_uv=False)
    condition = _ratio(float(singular[0]), float(singular[-1]))
    suspects = _large_shares(x) if condition > settings.condition_limit else np.zeros(len(columns))
    found = []
    for place, column in enumerate(columns):
        others = {part.factor for part in columns} - {column.factor}
        vif = _vif(columns, place, others)
        if others and (vif > settings.vif_limit or suspects[place]):
            found.append(_explain(draws, columns, place, vif, settings))
    return Separation(condition, tuple(found))


def _columns(draws: pd.DataFrame, factors: Sequence[Covariate]) -> list[_Column]:
    keys = group_keys(draws)
    found = []
    for factor in factors:
        if factor in CHOICES:
            counts = keys[factor].value_counts()
            levels = sorted(counts.index[1:]) if len(counts) else []
            found += [(factor, str(level), keys[factor] == level) for level in levels]
        else:
            measured = _measured(draws, factor)
            found += [] if measured is None else [(factor, "", measured)]
    columns = [_Column(f, level, _standard(values)) for f, level, values in found]
    return [column for column in columns if column.values.any()]


def _measured(draws: pd.DataFrame, factor: Covariate) -> pd.Series | None:
    if factor is Covariate.AGE:
        return draws["age_years"]
    if factor is Covariate.STRENGTH:
        return draws["fill_abv"]
    ppm = draws["phenol_ppm"]
    return np.sqrt(ppm) if peat_varies(ppm) else None


def _standard(values: pd.Series) -> Vector:
    plain = values.to_numpy(dtype=np.float64)
    off = plain - plain.mean()
    length = float(np.linalg.norm(off))
    return off / length if length > 1e-9 * max(1.0, abs(plain.mean())) else np.zeros_like(off)


def _ratio(high: float, low: float) -> float:
    return min(high / low, _MOST_VIF) if low > 0 else _MOST_VIF


def _vif(columns: Sequence[_Column], place: int, others: set[Covariate]) -> float:
    """Variance inflation of one column by the columns of some other factors."""
    rest = [column.values for column in columns if column.factor in others]
    if not rest:
        return 1.0
    x, y = np.column_stack(rest), columns[place].values
    fitted = x @ np.linalg.lstsq(x, y, rcond=None)[0]
    return _ratio(1.0, float(((y - fitted) ** 2).sum()))


def _large_shares(x: Matrix) -> Vector:
    """Columns with a large share of their variance in the least direction."""
    _, singular, v = np.linalg.svd(x, full_matrices=False)
    parts = v**2 / np.maximum(singular[:, None], 1e-12) ** 2
    found: Vector = parts[-1] / parts.sum(axis=0) > _LARGE_SHARE
    return found


def _explain(
    draws: pd.DataFrame,
    columns: Sequence[_Column],
    place: int,
    vif: float,
    settings: InfluenceSettings,
) -> Inseparable:
    """Name the influences without which the level would be free, and what would free it."""
    column = columns[place]
    others = {other.factor for other in columns} - {column.factor}
    without = {name: _vif(columns, place, others - {name}) for name in sorted(others)}
    partners = tuple(name for name, left in without.items() if left <= settings.vif_limit < vif)
    if not partners:
        alone = {name: _vif(columns, place, {name}) for name in sorted(others)}
        partners = tuple(n for n, v in alone.items() if v > settings.vif_limit) or (
            max(alone, key=lambda name: alone[name]),
        )
    return Inseparable(
        factor=column.factor,
        level=column.level,
        vif=vif,
        apart_from=tuple(WORDS[name] for name in partners),
        remedy=_remedy(draws, column, partners[0]),
    )


def _remedy(draws: pd.DataFrame, column: _Column, partner: Covariate) -> str:
    keys = group_keys(draws)
    if column.factor not in CHOICES:
        return _remedy_measure(column.factor, partner)
    mine = keys[column.factor] == column.level
    what = _cask_of(column.factor, column.level)
    if partner in CHOICES:
        others = keys.loc[mine, partner].value_counts().index[:MOST_LISTED]
        return f"nose a cask {what} {_other_than(partner, ' or '.join(map(str, others)))}"
    if partner is Covariate.AGE:
        ages = draws["age_years"]
        return (
            f"casks {what} were nosed at {_span(ages[mine])} years, the others at "
            f"{_span(ages[~mine])}: nose them at the same ages"
        )
    return f"nose casks {what} of other {WORDS[partner]}"


def _remedy_measure(factor: Covariate, partner: Covariate) -> str:
    if factor is Covariate.AGE:
        return (
            "draw the same casks again a year or more on, or nose one "
            f"{WORDS[partner]} young and old"
        )
    return f"nose casks of one {WORDS[partner]} that differ in {WORDS[factor]}"


def _cask_of(factor: Covariate, level: str) -> str:
    words: Mapping[Covariate, str] = {
        Covariate.WOOD: f"of {level}",
        Covariate.FILL: f"in its {level}",
        Covariate.PREVIOUS: f"that held {level} before",
        Covariate.WAREHOUSE: f"from {level}",
        Covariate.MAKE: f"of make {level}",
    }
    return words[factor]


def _other_than(factor: Covariate, levels: str) -> str:
    words: Mapping[Covariate, str] = {
        Covariate.WOOD: f"in other wood than {levels}",
        Covariate.FILL: f"at another fill than {levels}",
        Covariate.PREVIOUS: f"that held something else than {levels}",
        Covariate.WAREHOUSE: f"in another warehouse than {levels}",
        Covariate.MAKE: f"with another make than {levels}",
    }
    return words[factor]


def _span(ages: pd.Series) -> str:
    return f"{ages.min():.0f} to {ages.max():.0f}"
