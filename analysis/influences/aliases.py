"""Influences that go together in the casks nosed, so that only all of them can be tested at once.

Where every butt holds a peated make, no test tells wood from peat, though both together may move
a note beyond doubt. Such influences make a set; a set is tested by one F of all its columns.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from ..array_types import Matrix
from .factors import Factor

TOLD = 0.1
"""Least part of what an influence has that another must leave of it (a variance inflation of ten,
as in the search for levels that cannot be told)."""
MAY_GO_TOGETHER = (
    *(Factor.WOOD, Factor.FILL, Factor.PHENOLS, Factor.PREVIOUS, Factor.WAREHOUSE),
    Factor.MAKE,
)


def sets_of(columns: Mapping[str, Matrix], *, few_peats: bool) -> tuple[tuple[Factor, ...], ...]:
    """Sets of influences of which one is made up by another.

    Parameters
    ----------
    columns
        Centred columns of each influence that varies; of the phenols as they were in the malt.
    few_peats
        Makes of different phenols are so few that peat and make cannot be told apart; otherwise
        that a make has one peat puts the two in no set, since many makes tell.

    Examples
    --------
    >>> column = np.array([[1.0], [1.0], [-1.0], [-1.0]])
    >>> other = np.array([[1.0], [-1.0], [1.0], [-1.0]])
    >>> found = sets_of({"wood": column, "previous": column, "fill": other}, few_peats=False)
    >>> [[str(name) for name in part] for part in found]
    [['wood', 'previous']]
    """
    there = [name for name in MAY_GO_TOGETHER if name in columns]
    sets = [{name} for name in there]
    for place, one in enumerate(there):
        for other in there[place + 1 :]:
            if {one, other} == {Factor.PHENOLS, Factor.MAKE} and not few_peats:
                continue
            if made_up(columns[one], columns[other]) or made_up(columns[other], columns[one]):
                sets = _joined(sets, one, other)
    if Factor.MAKE in there:
        for part in sets:
            if Factor.PHENOLS in part and len(part) > 1 and Factor.MAKE not in part:
                sets = _joined(sets, Factor.PHENOLS, Factor.MAKE)
                break
    return tuple(tuple(n for n in there if n in part) for part in sets if len(part) > 1)


def made_up(own: Matrix, other: Matrix) -> bool:
    """Whether another influence leaves hardly anything of one."""
    left = own - other @ np.linalg.lstsq(other, own, rcond=None)[0]
    return float((left**2).sum()) < TOLD * float((own**2).sum())


def beside(
    name: Factor, columns: Mapping[str, Matrix], together: Collection[Factor]
) -> tuple[Factor, ...]:
    """Of a set, those that leave hardly anything of one influence."""
    return tuple(
        other for other in together if other is not name and made_up(columns[name], columns[other])
    )


def _joined(sets: list[set[Factor]], one: Factor, other: Factor) -> list[set[Factor]]:
    mine = next(part for part in sets if one in part)
    theirs = next(part for part in sets if other in part)
    if mine is theirs:
        return sets
    return [*(part for part in sets if part is not mine and part is not theirs), mine | theirs]
