"""Small vattings by trying everything, written apart from the code under test."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from analysis.array_types import Floats
from analysis.target import Target
from analysis.vatting import Basis, Limits, Stock


def ends(target: Target, exponent: Floats) -> tuple[Floats, Floats, Floats]:
    """Lower and upper end of each tolerance as amounts, and amounts a point."""
    aim = np.array([line.aim for line in target.lines])
    tolerance = np.array([line.tolerance for line in target.lines])
    low = np.maximum(aim - tolerance, 0.0) ** (1.0 / exponent)
    high = (aim + tolerance) ** (1.0 / exponent)
    points = aim + tolerance - np.maximum(aim - tolerance, 0.0)
    return low, high, (high - low) / points


def missed(stock: Stock, target: Target, limits: Limits, exponent: Floats, litres: Floats) -> float:
    """Points outside the tolerances (equal weights), by needed pure alcohol."""
    low, high, slope = ends(target, exponent)
    lpa = litres * stock.casks["abv"].to_numpy() / 100.0
    amounts = stock.estimate ** (1.0 / exponent)
    over = lpa @ (amounts - high) / needed(limits) / slope
    under = np.where(low > 0.0, lpa @ (low - amounts) / needed(limits) / slope, 0.0)
    return float(np.maximum(over, 0.0).sum() + np.maximum(under, 0.0).sum())


def needed(limits: Limits) -> float:
    """Pure alcohol that the quantity takes at bottling strength."""
    assert limits.abv_percent is not None
    if limits.litres is not None:
        return limits.litres * limits.abv_percent / 100.0
    assert limits.bottles is not None
    bottled = limits.bottles * limits.bottle_ml / 1000.0
    return bottled / (1.0 - limits.loss_fraction) * limits.abv_percent / 100.0


def broken(stock: Stock, limits: Limits, litres: Floats, hair: float = 1e-5) -> list[str]:
    """Limits that litres of every cask of the stock do not keep, one by one from the records."""
    frame = stock.casks
    abv, bulk = frame["abv"].to_numpy(), frame["bulk_l"].to_numpy()
    used = litres > 0.0
    lpa = (litres * abv).sum() / 100.0
    found = []
    if lpa < needed(limits) * (1 - hair):
        found.append("short")
    if lpa > needed(limits) * (1 + limits.window + 3 * hair):
        found.append("over")
    if limits.abv_percent is not None and lpa * 100.0 < litres.sum() * (limits.abv_percent - hair):
        found.append("strength")
    for share in limits.shares:
        weight = {Basis.BULK: litres, Basis.LPA: litres * abv, Basis.CASKS: used * 1.0}[share.basis]
        member = frame[share.column].isin(share.values).to_numpy()
        part, whole = weight[member].sum(), weight.sum()
        if not (share.low - hair) * whole <= part <= (share.high + hair) * whole:
            found.append(share.words)
    if used.sum() > (limits.casks_max or len(frame)) or used.sum() < (limits.casks_min or 0):
        found.append("casks")
    if limits.age_statement_years is not None:
        young = frame["age_years"].to_numpy() < limits.age_statement_years
        found += ["age"] if (young & used).any() else []
    names = set(frame["cask"][used])
    if not names >= set(limits.must_include) or names & set(limits.must_exclude):
        found.append("names")
    return found + broken_draws(limits, litres[used], bulk[used], hair)


def broken_draws(limits: Limits, litres: Floats, bulk: Floats, hair: float) -> list[str]:
    """Draws that are too small, leave too little, or are not whole."""
    left = bulk - litres
    full = left <= hair
    if limits.whole:
        return [] if full.all() else ["whole"]
    found = []
    if (~full & (litres < limits.smallest_draw_litres - hair)).any():
        found.append("smallest draw")
    if (~full & (left < (limits.leave_litres or 0.0) - hair)).any():
        found.append("leave")
    return found


def every_whole(stock: Stock) -> Iterator[Floats]:
    """Litres of every choice of whole casks."""
    bulk = stock.casks["bulk_l"].to_numpy()
    for chosen in product((0.0, 1.0), repeat=len(stock.casks)):
        yield bulk * np.array(chosen)


def best_whole(stock: Stock, target: Target, limits: Limits, exponent: Floats) -> float:
    """Fewest points missed by any choice of whole casks; infinite when none keeps the limits."""
    return min(
        (
            missed(stock, target, limits, exponent, litres)
            for litres in every_whole(stock)
            if litres.any() and not broken(stock, limits, litres)
        ),
        default=np.inf,
    )


def best_parts(stock: Stock, target: Target, limits: Limits, exponent: Floats) -> float:
    """Fewest points missed by any draws: one linear program for every choice of casks.

    With litres to leave, every cask in use is tried both ways, drawn and emptied.
    """
    ways = (0, 1) if limits.leave_litres is None else (0, 1, 2)
    return min(
        _best_of_choice(stock, target, limits, exponent, np.array(choice))
        for choice in product(ways, repeat=len(stock.casks))
        if any(choice)
    )


def _best_of_choice(
    stock: Stock, target: Target, limits: Limits, exponent: Floats, way: NDArray[np.int_]
) -> float:
    count = int((way > 0).sum())
    if count > (limits.casks_max or count) or count < (limits.casks_min or 0):
        return np.inf
    bulk, abv = stock.bulk_litres, stock.abv_percent
    least = np.where(way == 1, np.minimum(limits.smallest_draw_litres, bulk), 0.0)
    most = np.where(way == 1, bulk - (limits.leave_litres or 0.0), 0.0)
    least, most = np.where(way == 2, bulk, least), np.where(way == 2, bulk, most)
    if (most < least).any():
        return np.inf
    low, high, slope = ends(target, exponent)
    alcohol = abv / 100.0 / needed(limits)
    amounts = stock.estimate ** (1.0 / exponent)
    soft = [
        *(alcohol[:, None] * (amounts - high) / slope).T,
        *(alcohol[:, None] * (low - amounts) / slope * (low > 0)).T,
    ]
    hard: list[tuple[Floats, float]] = [(-alcohol, -1.0), (alcohol, 1.0 + limits.window)]
    for share in limits.shares:
        member = stock.casks[share.column].isin(share.values).to_numpy().astype(float)
        hard += [((member - share.high) / 1000.0, 0.0), ((share.low - member) / 1000.0, 0.0)]
    n, k = len(bulk), len(soft)
    rows = np.vstack(
        [
            np.hstack([np.array(soft), -np.eye(k)]),
            np.hstack([np.array([row for row, _ in hard]), np.zeros((len(hard), k))]),
        ]
    )
    solved = linprog(
        np.r_[np.zeros(n), np.ones(k)],
        A_ub=rows,
        b_ub=np.r_[np.zeros(k), [limit for _, limit in hard]],
        bounds=[*zip(least, most, strict=True), *[(0.0, None)] * k],
    )
    return float(solved.fun) if solved.status == 0 else np.inf
