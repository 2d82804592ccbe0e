"""Shares moved by hand: what they come to, at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ..array_types import Flags, Floats, Ints
from ..as_json import AsJson
from ..bars import Bar
from ..digits import in_digits
from ..target import Target
from .eligible import Reason, Unfit, eligible_casks, every_reason
from .faults import FaultKind, LimitFault, LimitsError, nearest, unscored_faults
from .limits import Broken, LimitKey, LimitKind, Limits
from .mixing import MixingRule
from .mixture import Mixture, make_mixture
from .rows import most_of_quantity, shares_of_quantity
from .stock import Stock
from .task import Task, make_task
from .verdict import tried_action, tried_sentence

_HAIR = 1e-6
_SLACK = 1e-4


@dataclass(frozen=True)
class SharesTried(AsJson):
    """What litres chosen by hand come to.

    Attributes
    ----------
    mixture
        Parts, strength, water, bottles, age, expected profile and chance.
    broken
        The limits that these litres do not keep.
    """

    mixture: Mixture
    broken: tuple[Broken, ...]

    json_keys = (("mixture", "**"), ("broken_words", "broken"), ("broken", "broken_limits"))

    @property
    def broken_words(self) -> tuple[str, ...]:
        """The limits that are not kept, in words."""
        return tuple(each.sentence for each in self.broken)

    @property
    def sentence(self) -> str:
        """What the litres come to, and how sure it is."""
        return tried_sentence(self.mixture)

    @property
    def next_action(self) -> str:
        """What to do with them."""
        return tried_action(self.mixture, len(self.broken))


def try_shares(
    stock: Stock,
    parts: Mapping[str, float],
    target: Target,
    limits: Limits,
    rule: MixingRule | None = None,
) -> SharesTried:
    """Reckon what some litres of some casks come to; quick enough for every keystroke.

    Parameters
    ----------
    stock, target, limits, rule
        As in :func:`analysis.vatting.plan_vatting`. Nothing is chosen here; a limit that is
        not kept is told, not refused.
    parts
        Litres by cask; parts of 0 litres are left out.

    Raises
    ------
    LimitsError
        A cask that is not in stock, has no estimate on a line of the target or no strength,
        litres that are not in it, or nothing at all.

    Examples
    --------
    >>> import pandas as pd
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> from oakpanel.analysis.vatting import Limits, build_stock
    >>> casks = pd.DataFrame({"cask": ["a", "b"], "filling": ["a/1", "b/1"],
    ...     "age_years": [12.2, 14.0], "abv": [60.0, 60.0], "bulk_l": [200.0, 200.0]})
    >>> smoke = pd.DataFrame({"cask": ["a", "b"], "descriptor": "smoke",
    ...     "estimate": [10.0, 30.0], "sd": 0.0})
    >>> tried = try_shares(build_stock(casks, smoke), {"a": 50, "b": 150},
    ...     Target("Fen", (TargetLine("smoke", 20, 4),)), Limits(litres=260))
    >>> round(tried.mixture.expectation.lines[0].estimate, 1), tried.broken[0].sentence
    (25.0, 'It is parts of casks: cask a, b would not be empty.')
    >>> tried.broken[0].key.kind.value, tried.broken[0].casks
    ('whole casks', ('a', 'b'))
    """
    faults = list(_faults(stock, parts, target))
    if faults:
        raise LimitsError(faults)
    named = sorted((stock.position[name], float(given)) for name, given in parts.items() if given)
    rows = np.array([row for row, _ in named], dtype=np.intp)
    litres = np.array([given for _, given in named])
    few = stock.only(rows)
    task = make_task(few, target, limits, rule or MixingRule())
    here = np.arange(len(rows), dtype=np.intp)
    mixture = make_mixture(task, here, litres)
    over = limits.asks_quantity and _goes_over(stock, task.descriptors, limits, rows, litres)
    return SharesTried(mixture, tuple(_broken(task, mixture, here, litres, over=over)))


def _goes_over(
    stock: Stock, descriptors: tuple[str, ...], limits: Limits, rows: Ints, litres: Floats
) -> bool:
    """Whether it is more than a search may choose: counted as the search counts."""
    there = stock.available_litres[rows]
    given = litres / np.where(there > 0.0, there, np.inf)
    share = float(shares_of_quantity(stock, limits)[rows] @ given)
    chosen_from = rows
    if limits.abv_percent is None:  # how far mixing may shrink it is reckoned over all of them
        chosen_from = np.union1d(rows, eligible_casks(stock, descriptors, limits).rows)
    return share > most_of_quantity(stock, limits, chosen_from) + _SLACK


def _faults(stock: Stock, parts: Mapping[str, float], target: Target) -> Iterator[LimitFault]:
    if not any(litres > 0 for litres in parts.values()):
        yield LimitFault(
            FaultKind.QUANTITY, "Nothing is in it: give at least one cask some litres."
        )
    every = [line.descriptor for line in target.lines]
    yield from unscored_faults(target.name, every, stock.descriptors)
    lines = [name for name in every if name in stock.descriptors]
    for name, litres in parts.items():
        yield from _part_faults(stock, name, litres, lines)


def _part_faults(stock: Stock, name: str, litres: float, lines: list[str]) -> Iterator[LimitFault]:
    row = stock.position.get(name)
    if row is None:
        yield LimitFault(
            FaultKind.UNKNOWN_CASK, f"Cask {name} is not in stock.{nearest(name, stock.position)}"
        )
        return
    if not (np.isfinite(litres) and litres >= 0.0):
        yield LimitFault(
            FaultKind.NUMBER, f"{in_digits(litres, 'g')} L of cask {name}: give 0 or more."
        )
    elif np.isnan(stock.abv_percent[row]) or np.isnan(stock.bulk_litres[row]):
        yield LimitFault(
            FaultKind.UNUSABLE_CASK, f"Cask {name} has no litres or strength on record."
        )
    elif litres > stock.most_litres[row] + _HAIR:
        yield LimitFault(
            FaultKind.QUANTITY,
            f"{in_digits(litres, 'g')} L of cask {name}: it holds {held_words(stock, row)}.",
        )
    columns = stock.columns_of(lines)
    if litres and np.isnan(stock.estimate[row, columns] + stock.sd[row, columns]).any():
        yield LimitFault(
            FaultKind.DESCRIPTORS,
            f"Cask {name} has no estimate on every line of the target: nose it first.",
        )


def held_words(stock: Stock, row: int) -> str:
    """What a cask holds on the stock's day, with the ends where it is not sure."""
    expected, most = float(stock.bulk_litres[row]), float(stock.most_litres[row])
    if most <= expected + _HAIR:
        return f"{in_digits(expected, '.1f')} L"
    return (
        f"{in_digits(expected, '.1f')} L as reckoned from its gauges, "
        f"{in_digits(most, '.1f')} L at most"
    )


