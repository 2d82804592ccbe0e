"""One question: a stock, a target, limits and a mixing rule, and the band that is aimed for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..array_types import Floats, Ints
from ..house_line import on_the_line
from ..target import Target
from .limits import Limits
from .mixing import Amounts, MixingRule, expected_amounts
from .stock import Stock

_LEAST_BAND = 0.05
"""A tightened band keeps this part of the tolerance on both sides of the aim."""


@dataclass(frozen=True, eq=False)
class Task:
    """What is asked, with the expected amounts of all casks reckoned once."""

    stock: Stock
    target: Target
    limits: Limits
    rule: MixingRule
    amounts: Amounts

    @cached_property
    def descriptors(self) -> tuple[str, ...]:
        """Lines of the target by name."""
        return tuple(line.descriptor for line in self.target.lines)

    @cached_property
    def aim(self) -> Floats:
        """Aims, points."""
        return np.array([line.aim for line in self.target.lines], dtype=np.float64)

    @cached_property
    def tolerance(self) -> Floats:
        """Tolerances, points."""
        return np.array([line.tolerance for line in self.target.lines], dtype=np.float64)

    @cached_property
    def weight(self) -> Floats:
        """Weights of the lines, 1 on average."""
        given = np.array([line.weight for line in self.target.lines], dtype=np.float64)
        weight: Floats = given / given.mean()
        return weight

    def common_sd(self, rows: Ints, shares: Floats) -> Floats:
        """What the panel, the rule of mixing and its exponents may be off as a whole, points.

        One cask alone is not mixed: there the panel's error stays, and the rule's goes.
        """
        rule = self.rule.sd_of(self.descriptors, shares)
        wrong = self.exponents_sd(rows, shares)
        sd: Floats = np.sqrt(self.panel_sd**2 + rule**2 + wrong**2)
        return sd

    @property
    def panel_sd(self) -> Floats:
        """What the panel as a whole may be off, points; the same error in every vatting."""
        return np.array([self.stock.panel_sd.get(name, 0.0) for name in self.descriptors])

    def exponents_sd(self, rows: Ints, shares: Floats) -> Floats:
        """What wrong exponents may be off, points; in every vatting to the same side."""
        lines = self.descriptors
        scores = on_the_line(self.stock.estimate[np.ix_(rows, self.stock.columns_of(lines))])
        return self.rule.exponents_sd(lines, scores, shares)


def make_task(stock: Stock, target: Target, limits: Limits, rule: MixingRule) -> Task:
    """Put a question together; the target's lines must be in the stock."""
    descriptors = tuple(line.descriptor for line in target.lines)
    return Task(stock, target, limits, rule, expected_amounts(stock, descriptors, rule))


@dataclass(frozen=True, eq=False)
class Band:
    """Where each line should lie, points; a side that is free is infinite."""

    low: Floats
    high: Floats


def band_of(task: Task, kappa: float = 0.0, vat_sd: Floats | None = None) -> Band:
    """The tolerance band, drawn in by `kappa` standard deviations of the vatting.

    A side beyond an end of the line is free. However far it is drawn in, a narrow band around
    the aim stays.
    """
    inward = np.zeros_like(task.aim) if vat_sd is None else kappa * vat_sd
    kept = _LEAST_BAND * task.tolerance
    low, high = task.aim - task.tolerance, task.aim + task.tolerance
    drawn_low = np.minimum(low + inward, task.aim - kept)
    drawn_high = np.maximum(high - inward, task.aim + kept)
    return Band(
        low=np.where(low <= 0.0, -np.inf, drawn_low),
        high=np.where(high >= 100.0, np.inf, drawn_high),
    )
