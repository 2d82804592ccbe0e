"""Woods and fill numbers compared: at common ages, in common fills."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..array_types import Flags
from .factors import Covariate, Factor
from .ground import Comparison, Ground, apart, overlap, stacked
from .terms import Points

AGES_TO_AVERAGE = 5


def _grid(low: float, high: float) -> list[float]:
    return list(np.linspace(low, high, AGES_TO_AVERAGE))


def woods(ground: Ground) -> Iterator[Comparison]:
    """Each wood against the one nosed most, at common ages and fill numbers."""
    ages = ground.ages
    counts = ground.draws.groupby(ground.keys["wood"])["cask"].nunique()
    if len(counts) == 1:
        blank = Comparison(Factor.WOOD, str(counts.index[0]), "other woods", int(counts.iloc[0]))
        yield replace(blank, note="all casks nosed are of this one wood: nose another beside it")
        return
    base = str(counts.idxmax())
    for wood in sorted(counts.index.drop(base)):
        mine, theirs = ground.rows("wood", str(wood)), ground.rows("wood", base)
        blank = Comparison(Factor.WOOD, str(wood), base, int(counts[wood]))
        stands = ground.separation.find(Covariate.WOOD, str(wood))
        both = overlap(ages[mine], ages[theirs])
        fills = sorted(_fills(ground, mine) & _fills(ground, theirs))
        if stands:
            yield replace(blank, note=stands.note)
        elif both is None:
            yield replace(blank, note=apart(str(wood), ages[mine], base, ages[theirs]))
        elif not fills:
            note = f"no fill number in common with {base}: nose both in the same fill"
            yield replace(blank, note=note)
        else:
            plus, minus = (_at_fills(ground, name, fills, both) for name in (str(wood), base))
            yield ground.compared(blank, plus, minus, _held(ground, str(wood), base))


def _fills(ground: Ground, rows: Flags) -> set[str]:
    return set(ground.keys["fill"].to_numpy()[rows].tolist())


def _at_fills(ground: Ground, wood: str, fills: Sequence[str], ages: tuple[float, float]) -> Points:
    return stacked([_cell(ground, wood, fill, _grid(*ages)) for fill in fills])


def _cell(ground: Ground, wood: str, fill: str, ages: Sequence[float]) -> Points:
    return ground.points(
        ages,
        wood=ground.code("wood", wood),
        fill=ground.code("fill", fill),
        wood_fill=ground.code("wood_fill", f"{wood}, {fill}"),
    )


def _held(ground: Ground, wood: str, base: str) -> str | None:
    """Say so where a wood and what it held before go together."""
    held = [
        sorted(set(ground.draws["previous"].to_numpy()[ground.rows("wood", w)].tolist()))
        for w in (wood, base)
    ]
    if not any(ground.separation.find(Covariate.PREVIOUS, name) for name in {*held[0], *held[1]}):
        return None
    if held[0] == held[1]:
        return None
    return f"with what it held: {'/'.join(held[0])} against {'/'.join(held[1])}"


def fills(ground: Ground) -> Iterator[Comparison]:
    """Each fill number against the lowest, in the woods that have both."""
    fills = _in_order(ground, np.ones(len(ground.keys), dtype=np.bool_))
    woods = sorted(set(ground.keys["wood"].to_list()))
    for fill in fills[1:]:
        n = ground.count(ground.rows("fill", fill))
        yield _fill_against(ground, Factor.FILL, fill, fills[0], woods, n)


def _in_order(ground: Ground, rows: Flags) -> list[str]:
    """The fills among some rows, the lowest number first."""
    numbers = ground.draws.loc[rows, "fill_number"].astype("int64")
    first = ground.keys.loc[rows, "fill"].groupby(numbers, sort=True).first()
    return [str(fill) for fill in first]


def fills_in_woods(ground: Ground) -> Iterator[Comparison]:
    """Each fill number against the lowest of the same wood."""
    keys = ground.keys
    if keys["wood"].nunique() == 1:
        return
    for wood in sorted(set(keys["wood"].to_list())):
        mine = ground.rows("wood", wood)
        fills = _in_order(ground, mine)
        for fill in fills[1:]:
            n = ground.count(mine & ground.rows("fill", fill))
            found = _fill_against(ground, Factor.WOOD_FILL, fill, fills[0], [wood], n)
            yield replace(found, level=f"{wood}, {fill}", against=f"{wood}, {fills[0]}")


def _fill_against(
    ground: Ground, factor: Factor, fill: str, base: str, woods: Sequence[str], n: int
) -> Comparison:
    ages = ground.ages
    blank = Comparison(factor, fill, base, n)
    stands = ground.separation.find(Covariate.FILL, fill)
    if stands:
        return replace(blank, note=stands.note)
    plus, minus = [], []
    for wood in woods:
        mine = ground.rows("wood", wood) & ground.rows("fill", fill)
        theirs = ground.rows("wood", wood) & ground.rows("fill", base)
        both = overlap(ages[mine], ages[theirs]) if mine.any() and theirs.any() else None
        if both is not None:
            plus.append(_cell(ground, wood, fill, _grid(*both)))
            minus.append(_cell(ground, wood, base, _grid(*both)))
    if not plus:
        where = "in no wood" if len(woods) > 1 else "not"
        note = f"{where} nosed in {fill} and {base} at the same ages: nose both at one age"
        return replace(blank, note=note)
    return ground.compared(blank, stacked(plus), stacked(minus))
