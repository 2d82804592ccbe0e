"""From ranked sets to a finding."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .by_person import chance_of, least_differences, person_sums, sums_about
from .chances import squares_by_chance
from .friedman import (
    NEARLY,
    drawn_p,
    exact_p,
    least_difference,
    least_difference_of_all,
    ranked,
    statistic,
)
from .plan import ERROR, rankings_needed
from .result import ChanceBy, RankedProduct, Ranking
from .verdict import RankedBy, ranking_verdict

if TYPE_CHECKING:
    import pandas as pd

KEPT = "kept"
UNANSWERED = "not answered"
_LEAST_PRODUCTS = 2


def assess_ranking(
    glasses: pd.DataFrame, *, session: str = "", note: str | None = None, seed: int = 1
) -> Ranking:
    """Say whether products that were ranked differ, and which surely do.

    Parameters
    ----------
    glasses
        One row a glass: `assessor`, `set`, `product`, `place` (1 the first, equal places are tied;
        missing: not ranked), `status` (kept counts). A set counts if all its glasses do; a product
        of which nobody's glass counts is left out, and the others are ranked.

    Examples
    --------
    >>> import pandas as pd
    >>> rows = [{"assessor": f"A{i}", "set": 1, "product": name, "place": place, "status": "kept"}
    ...         for i in range(6) for place, name in enumerate("xyz", start=1)]
    >>> found = assess_ranking(pd.DataFrame(rows))
    >>> found.verdict.word.value, round(found.p, 5), found.products[0].below
    ('different', 0.00013, ('z',))
    """
    counts = _counting(glasses)
    ranks = ranked(counts.places) if len(counts.places) else counts.places
    chances = _chances(ranks, counts.people, seed)
    products = _products(counts.names, ranks, chances)
    needed = rankings_needed(len(counts.names), 1.0) if len(counts.names) > 1 else None
    n_people = len(set(counts.people))
    return Ranking(
        session=session,
        note=note,
        n_rankings=len(ranks),
        n_people=n_people,
        n_tied=sum(len(set(row)) < len(row) for row in ranks.tolist()),
        products=products,
        chi_square=None if chances is None else chances.chi_square,
        p=None if chances is None else chances.p,
        chance_by=None if chances is None else chances.by,
        least_difference=None if chances is None else _finite(chances.least),
        least_difference_of_all=None if chances is None else _finite(chances.least_of_all),
        rankings_needed=needed,
        error=ERROR,
        left_out=counts.left_out,
        products_left_out=counts.products_left_out,
        verdict=ranking_verdict(
            RankedBy(products, note, len(ranks), n_people, counts.products_left_out),
            None if chances is None else chances.p,
            ERROR,
            needed,
        ),
    )


@dataclass(frozen=True)
class _Counted:
    """What counts: products, places by set and product, who ranked each set; what does not."""

    names: list[str]
    places: np.ndarray
    people: list[str]
    left_out: dict[str, int]
    products_left_out: dict[str, str]


def _counting(glasses: pd.DataFrame) -> _Counted:
    """Return what counts. A product that is missing from everybody's is left out of all sets."""
    gone = _missing(glasses)
    rest = glasses[~glasses["product"].isin(list(gone))]
    names = sorted(set(rest["product"]))
    left_out: Counter[str] = Counter()
    rows, people = [], []
    for (who, _), one in rest.groupby(["assessor", "set"], sort=True):
        odd = [status for status in one["status"] if status != KEPT]
        place = dict(zip(one["product"], one["place"], strict=True))
        if odd:
            left_out[str(odd[0]).replace("_", " ")] += 1
        elif set(place) != set(names) or any(map(math.isnan, place.values())):
            left_out[UNANSWERED] += 1
        else:
            rows.append([float(place[name]) for name in names])
            people.append(str(who))
    return _Counted(names, np.array(rows), people, dict(left_out), gone)


def _missing(glasses: pd.DataFrame) -> dict[str, str]:
    """Products of which no glass counts, and why, where two or more others have one that does."""
    counts = (glasses["status"] == KEPT) & glasses["place"].notna()
    there = set(glasses.loc[counts, "product"])
    if len(there) < _LEAST_PRODUCTS:
        return {}
    gone = glasses[~glasses["product"].isin(list(there))]
    return {str(name): _why(one["status"]) for name, one in gone.groupby("product", sort=True)}


def _why(statuses: pd.Series) -> str:
    """The reason that most of a product's glasses have."""
    whys = (UNANSWERED if one == KEPT else str(one).replace("_", " ") for one in statuses)
    return Counter(whys).most_common(1)[0][0]


@dataclass(frozen=True)
class _Chances:
    """How far apart the products came out, its chance, and by how much two sums have to differ."""

    chi_square: float
    p: float
    by: ChanceBy
    least: float
    least_of_all: float


def _chances(ranks: np.ndarray, people: list[str], seed: int) -> _Chances | None:
    """Judge rankings; None where nothing is told apart.

    Of people who ranked more than once each counts once. One person alone is judged set by set.
    """
    if not len(ranks) or statistic(ranks) is None:
        return None
    n_people = len(set(people))
    if n_people == len(ranks) or n_people == 1:
        p, by = _chance(ranks, seed)
        least, least_of_all = least_difference(ranks, ERROR), least_difference_of_all(ranks, ERROR)
        return _Chances(statistic(ranks) or 0.0, p, by, least, least_of_all)
    rows = person_sums(ranks, people)
    chi_square = statistic(rows + (rows.shape[1] + 1) / 2.0)
    if chi_square is None:
        return None
    about, counted = sums_about(rows, seed)
    p = chance_of(rows, about, counted=counted)
    least, least_of_all = least_differences(about, ERROR)
    by = ChanceBy.COUNTED if counted else ChanceBy.DRAWN
    return _Chances(chi_square, p, by, least, least_of_all)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _chance(ranks: np.ndarray, seed: int) -> tuple[float, ChanceBy]:
    n, p = ranks.shape
    table = None if _tied(ranks) else squares_by_chance(p, n)
    if table is not None:
        squares, chances = table
        least = float(np.sum((ranks.sum(axis=0) - n * (p + 1) / 2.0) ** 2)) - NEARLY
        return float(chances[squares >= least].sum()), ChanceBy.COUNTED
    counted = exact_p(ranks)
    if counted is not None:
        return counted, ChanceBy.COUNTED
    return drawn_p(ranks, seed), ChanceBy.DRAWN


def _tied(ranks: np.ndarray) -> bool:
    return any(len(set(row)) < len(row) for row in ranks.tolist())


def _products(
    names: list[str], ranks: np.ndarray, chances: _Chances | None
) -> tuple[RankedProduct, ...]:
    """Return the products by their sums; who stands before whom only where they differ at all."""
    if not len(ranks):
        return tuple(RankedProduct(name, 0.0, 0.0, ()) for name in names)
    sums = dict(zip(names, ranks.sum(axis=0).tolist(), strict=True))
    apart = chances is not None and chances.p <= ERROR and chances.least_of_all > 0
    least = chances.least_of_all if chances is not None and apart else np.inf
    order = sorted(names, key=lambda name: (sums[name], name))
    return tuple(
        RankedProduct(
            product=name,
            sum=sums[name],
            mean=sums[name] / len(ranks),
            below=tuple(other for other in order if sums[other] - sums[name] >= least),
        )
        for name in order
    )
