"""How sure a vatting is: expected profile, and the chance that every line is right."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from typing import TypeVar

import numpy as np
import scipy.special
from numpy.typing import NDArray

from ..array_types import Floats, Ints
from ..house_line import on_the_line
from .mixing import how_mixed
from .stock import Stock
from .task import Task

_Scores = TypeVar("_Scores", Floats, NDArray[np.float32])
DRAWS = 2000
"""Simulated vattings of many casks; of fewer than eight there are more, for the same work."""


class Stream(IntEnum):
    """Which random numbers a chance is reckoned from.

    The best of several vattings is the best partly by its draws: the chance that made it the
    best is too high by that luck. What is told comes from draws that chose nothing.
    """

    CHOOSING = 1
    TOLD = 2


@dataclass(frozen=True)
class Line:
    """What is expected on one line of the target.

    Attributes
    ----------
    aim, tolerance, estimate, sd
        Points of the 0-100 line; `sd` with the errors of panel and mixing rule.
    probability
        Chance that this line is within its tolerance.
    exponent
        Mixing exponent that was used.
    """

    descriptor: str
    aim: float
    tolerance: float
    estimate: float
    sd: float
    probability: float
    exponent: float

    @property
    def off(self) -> float:
        """Points above (or, negative, below) the aim."""
        return self.estimate - self.aim


@dataclass(frozen=True)
class Expectation:
    """The expected profile of a vatting.

    Attributes
    ----------
    probability
        Chance that all lines are within tolerance at once.
    probability_se
        Standard error of that chance by simulation alone: what other draws would change.
    worst_descriptor
        The line that is least sure to be right.
    """

    lines: tuple[Line, ...]
    probability: float
    probability_se: float
    worst_descriptor: str


def expect(
    task: Task,
    rows: Ints,
    litres: Floats,
    *,
    draws: int | None = None,
    stream: Stream = Stream.TOLD,
) -> Expectation:
    """Simulate a vatting and say how sure it is.

    Parameters
    ----------
    task
        Stock, target and mixing rule.
    rows, litres
        Casks (rows of the stock) and litres of each.
    draws, stream
        Simulated vattings (by default by the number of casks), and whether they choose or are
        told; each cask keeps its random numbers from call to call, so that moving a share
        moves the chance smoothly.

    Returns
    -------
    Expectation

    Notes
    -----
    Each simulated vatting draws every cask's true scores, all its notes together, keeps them
    on the line, mixes by the rule, and asks how likely the errors of panel and rule, which no
    number of casks averages out, leave each line within its tolerance. The chance of all lines
    is the mean over simulated vattings of the product over lines.
    """
    lpa = litres * task.stock.abv_percent[rows]
    shares = lpa / lpa.sum()
    common_sd = task.common_sd(rows, shares)
    amounts = _simulated_amounts(task, rows, shares, draws or _enough(len(rows)), stream)
    simulated = task.amounts.score(amounts, how_mixed(shares))
    inside = chance_within_lines(task, simulated, common_sd)
    return expectation_of(task, rows, shares, amounts, common_sd, inside)


def expectation_of(
    task: Task, rows: Ints, shares: Floats, amounts: Floats, common_sd: Floats, inside: Floats
) -> Expectation:
    """Say what simulated amounts (draws, lines) come to.

    Parameters
    ----------
    task, rows, shares
        The vatting: casks as rows of the stock, shares of pure alcohol.
    amounts, inside
        Amounts, and chances of each line within its tolerance, shape (draws, lines).
    common_sd
        What panel and rule may be off beside them, points.
    """
    simulated = task.amounts.score(amounts, how_mixed(shares))
    estimate = _expected_score(simulated, amounts, shares @ task.amounts.mean[rows])
    sd = np.sqrt(simulated.var(axis=0) + common_sd**2)
    each = inside.mean(axis=0)
    lines = tuple(
        Line(
            descriptor=line.descriptor,
            aim=line.aim,
            tolerance=line.tolerance,
            estimate=float(estimate[i]),
            sd=float(sd[i]),
            probability=float(each[i]),
            exponent=float(task.amounts.exponent[i]),
        )
        for i, line in enumerate(task.target.lines)
    )
    together = inside.prod(axis=1)
    return Expectation(
        lines,
        probability=float(together.mean()),
        probability_se=float(together.std(ddof=1) / np.sqrt(len(together))),
        worst_descriptor=lines[int(each.argmin())].descriptor,
    )


def _enough(casks: int) -> int:
    return DRAWS * max(1, 8 // casks)


def vat_sd(task: Task, rows: Ints, fractions_lpa: Floats, *, draws: int = DRAWS) -> Floats:
    """Standard deviation of each line of a vatting, panel and rule included; points."""
    shares = fractions_lpa / fractions_lpa.sum()
    amounts = _simulated_amounts(task, rows, shares, draws, Stream.CHOOSING)
    simulated = task.amounts.score(amounts, how_mixed(shares))
    sd: Floats = np.sqrt(simulated.var(axis=0) + task.common_sd(rows, shares) ** 2)
    return sd


def _expected_score(scores: Floats, amounts: Floats, mean_amount: Floats) -> Floats:
    """Mean score, with the luck of the draws taken off by what they are off in the amounts.

    In proportion that is the score of the mean amount. A potent note of one cask is what was
    estimated of that cask: the score of its mean amount would lie above it.
    """
    off = amounts - amounts.mean(axis=0)
    spread = (off**2).sum(axis=0)
    slope = (off * scores).sum(axis=0) / np.where(spread > 0.0, spread, 1.0)
    found: Floats = on_the_line(scores.mean(axis=0) - slope * (amounts.mean(axis=0) - mean_amount))
    return found


def _simulated_amounts(
    task: Task, rows: Ints, shares: Floats, draws: int, stream: Stream
) -> Floats:
    """Amounts in simulated vattings before the common errors, shape (draws, lines).

    Casks are taken in the stock's order, so that the order of the parts changes nothing.
    """
    order = np.argsort(rows)
    rows, shares = rows[order], shares[order]
    columns = task.stock.columns_of(task.descriptors)
    if task.stock.draws is not None:
        parts = task.stock.draws[stream % 2 :: 2, rows][:, :, columns]
        powered = _amounts(task, on_the_line(parts))
        mixed: Floats = np.einsum("skd,k->sd", powered, shares)
        return mixed
    estimate = task.stock.estimate[np.ix_(rows, columns)].astype(np.float32)
    roots = own_roots(task.stock, rows, columns)
    normals = _normals(draws, _room(len(rows)), len(columns), stream)
    shared = _shared_errors(task, rows, columns, draws, stream)
    total = np.zeros((draws, len(columns)))
    parts = np.empty_like(normals[0])
    for k, share in enumerate(shares):
        np.matmul(normals[k], roots[k], out=parts)
        parts += estimate[k]
        if shared is not None:
            parts += shared[k]
        np.maximum(parts, 0.0, out=parts)
        np.minimum(parts, 100.0, out=parts)
        total += _amounts(task, parts) * share
    return total


def _amounts(task: Task, scores: _Scores) -> _Scores:
    """Scores to amounts, in place."""
    potent = np.flatnonzero(task.amounts.exponent != 1.0)
    for line in potent:
        scores[..., line] = scores[..., line] ** (1.0 / task.amounts.exponent[line])
    return scores


def own_roots(stock: Stock, rows: Ints, columns: Ints | None = None) -> NDArray[np.float32]:
    """What turns independent normals into the own errors of each cask (casks, lines, lines).

    `columns` are the descriptors; all of the stock without. What is not known counts as no error.
    """
    if columns is None:
        columns = np.arange(len(stock.descriptors), dtype=np.intp)
    if stock.covariance is None:
        sd = np.nan_to_num(stock.sd[np.ix_(rows, columns)]).astype(np.float32)
        return np.asarray(sd[:, :, None] * np.eye(len(columns), dtype=np.float32))
    values, vectors = np.linalg.eigh(
        np.nan_to_num(stock.covariance[np.ix_(rows, columns, columns)])
    )
    root = np.sqrt(np.maximum(values, 0.0))[:, None, :] * vectors
    return np.asarray(root @ vectors.transpose(0, 2, 1), dtype=np.float32)


def _shared_errors(task: Task, rows: Ints, columns: Ints, draws: int, seed: int) -> Floats | None:
    """Errors that the casks share, shape (casks, draws, lines)."""
    stock, errors = task.stock, None
    if stock.loadings is not None:
        loadings = stock.loadings[np.ix_(rows, columns)]
        rng = np.random.default_rng([seed, 1])
        errors = np.einsum("kdr,sr->ksd", loadings, rng.standard_normal((draws, loadings.shape[2])))
    by_line = None if stock.note_loadings is None else stock.note_loadings[np.ix_(rows, columns)]
    if by_line is not None and by_line.any():
        loadings = by_line
        rng = np.random.default_rng([seed, 2])
        sources = rng.standard_normal((draws, *loadings.shape[1:]))
        by_note = np.einsum("kdr,sdr->ksd", loadings, sources)
        errors = by_note if errors is None else errors + by_note
    return errors


def _room(casks: int) -> int:
    """Round a number of casks up, so that neighbours share their random numbers."""
    return 1 << (casks - 1).bit_length()


@lru_cache(maxsize=8)
def _normals(draws: int, casks: int, lines: int, seed: int) -> NDArray[np.float32]:
    """Standard normals, the same for the first casks however many follow."""
    rng = np.random.default_rng(seed)
    normals = rng.standard_normal((casks, draws, lines), dtype=np.float32)
    normals.setflags(write=False)
    return normals


def chance_within_lines(task: Task, scores: Floats, common_sd: Floats) -> Floats:
    """Chance of each line given the casks' true scores; shape (draws, lines)."""
    low, high = task.aim - task.tolerance, task.aim + task.tolerance
    sd = np.maximum(common_sd, 1e-9)
    below = scipy.special.ndtr((low - scores) / sd)
    above = scipy.special.ndtr((high - scores) / sd)
    chance: Floats = np.where(high >= 100.0, 1.0, above) - np.where(low <= 0.0, 0.0, below)
    return chance
