"""From ranked sets to a finding."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from .chances import squares_by_chance
from .friedman import (
    NEARLY,
    drawn_p,
    exact_p,
    least_difference,
    least_difference_of_all,
    pair_error,
    ranked,
    statistic,
)
from .plan import ERROR, rankings_needed
from .result import ChanceBy, RankedProduct, Ranking
from .verdict import ranking_verdict

if TYPE_CHECKING:
    import pandas as pd

KEPT = "kept"
UNANSWERED = "not answered"


def assess_ranking(
    glasses: pd.DataFrame, *, session: str = "", note: str | None = None, seed: int = 1
) -> Ranking:
    """Say whether products that were ranked differ, and which surely do.

    Parameters
    ----------
    glasses
        One row a glass: `assessor`, `set`, `product`, `place` (1 the first, equal places are tied;
        missing: not ranked), `status` (kept counts). A set counts if all its glasses do.

    Examples
    --------
    >>> import pandas as pd
    >>> rows = [{"assessor": f"A{i}", "set": 1, "product": name, "place": place, "status": "kept"}
    ...         for i in range(6) for place, name in enumerate("xyz", start=1)]
    >>> found = assess_ranking(pd.DataFrame(rows))
    >>> found.verdict.word.value, round(found.p, 5), found.products[0].below
    ('different', 0.00013, ('z',))
    """
    names, places, people, left_out = _counting(glasses)
    ranks = ranked(places) if len(places) else places
    chi_square = statistic(ranks) if len(ranks) else None
    p, by = _chance(ranks, seed) if chi_square is not None else (None, None)
    products = _products(names, ranks, p)
    needed = rankings_needed(len(names), 1.0) if len(names) > 1 else None
    told = chi_square is not None
    return Ranking(
        session=session,
        note=note,
        n_rankings=len(ranks),
        n_people=len(people),
        n_tied=sum(len(set(row)) < len(row) for row in ranks.tolist()),
        products=products,
        chi_square=chi_square,
        p=p,
        chance_by=by,
        least_difference=least_difference(ranks, ERROR) if told else None,
        least_difference_of_all=least_difference_of_all(ranks, ERROR) if told else None,
        rankings_needed=needed,
        error=ERROR,
        left_out=left_out,
        verdict=ranking_verdict(products, note, len(ranks), p, ERROR, needed),
    )


def _counting(
    glasses: pd.DataFrame,
) -> tuple[list[str], np.ndarray, set[str], dict[str, int]]:
    """Return products, places by set and product, who ranked, and sets that do not count."""
    names = sorted(set(glasses["product"]))
    left_out: Counter[str] = Counter()
    rows, people = [], set()
    for (who, _), one in glasses.groupby(["assessor", "set"], sort=True):
        odd = [status for status in one["status"] if status != KEPT]
        place = dict(zip(one["product"], one["place"], strict=True))
        if odd:
            left_out[str(odd[0]).replace("_", " ")] += 1
        elif set(place) != set(names) or any(map(math.isnan, place.values())):
            left_out[UNANSWERED] += 1
        else:
            rows.append([float(place[name]) for name in names])
            people.add(str(who))
    return names, np.array(rows), people, dict(left_out)


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


def _products(names: list[str], ranks: np.ndarray, p: float | None) -> tuple[RankedProduct, ...]:
    """Return the products by their sums; who stands before whom only where they differ at all."""
    if not len(ranks):
        return tuple(RankedProduct(name, 0.0, 0.0, ()) for name in names)
    sums = dict(zip(names, ranks.sum(axis=0).tolist(), strict=True))
    apart = p is not None and p <= ERROR and pair_error(ranks) > 0
    least = least_difference_of_all(ranks, ERROR) if apart else np.inf
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