def _broken(
    task: Task, mixture: Mixture, rows: Ints, litres: Floats, *, over: bool
) -> Iterator[Broken]:
    yield from _broken_amounts(task.limits, mixture, over=over)
    yield from _broken_shares(mixture)
    yield from _broken_counts(task.limits, len(mixture.parts))
    yield from _broken_casks(task, rows)
    yield from _broken_draws(task, rows, litres)


def _broken_amounts(limits: Limits, mixture: Mixture, *, over: bool) -> Iterator[Broken]:
    poured = mixture.poured
    needed = limits.final_litres * (1.0 - _HAIR)
    if poured.sure_litres < needed:
        plainly = poured.final_litres < needed
        missing = limits.final_litres - (poured.final_litres if plainly else poured.sure_litres)
        said = (
            f"It is {in_digits(missing, '.1f')} L at bottling strength short of "
            f"{limits.quantity_words}"
        )
        said += "." if plainly else " if its casks hold the least that their gauges allow."
        yield Broken(LimitKey(LimitKind.QUANTITY), said)
    if over:
        said = (
            "Counting what is surely in each cask, it is more than "
            f"{in_digits(100 * limits.window, 'g')} % over {limits.quantity_words}."
        )
        yield Broken(LimitKey(LimitKind.EXCESS), said)
    if poured.water_reason is not None:
        said = f"It cannot be reduced: {poured.water_reason}."
        yield Broken(LimitKey(LimitKind.STRENGTH), said)


