"""What a mixture smells of, from what its parts smell of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import scipy.special

from ..array_types import Floats
from ..digits import in_digits
from ..errors import InputError
from ..house_line import HIGH, on_the_line
from .stock import Stock

POTENT_EXPONENT = 0.5
RULE_SD = 1.5
EXPONENT_DOUBT = 0.2
"""How well exponents are known, as the spread of their logarithms; a house default."""
_NODES = 21
_MIXED = 1.0 - 0.75**2 - 0.25**2
"""Chance that two drops come from different casks where these give three parts and one."""


@dataclass(frozen=True)
class MixingRule:
    """How intensities add up, by descriptor.

    Attributes
    ----------
    exponents
        Stevens exponent n of each descriptor; 1 (intensities mix in proportion) when not given.
        Below 1 a potent note counts for more than its share.
    gains
        Factor by which a mixture was found stronger than the rule says; 1 when not given.
    rule_sd
        Standard deviation of what the rule itself may be off, points; common to the whole
        vatting. A house default until bench vattings of one's own say better.
    bench_sd
        What bench blends were off beyond that, by descriptor; points.

    Raises
    ------
    InputError
        An exponent or gain that is not above zero, or a negative deviation.
    """

    exponents: Mapping[str, float] = field(default_factory=dict)
    gains: Mapping[str, float] = field(default_factory=dict)
    rule_sd: float = RULE_SD
    bench_sd: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse figures that mean nothing."""
        for what, given in (("exponent", self.exponents), ("gain", self.gains)):
            for name, value in given.items():
                if not (np.isfinite(value) and value > 0.0):
                    raise InputError(
                        f"The {what} of {name} is {in_digits(value, 'g')}: it must be above zero."
                    )
        if not (np.isfinite(self.rule_sd) and self.rule_sd >= 0.0):
            raise InputError(
                f"The error of the mixing rule is {in_digits(self.rule_sd, 'g')}: give 0 or more."
            )

    def exponents_of(self, descriptors: Sequence[str]) -> Floats:
        """Exponents in the order of some descriptors."""
        return np.array([self.exponents.get(name, 1.0) for name in descriptors])

    def gains_of(self, descriptors: Sequence[str]) -> Floats:
        """Gains in the order of some descriptors."""
        return np.array([self.gains.get(name, 1.0) for name in descriptors])

    def sd_of(self, descriptors: Sequence[str], shares: Floats) -> Floats:
        """What the rule may be off for some shares of pure alcohol, points: 0 for one cask."""
        found = np.array([self.bench_sd.get(name, 0.0) for name in descriptors])
        sd: Floats = how_mixed(shares) * np.sqrt(found**2 + self.rule_sd**2)
        return sd

    def exponents_sd(self, descriptors: Sequence[str], scores: Floats, shares: Floats) -> Floats:
        """What a wrong exponent may be off for casks of some scores (casks, lines), points.

        Nothing where the casks are alike in a note; most where one in several brings it all.
        """
        exponents = self.exponents_of(descriptors)
        weak, strong = (
            (shares @ scores ** (1.0 / each)) ** each
            for each in (exponents * np.exp(EXPONENT_DOUBT), exponents / np.exp(EXPONENT_DOUBT))
        )
        sd: Floats = np.abs(strong - weak) / 2.0
        return sd


def how_mixed(shares: Floats) -> float:
    """How far some shares are a mixture at all: 0 for one cask, 1 from three parts to one on.

    Two drops come from different casks with the chance ``1 - sum share^2``. A rule of mixing can
    be wrong only where unlike drops meet: what it may be off, and what mixtures were found
    stronger by, go to nothing with the shares of all casks but one. From where on the whole error
    is borne is a house default; nobody measured it.

    Examples
    --------
    >>> [round(how_mixed(np.array(shares)), 2) for shares in ([1], [0.9, 0.1], [0.7, 0.3])]
    [0.0, 0.48, 1.0]
    """
    part = shares / shares.sum()
    return float(min(1.0, (1.0 - part @ part) / _MIXED))


@dataclass(frozen=True, eq=False)
class Amounts:
    """Expected amount ``q = score^(1/n)`` of every note in every cask, shape (casks, lines).

    In amounts a mixture is the plain mean by pure alcohol, so that problems stay linear.
    """

    mean: Floats
    exponent: Floats
    gain: Floats

    def score(self, amount: Floats, mixed: float = 1.0) -> Floats:
        """Back from amounts to points of the line, by how far it is mixed (:func:`how_mixed`)."""
        scores: Floats = self.gain**mixed * np.maximum(amount, 0.0) ** self.exponent
        return np.minimum(scores, HIGH)

    def amount(self, score: Floats) -> Floats:
        """From points of the line to amounts."""
        amounts: Floats = (np.maximum(score, 0.0) / self.gain) ** (1.0 / self.exponent)
        return amounts


def expected_amounts(stock: Stock, descriptors: Sequence[str], rule: MixingRule) -> Amounts:
    """Expected amounts of all casks, their uncertainty counted in.

    A score cannot lie beyond an end of the line: what the normal has there counts as lying on
    the end. With n below 1 the expectation is above that of the plain estimate, because the
    amount grows faster than the score.

    Parameters
    ----------
    stock
        Estimates and standard deviations.
    descriptors
        Lines of the target, each in the stock.
    rule
        Exponents and gains.
    """
    columns = stock.columns_of(descriptors)
    exponent = rule.exponents_of(descriptors)
    if stock.draws is not None:
        drawn = on_the_line(stock.draws[:, :, columns]) ** (1.0 / exponent)
        return Amounts(drawn.mean(axis=0), exponent, rule.gains_of(descriptors))
    mean, sd = stock.estimate[:, columns], total_sd(stock)[:, columns]
    amounts = np.empty_like(mean)
    for line, n in enumerate(exponent):
        expect = _clipped_mean if n == 1.0 else _by_quadrature
        amounts[:, line] = expect(mean[:, line], sd[:, line], float(n))
    return Amounts(amounts, exponent, rule.gains_of(descriptors))


def total_sd(stock: Stock) -> Floats:
    """Standard deviation of each cask and descriptor, shared errors included."""
    variance = stock.sd**2
    for shared in (stock.loadings, stock.note_loadings):
        if shared is not None:
            variance = variance + (shared**2).sum(axis=2)
    total: Floats = np.sqrt(variance)
    return total


def _clipped_mean(mean: Floats, sd: Floats, _exponent: float) -> Floats:
    """Mean of a normal whose tails beyond 0 and 100 lie on the ends."""
    spread = np.maximum(sd, 1e-12)
    above = _excess(mean, spread) - _excess(mean - HIGH, spread)
    return np.where(sd > 0.0, above, on_the_line(mean))


def _excess(mean: Floats, sd: Floats) -> Floats:
    """Mean of the positive part of a normal."""
    z = mean / sd
    density = np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    part: Floats = mean * scipy.special.ndtr(z) + sd * density
    return part


def _by_quadrature(mean: Floats, sd: Floats, exponent: float) -> Floats:
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    total = np.zeros_like(mean)
    for node, weight in zip(nodes, weights / weights.sum(), strict=True):
        total += weight * on_the_line(mean + sd * node) ** (1.0 / exponent)
    return total
