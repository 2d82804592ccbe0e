"""The next session for telling which cask is ready when."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy.special

from ..ageing import AgeingSettings, NotesOnDay
from ..array_types import Vector
from ..errors import InputError
from ..target import Target
from .changes import sample_counts
from .dates import Dates, DateWeighing, dates_of
from .fill import Poured, fill
from .known import Known
from .poured import added_by, casks_to_pour, glasses_of
from .result import Change, NextSession, Question, Reason, Unit, Why
from .room import Room
from .settings import NextSettings
from .single import strongest
from .states import states_of
from .stopping import stop_of

_SOON = 1.0
"""Years within which a cask is called for: the cut that a look may move its date over."""


def next_for_ready(
    known: Known,
    target: Target,
    notes: NotesOnDay,
    room: Room,
    *,
    casks: Sequence[str] | None = None,
    about: str | None = None,
    ageing: AgeingSettings = AgeingSettings(),  # noqa: B008  (frozen)
    settings: NextSettings = NextSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
) -> NextSession:
    """Choose the next session for telling when casks are ready.

    Parameters
    ----------
    notes
        The notes of the casks on the day, with how they go on from there. Its models must have
        every line of the target.
    casks
        Those that are asked about, such as the casks of a make; all that may be chosen by
        default.

    Returns
    -------
    NextSession
        Losses and values in years by which the date of a cask is expected to be wrong, on
        average over the casks. `chosen` are the casks expected within a year, the first first.

    Raises
    ------
    InputError
        When a line of the target has no curve, or no cask is left.

    Notes
    -----
    Of each cask the glass takes from the interval of its date what the notes of today tell of
    it; how the cask goes on from here no nosing of today can settle.
    """
    lacking = [n.descriptor for n in target.lines if n.descriptor not in notes.moves.descriptors]
    if lacking:
        raise InputError(f"{', '.join(lacking)}: there is no curve of it. Nose it on more casks.")
    states = states_of(known, [line.descriptor for line in target.lines])
    names = [name for name in states.names if casks is None or name in set(casks)]
    stock = known.stock
    fillings = {
        str(cask): str(filling)
        for cask, filling in zip(stock.names, stock.casks["filling"], strict=True)
    }
    names = [name for name in names if fillings[name] in notes.places]
    if not names:
        raise InputError("None of the casks asked about can be looked at: none is free to use.")
    dates = dates_of(notes, target, names, [fillings[name] for name in names], ageing, seed)
    panel = known.panel(room.assessors, dates.notes)
    counts = sample_counts(known, names, panel, room)
    weighing = DateWeighing(dates, panel, counts)
    poured = fill(weighing, room)
    reasons = _reasons(known, weighing, poured, room, settings)
    loss = float(dates.errors.mean())
    added = added_by(poured)
    saved = min(added, loss)
    glasses = glasses_of(poured, names, room, reasons, saved)
    order = [int(row) for row in np.argsort(dates.years, kind="stable")]
    return NextSession(
        question=Question.READY,
        about=about or target.name,
        unit=Unit.YEARS,
        glasses=glasses,
        casks=casks_to_pour(glasses, room),
        added=added,
        chosen=tuple(names[row] for row in order if dates.years[row] < _SOON),
        expected_loss=loss,
        expected_loss_after=loss - saved,
        bottles=None,
        bottles_after=None,
        stop=stop_of(
            loss, known.n_sessions, settings, at=settings.stop_at_years, any_glass=bool(poured)
        ),
        changes=_changes(dates, weighing, DateWeighing(dates, panel, counts), poured, settings),
        left_out=states.left_out,
        n_casks=len(names),
        n_glasses_nosed=sum(known.nosed[name].n_glasses for name in names if name in known.nosed),
        seed=seed,
    )


def _reasons(
    known: Known,
    weighing: DateWeighing,
    poured: Sequence[Poured],
    room: Room,
    settings: NextSettings,
) -> dict[int, Reason]:
    found = {}
    for row in dict.fromkeys(one.row for one in poured):
        name = weighing.names[row]
        nosed, years = known.nosed.get(name), known.years_since(name)
        old = years is not None and years > settings.stale_years
        why = Why.UNNOSED if nosed is None else Why.OLD if old else Why.DATE
        move = float(np.sqrt(max(weighing.dates.variance[row] - weighing.after[row], 0.0)))
        left = float(weighing.after[row])
        date = float(weighing.dates.years[row])
        chances = [
            _soon(date, float(weighing.dates.variance[row])),
            _soon(date - move, left),
            _soon(date + move, left),
        ]
        found[row] = Reason(
            why=Why.ASKED if name in room.asked else why,
            chance=chances[0],
            if_better=chances[1],
            if_worse=chances[2],
            off=date,
            off_sd=float(np.sqrt(weighing.dates.variance[row])),
            n_glasses=0 if nosed is None else nosed.n_glasses,
            last_nosed=None if nosed is None else nosed.last_nosed,
            years_since=years,
            note=_note(weighing.dates, row),
        )
    return found


def _soon(years: float, variance: float) -> float:
    return float(scipy.special.ndtr((_SOON - years) / np.sqrt(max(variance, 1e-12))))


def _note(dates: Dates, row: int) -> str:
    told = np.abs(dates.own[row] @ dates.slope[row]) / np.sqrt(np.diag(dates.own[row]))
    return dates.notes[int(np.argmax(told))]


def _changes(
    dates: Dates,
    weighing: DateWeighing,
    fresh: DateWeighing,
    poured: Sequence[Poured],
    settings: NextSettings,
) -> tuple[Change, ...]:
    """Casks whose date a session may move over the cut of a year from now."""
    if not len(fresh.panel.assessors):
        return ()
    together = np.sqrt(np.maximum(dates.variance - weighing.after, 0.0))
    crosses = _over(dates.years, together)
    rows = np.argsort(-crosses, kind="stable")[: settings.near].astype(np.intp)
    single = np.sqrt(np.maximum(dates.variance[rows][:, None] - fresh.variances(rows), 0.0))
    best = strongest(single, poured, rows)
    return tuple(
        Change(
            cask=dates.names[row],
            chosen=bool(dates.years[row] < _SOON),
            chance=_soon(float(dates.years[row]), float(dates.variance[row])),
            crosses=float(crosses[row]),
            one_glass=float(_over(dates.years[[row]], np.array([most]))[0]),
            assessor=None if who < 0 else fresh.panel.assessors[who],
            note=None if who < 0 else _note(dates, int(row)),
        )
        for row, (most, who) in zip(rows, best, strict=True)
    )


def _over(years: Vector, moves: Vector) -> Vector:
    """Chance that a look moves a date over the cut."""
    found: Vector = np.where(
        moves > 0.0, scipy.special.ndtr(-np.abs(years - _SOON) / np.maximum(moves, 1e-12)), 0.0
    )
    return found
