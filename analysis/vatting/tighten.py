"""Draw the band in until the chance of being right stops rising."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Floats, Ints
from .chance import Stream, expect, vat_sd
from .limits import NOTHING_LIFTED, Lifted
from .mixture import Mixture, make_mixture
from .model import build_model, with_band
from .solve import Found, solve
from .task import Band, Task, band_of

KAPPAS = (0.0, 0.75, 1.5, 2.2)


@dataclass(frozen=True)
class Round:
    """One round of tightening: by how many standard deviations, and what came of it.

    Attributes
    ----------
    kappa
        Standard deviations of the vatting that the band was drawn in by.
    probability
        Chance of all lines within tolerance; None when nothing was found.
    objective, bound
        In points, for the band of this round.
    """

    kappa: float
    probability: float | None
    n_casks: int
    objective: float
    bound: float
    seconds: float


@dataclass(frozen=True, eq=False)
class Tightened:
    """The round with the greatest chance, and all rounds.

    Attributes
    ----------
    found
        The solution of that round.
    first
        The solution for the whole tolerance band.
    mixture
        What the solution comes to; None when no round found any.
    """

    found: Found
    first: Found
    band: Band
    kappa: float
    mixture: Mixture | None
    rounds: tuple[Round, ...]


def chosen_litres(found: Found) -> tuple[Ints, Floats]:
    """Rows of the stock and litres of a solution."""
    if found.fractions is None:
        return np.empty(0, dtype=np.intp), np.empty(0)
    used = np.flatnonzero(found.fractions > 0.0)
    return found.model.rows[used], found.model.litres[used] * found.fractions[used]


def tighten(
    task: Task,
    *,
    kappas: Sequence[float] = KAPPAS,
    lifted: Lifted = NOTHING_LIFTED,
    without: Collection[str] = (),
) -> Tightened:
    """Solve for a band drawn in further and further, and keep the surest vatting.

    The answer for the whole band lies at its edge and is seldom within it in truth: the best
    of thousands of casks is chosen among estimates that err. Drawing the band in by some
    standard deviations of the vatting buys certainty.

    Parameters
    ----------
    task
        What is asked.
    kappas
        Standard deviations to draw the band in by, rising from 0.
    lifted, without
        See :func:`analysis.vatting.model.build_model`.
    """
    band = band_of(task)
    model = build_model(task, band, lifted=lifted, without=without)
    tried: list[tuple[float, Found, Band, float | None]] = []
    sd: Floats | None = None
    for kappa in kappas:
        drawn_in = band_of(task, kappa, sd)
        if tried and _same(drawn_in, band):
            continue
        band = drawn_in
        model = with_band(model, task, band)
        before = tried[-1][1].fractions if tried else None
        found = solve(model, start=before)
        rows, litres = chosen_litres(found)
        chance = chance_of(task, found, Stream.CHOOSING)
        tried.append((kappa, found, band, chance))
        if not len(rows):
            break
        sd = vat_sd(task, rows, litres * task.stock.abv_percent[rows])
    return _best(task, tried)


def _same(one: Band, other: Band) -> bool:
    return np.array_equal(one.low, other.low) and np.array_equal(one.high, other.high)


def chance_of(task: Task, found: Found, stream: Stream) -> float | None:
    """Chance of all lines by one stream of draws; None when nothing was found."""
    rows, litres = chosen_litres(found)
    return expect(task, rows, litres, stream=stream).probability if len(rows) else None


def _best(task: Task, tried: list[tuple[float, Found, Band, float | None]]) -> Tightened:
    best = max(tried, key=lambda one: -1.0 if one[3] is None else one[3])
    rows, litres = chosen_litres(best[1])
    return Tightened(
        found=best[1],
        first=tried[0][1],
        band=best[2],
        kappa=best[0],
        mixture=make_mixture(task, rows, litres) if len(rows) else None,
        rounds=tuple(
            Round(
                kappa=kappa,
                probability=chance_of(task, found, Stream.TOLD),
                n_casks=len(chosen_litres(found)[0]),
                objective=found.objective,
                bound=found.bound,
                seconds=found.seconds,
            )
            for kappa, found, _, _ in tried
        ),
    )
