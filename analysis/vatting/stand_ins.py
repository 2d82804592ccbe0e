"""What to use if one cask fails: it leaks, it is corked, it is not where it should be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Floats, Ints
from .chance import Stream, expect
from .model import Model, build_model
from .task import Task
from .tighten import Tightened

_TRIED = 6
_KEPT = 1e-6


@dataclass(frozen=True)
class StandIn:
    """The cask to use in place of another.

    Attributes
    ----------
    failed
        The cask that cannot be used.
    cask, litres
        What to use instead, all else unchanged; None when no single cask will do.
    probability
        Chance of all lines within tolerance then.
    foretold
        Whether nobody nosed the cask to use.
    """

    failed: str
    cask: str | None
    litres: float | None
    probability: float | None
    foretold: bool = False


def stand_ins(task: Task, chosen: Tightened) -> tuple[StandIn, ...]:
    """Find for each cask of an answer the one that replaces it best.

    Whole casks are replaced by whole casks; of a part the same pure alcohol is drawn from
    another cask. Only replacements that keep every limit count.

    Parameters
    ----------
    task, chosen
        The question and its answer.
    """
    fractions = chosen.found.fractions
    if fractions is None:
        return ()
    model = build_model(task, chosen.band)
    full = np.zeros(model.n)
    place = {int(row): column for column, row in enumerate(model.rows)}
    for column in np.flatnonzero(fractions > 0.0):
        full[place[int(chosen.found.model.rows[column])]] = fractions[column]
    used = np.flatnonzero(full > 0.0)
    order = used[np.lexsort((model.rows[used], -(full * model.lpa)[used]))]
    return tuple(_stand_in(task, model, full, int(column)) for column in order)


def _stand_in(task: Task, model: Model, fractions: Floats, failed: int) -> StandIn:
    name = str(task.stock.names[model.rows[failed]])
    rest = fractions.copy()
    rest[failed] = 0.0
    drawn = _same_alcohol(model, float(fractions[failed] * model.lpa[failed]))
    columns = nearest_fitting(model, rest, drawn, failed)
    if not len(columns):
        return StandIn(name, None, None, None)
    tried = [_with(rest, drawn, int(column)) for column in columns]
    chances = [_chance(task, model, each, Stream.CHOOSING) for each in tried]
    at = int(np.argmax(chances))
    best = int(columns[at])
    return StandIn(
        failed=name,
        cask=str(task.stock.names[model.rows[best]]),
        litres=float(drawn[best] * model.litres[best]),
        probability=_chance(task, model, tried[at], Stream.TOLD),
        foretold=bool(task.stock.foretold[model.rows[best]]),
    )


def _same_alcohol(model: Model, lpa: float) -> Floats:
    """Fraction of each cask that holds as much pure alcohol, as far as it may be drawn."""
    if model.whole:
        return np.ones(model.n)
    wanted = lpa / model.lpa
    emptied = model.can_empty & (wanted >= 1.0)
    return np.where(emptied, 1.0, np.clip(wanted, model.low, model.high))


def nearest_fitting(model: Model, rest: Floats, drawn: Floats, failed: int) -> Ints:
    """Return the few casks that with the others keep all limits, those nearest the band first."""
    hard = model.hard @ rest - model.hard_limit
    over = np.maximum(hard[:, None] + model.hard * drawn, 0.0).sum(axis=0)
    count = model.count @ (rest > 0.0) - model.count_limit
    over += np.maximum(count[:, None] + model.count, 0.0).sum(axis=0)
    outside = np.maximum((model.soft @ rest)[:, None] + model.soft * drawn, 0.0)
    value = model.soft_weight @ outside + model.cost * drawn
    allowed = (rest <= 0.0) & (over <= _KEPT)
    allowed[failed] = False
    value = np.where(allowed, value, np.inf)
    order = np.argsort(value, kind="stable")[:_TRIED]
    best: Ints = order[np.isfinite(value[order])].astype(np.intp)
    return best


def _with(rest: Floats, drawn: Floats, column: int) -> Floats:
    fractions = rest.copy()
    fractions[column] = drawn[column]
    return fractions


def _chance(task: Task, model: Model, fractions: Floats, stream: Stream) -> float:
    used = np.flatnonzero(fractions > 0.0)
    litres = fractions[used] * model.litres[used]
    return expect(task, model.rows[used], litres, stream=stream).probability
