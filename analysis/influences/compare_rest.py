"""Years, phenols, strength, previous contents, warehouses and makes compared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import numpy as np
import pandas as pd

from ..array_types import Flags
from ..digits import in_digits
from .evidence import LEAST_SPAN_YEARS
from .factors import Covariate, Factor
from .ground import Comparison, Ground, apart, overlap, stacked

LEAST_STRENGTH_SPAN = 1.0
LEAST_MAKES = 3


def ages(ground: Ground) -> Iterator[Comparison]:
    """What the years do: over all casks nosed, and wood by wood."""
    draws = ground.draws
    low, high = (float(draws["age_years"].quantile(q)) for q in (0.1, 0.9))
    yield _years(ground, Factor.AGE, "", np.ones(len(draws), dtype=np.bool_), (low, high))
    if ground.keys["wood"].nunique() == 1:
        return
    for wood in sorted(set(ground.keys["wood"].to_list())):
        mine = ground.rows("wood", wood)
        ages = ground.ages[mine]
        span = (float(ages.min()), float(ages.max()))
        yield _years(ground, Factor.AGE_IN_WOOD, str(wood), mine, span)


def _years(
    ground: Ground, factor: Factor, wood: str, rows: Flags, span: tuple[float, float]
) -> Comparison:
    low, high = span
    ages = f"{low:.0f} to {high:.0f} years"
    level = f"{wood}, {ages}" if wood else ages
    blank = Comparison(factor, level, f"{low:.0f} years", ground.count(rows))
    stands = ground.separation.find(Covariate.AGE, "")
    if high - low < LEAST_SPAN_YEARS:
        return replace(blank, note="nosed at one age only: nose younger and older casks too")
    if stands and ground.levels.between_mid is None:
        return replace(blank, note=stands.note)
    n = int(rows.sum())
    chosen = ground.every.some(rows)
    chosen = replace(chosen, age_when_nosed=np.full(n, ground.levels.between_mid or 0.0))
    plus, minus = (chosen.at(np.full(n, age)) for age in (high, low))
    again = "read from casks drawn again, those of different ages tell another story"
    return ground.compared(blank, plus, minus, None if ground.levels.between_mid is None else again)


def phenols(ground: Ground) -> Iterator[Comparison]:
    """The smokiest malt against the least smoky, at the ages nosed."""
    ppm = ground.draws["phenol_ppm"]
    low, high = float(ppm.min()), float(ppm.max())
    blank = Comparison(Factor.PHENOLS, f"{low:.0f} to {high:.0f} ppm", f"{low:.0f} ppm", 0)
    blank = replace(blank, n_casks=ground.count((ppm == high).to_numpy()))
    if ground.levels.ppm_ref is None:
        yield replace(blank, note="the makes hardly differ in phenols: nose a smokier one")
        return
    if stands := ground.separation.find(Covariate.PHENOL, ""):
        yield replace(blank, note=stands.note)
        return
    ages = list(ground.draws["age_years"])
    kinds = _kinds_of_malt(ppm)
    few = f"rests on {kinds} kinds of malt: a make's own character is in it"
    yield ground.compared(
        replace(blank, n_casks=ground.count((ppm > 0).to_numpy())),
        ground.points(ages, ppm=high),
        ground.points(ages, ppm=low),
        few if kinds < LEAST_MAKES else None,
    )


def _kinds_of_malt(ppm: pd.Series) -> int:
    """Phenol contents that differ by a third or more."""
    kinds, last = 0, -1.0
    for value in sorted(set(ppm)):
        if last < 0 or value > last * 4 / 3 + 1:
            kinds, last = kinds + 1, value
    return kinds


def strength(ground: Ground) -> Iterator[Comparison]:
    """One per cent by volume more when filled."""
    abv = ground.draws["fill_abv"]
    low, high = (float(abv.quantile(q)) for q in (0.05, 0.95))
    blank = Comparison(
        Factor.FILL_STRENGTH, "1 % vol more", "1 % vol less", ground.count((abv > 0).to_numpy())
    )
    if high - low < LEAST_STRENGTH_SPAN:
        note = (
            f"all were filled at nearly one strength ({in_digits(low, '.1f')} to "
            f"{in_digits(high, '.1f')} % vol)"
        )
        yield replace(blank, note=note)
    elif stands := ground.separation.find(Covariate.STRENGTH, ""):
        yield replace(blank, note=stands.note)
    else:
        minus = ground.points([ground.levels.age_mid])
        plus = replace(minus, fill_abv=minus.fill_abv + 1.0)
        yield ground.compared(blank, plus, minus, f"filled at {low:.0f} to {high:.0f} % vol")


def previous(ground: Ground) -> Iterator[Comparison]:
    """Previous contents against the commonest, where wood does not say them already."""
    given, ages = ground.draws["previous"], ground.ages
    counts = ground.draws.groupby(given)["cask"].nunique()
    if len(counts) == 1:
        blank = Comparison(
            Factor.PREVIOUS, str(counts.index[0]), "other contents", int(counts.iloc[0])
        )
        yield replace(blank, note="all casks nosed held the same before")
        return
    base = str(given.mode().iloc[0])
    for held in sorted(counts.index.drop(base)):
        blank = Comparison(Factor.PREVIOUS, str(held), base, int(counts[held]))
        mine, theirs = ((given == name).to_numpy(dtype=np.bool_) for name in (held, base))
        both = overlap(ages[mine], ages[theirs])
        if stands := ground.separation.find(Covariate.PREVIOUS, str(held)):
            yield replace(blank, note=stands.note)
        elif both is None:
            yield replace(blank, note=apart(str(held), ages[mine], base, ages[theirs]))
        else:
            plus, minus = (
                ground.points([sum(both) / 2], previous=ground.code("previous", name))
                for name in (str(held), base)
            )
            yield ground.compared(blank, plus, minus)


def against_average(
    ground: Ground, group: Literal[Covariate.WAREHOUSE, Covariate.MAKE]
) -> Iterator[Comparison]:
    """Each warehouse or make against the average of them all: drawn towards it if little known."""
    names = ground.levels.names.get(group)
    if names is None:
        known = sorted(set(ground.keys[group].dropna()))
        of_what = f"other {group}s" if known else f"any {group}"
        blank = Comparison(Factor(group), known[0] if known else f"no {group}", of_what, 0)
        count = "one" if known else "no"
        yield replace(blank, note=f"{count} {group} only among the casks nosed")
        return
    for name in names:
        rows = ground.rows(group, name)
        ppm = float(np.median(ground.every.phenol_ppm[rows]))
        blank = Comparison(Factor(group), name, f"average {group}", ground.count(rows))
        if stands := ground.separation.find(group, name):
            yield replace(blank, note=stands.note)
            continue
        at = [ground.levels.age_mid]
        each = [ground.points(at, ppm=ppm, **{group: ground.code(group, n)}) for n in names]
        yield ground.compared(blank, each[names.index(name)], stacked(each))
