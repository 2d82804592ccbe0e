"""A plan as one linear problem: a block of rows a release, and rows that all share."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..array_types import Floats, Ints
from ..bars import Bar
from ..vatting.eligible import eligible_casks, share_members
from ..vatting.limits import LimitKind
from ..vatting.model import Model, build_model
from ..vatting.stock import Stock
from ..vatting.task import Band, Task, band_of, make_task
from .question import MustStay, PlannedRelease, PlanQuestion
from .spread import likely_sd

_HAIR = 1e-6
SHORT_POINTS = 1000.0
"""What a release costs of which nothing is made: quantity comes before any point of a note."""


@dataclass(frozen=True, eq=False)
class Block:
    """One release: its vatting over the casks of its day.

    Attributes
    ----------
    model
        Rows over the fraction that each cask gives of what is free in it on the day; its weights
        and preferences are times the weight of the release.
    task
        Its stock, target and limits.
    litres_only
        Whether its notes do not count.
    """

    release: PlannedRelease
    task: Task
    model: Model
    litres_only: bool

    @property
    def casks(self) -> Ints:
        """Rows of the stock that may go in, one a column of the model."""
        return self.model.rows

    @cached_property
    def short(self) -> Floats:
        """What the hard rows are eased by if nothing of the release is made."""
        quantity = np.array([_is(key, LimitKind.QUANTITY) for key in self.model.hard_key])
        eased: Floats = np.where(quantity, -self.model.hard_limit, 0.0)
        return eased

    @cached_property
    def short_count(self) -> Floats:
        """The same of the counts."""
        least = np.array([_is(key, LimitKind.CASKS_MIN) for key in self.model.count_key])
        eased: Floats = np.where(least, -self.model.count_limit, 0.0)
        return eased

    @property
    def short_cost(self) -> float:
        """What it costs if nothing of the release is made."""
        return SHORT_POINTS * self.release.weight

    def missing(self, fractions: Floats) -> float:
        """The share of the quantity that is not there."""
        over = self.model.hard @ fractions - self.model.hard_limit
        eased = self.short > 0.0
        missing = over[eased] / self.short[eased]
        share = float(np.clip(missing, 0.0, 1.0).max(initial=0.0))
        return share if share > _HAIR else 0.0

    def value(self, fractions: Floats) -> float:
        """Weighted points outside the band, small preferences, and what is missing."""
        return self.model.objective(fractions) + self.short_cost * self.missing(fractions)


def _is(key: object, kind: LimitKind) -> bool:
    return key is not None and getattr(key, "kind", None) is kind


@dataclass(frozen=True, eq=False)
class HouseRow:
    """A row over the fractions of all blocks.

    Attributes
    ----------
    name
        What it is of: a year, or what must stay.
    year
        The calendar year whose draws it counts; None where it is of what must stay.
    litres
        By block, litres of each of its columns; None for a block it does not count.
    limit
        Most litres.
    """

    name: str
    year: int | None
    litres: tuple[Floats | None, ...]
    limit: float

    def taken(self, fractions: list[Floats]) -> float:
        """Litres that the blocks take of it."""
        return float(
            sum(
                part @ given
                for part, given in zip(self.litres, fractions, strict=True)
                if part is not None
            )
        )


@dataclass(frozen=True, eq=False)
class Problem:
    """All blocks in the order of their days, and the rows of the house."""

    question: PlanQuestion
    blocks: tuple[Block, ...]
    house: tuple[HouseRow, ...]
    n_casks: int

    @property
    def pairs(self) -> int:
        """Ways a cask may go into a release."""
        return sum(block.model.n for block in self.blocks)

    def value(self, fractions: list[Floats]) -> float:
        """Objective of some fractions, by block."""
        return sum(block.value(given) for block, given in zip(self.blocks, fractions, strict=True))

    def used(self, fractions: list[Floats]) -> Floats:
        """What is given of each cask in all."""
        used = np.zeros(self.n_casks)
        for block, given in zip(self.blocks, fractions, strict=True):
            used[block.casks] += given
        return used


def build_problem(question: PlanQuestion) -> Problem:
    """Lay the question out as rows and columns."""
    blocks = tuple(build_block(question, release) for release in question.by_date)
    return Problem(question, blocks, house_rows(question, blocks), len(question.casks))


def house_rows(question: PlanQuestion, blocks: tuple[Block, ...]) -> tuple[HouseRow, ...]:
    """Lay out what holds for all blocks together."""
    return (*_years(question, blocks), *_stays(question, blocks))


def build_block(question: PlanQuestion, release: PlannedRelease) -> Block:
    """Lay one release out over the casks of its day."""
    litres_only = release.on in question.litres_only
    stock = question.stocks[release.on]
    if litres_only:
        stock = without_notes(stock, tuple(line.descriptor for line in release.target.lines))
    task = make_task(stock, release.target, release.limits, question.rule)
    model = build_model(task, _band(question, task, litres_only))
    if len(not_to_be_had(task, model)):
        model = model.only(np.empty(0, dtype=np.intp))  # without it nothing is made
    weight = release.weight
    model = replace(model, soft_weight=model.soft_weight * weight, cost=model.cost * weight)
    return Block(release, task, model, litres_only)


def not_to_be_had(task: Task, model: Model) -> Ints:
    """Rows of the stock that must be in, and may not go in."""
    rows = [task.stock.position[name] for name in dict.fromkeys(task.limits.must_include)]
    return np.array([row for row in rows if row not in model.rows], dtype=np.intp)


def _band(question: PlanQuestion, task: Task, litres_only: bool) -> Band:
    if litres_only:
        free = np.full(len(task.aim), np.inf)
        return Band(-free, free)
    if question.kappa <= 0.0:
        return band_of(task)
    rows = eligible_casks(task.stock, task.descriptors, task.limits).rows
    return band_of(task, question.kappa, likely_sd(task, rows)) if len(rows) else band_of(task)


def without_notes(stock: Stock, descriptors: tuple[str, ...]) -> Stock:
    """The same casks with nothing held of their notes, so that none is barred for want of them."""
    shape = (len(stock), len(descriptors))
    return Stock(
        casks=stock.casks.drop(columns=["is_apart"], errors="ignore"),
        descriptors=descriptors,
        estimate=np.zeros(shape),
        sd=np.zeros(shape),
        as_of=stock.as_of,
        margin_casks=stock.margin_casks,
    )


def _years(question: PlanQuestion, blocks: tuple[Block, ...]) -> Iterator[HouseRow]:
    house = question.house
    for year in sorted({block.release.on.year for block in blocks}):
        litres = tuple(
            block.model.litres if block.release.on.year == year else None for block in blocks
        )
        most, already = house.most_litres_a_year, house.drawn_already.get(year, 0.0)
        left = np.inf if most is None else max(0.0, most - already)
        yield HouseRow(str(year), year, litres, left)


def _stays(question: PlanQuestion, blocks: tuple[Block, ...]) -> Iterator[HouseRow]:
    for stay in question.house.stay:
        there = litres_that_count(question, stay)
        litres = tuple(there[block.casks] for block in blocks)
        yield HouseRow(stay.words, None, litres, float(there.sum()) - stay.litres)


def litres_that_count(question: PlanQuestion, stay: MustStay) -> Floats:
    """Litres of each cask on the last day that count for what must stay, nothing drawn.

    Casks of others and litres promised elsewhere do not.
    """
    last = question.stocks[question.last_day]
    ours = np.array([all(each.bar is not Bar.OWNER for each in bars) for bars in last.bars])
    ages = last.age_years
    counts = ours & (ages >= stay.age_low) & (ages < stay.age_high)
    if stay.column is not None:
        counts &= share_members(last, stay.column, stay.values)
    litres: Floats = np.where(counts, last.available_litres, 0.0)
    return litres