def _broken_shares(mixture: Mixture) -> Iterator[Broken]:
    for which, share in enumerate(mixture.shares):
        if not share.held:
            said = f"The share {share.share} is {in_digits(100 * share.reached, '.1f')} %."
            yield Broken(LimitKey(LimitKind.SHARE, which), said)


def _broken_counts(limits: Limits, count: int) -> Iterator[Broken]:
    if limits.casks_min is not None and count < limits.casks_min:
        said = f"It is made of {count} casks, fewer than {limits.casks_min}."
        yield Broken(LimitKey(LimitKind.CASKS_MIN), said)
    if limits.casks_max is not None and count > limits.casks_max:
        said = f"It is made of {count} casks, more than {limits.casks_max}."
        yield Broken(LimitKey(LimitKind.CASKS_MAX), said)


_LIMIT_OF: dict[Reason, LimitKind] = {
    Bar.RESERVED: LimitKind.RESERVED,
    Bar.GAUGE: LimitKind.GAUGE,
    Unfit.UNDER_AGE: LimitKind.AGE,
    Unfit.TOO_LITTLE: LimitKind.CASK_LPA,
    Unfit.EXCLUDED: LimitKind.MUST_EXCLUDE,
}
"""Reasons that are limits of their own; every other forbids the cask whatever is asked."""


def _broken_casks(task: Task, rows: Ints) -> Iterator[Broken]:
    names = task.stock.names
    for row in rows:
        for reason in every_reason(task.stock, task.descriptors, task.limits, int(row)):
            if reason is not Bar.PARTLY_RESERVED:
                key = LimitKey(_LIMIT_OF.get(reason, LimitKind.BARRED))
                yield Broken(key, f"Cask {names[row]} is {reason}.", (str(names[row]),))
    for which, name in enumerate(task.limits.must_include):
        if name not in set(names[rows]):
            key = LimitKey(LimitKind.MUST_INCLUDE, which)
            yield Broken(key, f"Cask {name} must be in and is not.", (name,))


def _broken_draws(task: Task, rows: Ints, litres: Floats) -> Iterator[Broken]:
    limits, stock = task.limits, task.stock
    left = stock.bulk_litres[rows] - litres
    names = stock.names[rows].astype(str)

    def told(kind: LimitKind, which: Flags, before: str, after: str = "") -> Iterator[Broken]:
        casks = tuple(str(name) for name in names[which])
        if casks:
            yield Broken(LimitKey(kind), f"{before}: cask {', '.join(casks)}{after}.", casks)

    over = litres > stock.available_litres[rows] + _HAIR
    yield from told(LimitKind.RESERVED, over, "Litres reserved elsewhere would be taken")
    if limits.whole:
        partial = left > _HAIR
        yield from told(LimitKind.WHOLE, partial, "It is parts of casks", " would not be empty")
        return
    small = (litres < limits.smallest_draw_litres - _HAIR) & (left > _HAIR)
    least = f"Drawn less than {in_digits(limits.smallest_draw_litres, 'g')} L"
    yield from told(LimitKind.SMALLEST_DRAW, small, least)
    little = (left > _HAIR) & (left < (limits.leave_litres or 0.0) - _HAIR)
    yield from told(
        LimitKind.LEAVE, little, f"Left with less than {in_digits(limits.leave_litres or 0, 'g')} L"
    )
