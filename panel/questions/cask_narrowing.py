"""A long list of casks, narrowed by what they hold, how they stand and what is flagged."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import reduce

from analysis.bars import Bar
from panel.questions.cask_life import LOW_STRENGTH, CaskLine
from panel.questions.stock_part import FOLDS, fold_of


class Flag(StrEnum):
    """What somebody who walks through the warehouse ought to know of a cask."""

    LEAK = "leak"
    HOLD = "hold"
    GAUGE = "old gauge"
    NEVER = "never gauged"
    STRENGTH = "low strength"


_FLAGGED = {
    Bar.LEAKING: Flag.LEAK,
    Bar.HOLD: Flag.HOLD,
    Bar.FAULT: Flag.HOLD,
    Bar.GAUGE: Flag.GAUGE,
    Bar.STRENGTH: Flag.STRENGTH,
}


def flags_of(line: CaskLine) -> tuple[Flag, ...]:
    """Return the flags of what lies in a cask, the most pressing first."""
    if line.today is None:
        return ()
    found = {_FLAGGED[each.bar] for each in line.today.bars if each.bar in _FLAGGED}
    if Flag.GAUGE in found and line.today.state.never_gauged:
        found = found - {Flag.GAUGE} | {Flag.NEVER}
    if line.today.state.abv < LOW_STRENGTH:
        found.add(Flag.STRENGTH)
    return tuple(flag for flag in Flag if flag in found)


@dataclass(frozen=True)
class Narrowing:
    """What a list is narrowed to; an empty part asks nothing. Ages in years, both ends within."""

    makes: tuple[str, ...] = ()
    woods: tuple[str, ...] = ()
    state: str = ""
    flag: Flag | None = None
    age_from: float | None = None
    age_to: float | None = None
    sites: tuple[str, ...] = ()
    warehouses: tuple[str, ...] = ()
    owners: tuple[str, ...] = ()
    parcels: tuple[str, ...] = ()

    @property
    def asks_nothing(self) -> bool:
        """Whether it leaves every cask in."""
        return self == Narrowing()


Numbers = set[str]


@dataclass
class CaskIndex:
    """Which casks have what, looked up once for a whole list: narrowing it takes no pass more."""

    makes: dict[str, Numbers] = field(default_factory=lambda: defaultdict(set))
    woods: dict[str, Numbers] = field(default_factory=lambda: defaultdict(set))
    states: dict[str, Numbers] = field(default_factory=lambda: defaultdict(set))
    flags: dict[Flag, Numbers] = field(default_factory=lambda: defaultdict(set))
    ages: list[tuple[float, str]] = field(default_factory=list)
    folds: dict[str, dict[str, Numbers]] = field(
        default_factory=lambda: {by: defaultdict(set) for by in FOLDS}
    )

    @classmethod
    def of(cls, lines: Iterable[CaskLine]) -> CaskIndex:
        """Look up all of a list."""
        index = cls()
        for line in lines:
            index._add(line)
        index.ages.sort()
        return index

    def _add(self, line: CaskLine) -> None:
        self.woods[line.wood].add(line.number)
        self.states[line.status].add(line.number)
        for flag in flags_of(line):
            self.flags[flag].add(line.number)
        state = line.state
        if state is None:
            return
        for by in FOLDS:
            if name := fold_of(state, by):
                self.folds[by][name].add(line.number)
        for make in state.makes or ([state.make] if state.make else []):
            self.makes[make].add(line.number)
        if state.age_years is not None:
            self.ages.append((state.age_years, line.number))

    def numbers(self, asked: Narrowing) -> Numbers | None:
        """Return the numbers of the casks that have all that is asked; None for every cask."""
        if asked.asks_nothing:
            return None
        wanted = []
        if asked.makes:
            wanted.append(_any_of(self.makes, asked.makes))
        if asked.woods:
            wanted.append(_any_of(self.woods, asked.woods))
        if asked.state:
            wanted.append(self.states.get(asked.state, set()))
        if asked.flag is not None:
            wanted.append(self.flags.get(asked.flag, set()))
        for by, names in zip(FOLDS, _parts(asked), strict=True):
            if names:
                wanted.append(_any_of(self.folds[by], names))
        if asked.age_from is not None or asked.age_to is not None:
            wanted.append(self._aged(asked))
        return reduce(set.intersection, sorted(wanted, key=len))

    def _aged(self, asked: Narrowing) -> Numbers:
        low = -1.0 if asked.age_from is None else asked.age_from
        first = bisect_left(self.ages, (low, ""))
        last = len(self.ages)
        if asked.age_to is not None:
            last = bisect_right(self.ages, asked.age_to, key=lambda pair: pair[0])
        return {number for _, number in self.ages[first:last]}


def _parts(asked: Narrowing) -> tuple[tuple[str, ...], ...]:
    """What is asked of site, warehouse, owner and parcel, in the order of `FOLDS`."""
    return asked.sites, asked.warehouses, asked.owners, asked.parcels


def _any_of(held: dict[str, Numbers], names: Sequence[str]) -> Numbers:
    return set().union(*(held.get(name, set()) for name in names))
