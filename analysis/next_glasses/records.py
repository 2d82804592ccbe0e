"""The next session for telling which record matters: wood, fill, peat."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..array_types import Codes
from ..errors import InputError
from .changes import sample_counts
from .fill import Poured, fill
from .known import Known
from .levels import LevelWeighing, Record, level_of, levels_known
from .poured import added_by, casks_to_pour, glasses_of
from .result import NextSession, Question, Reason, Unit, Why
from .room import Room
from .settings import NextSettings
from .states import States, states_of
from .stopping import stop_of


def next_for_record(
    known: Known,
    record: Record,
    room: Room,
    *,
    notes: Sequence[str] | None = None,
    settings: NextSettings = NextSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
) -> NextSession:
    """Choose the next session for telling what a record does.

    Parameters
    ----------
    record
        Which record; its levels are those of the casks in stock.
    notes
        Those that are asked about; all that are known by default.

    Returns
    -------
    NextSession
        Losses and values in points by which the mean of a level is expected to be wrong, on
        average over levels and notes. Nothing is chosen.

    Raises
    ------
    InputError
        When the casks have fewer than two levels of it on record, or a note is not known.

    Notes
    -----
    A cask of a level, nosed with the information I, tells ``1 / (own + 1/I)`` of it: many casks
    nosed once tell more than few nosed often.
    """
    columns = tuple(known.stock.descriptors if notes is None else notes)
    if not columns:
        raise InputError("Nothing is known of any note. Nose it first.")
    states = states_of(known, columns, bars=False)
    rows, level = _on_record(known, states, record)
    names = tuple(states.names[row] for row in rows)
    panel = known.panel(room.assessors, columns)
    everybody = known.panel(_all_people(known), columns)
    nosed = [known.nosed[name].sample if name in known.nosed else "" for name in names]
    told = everybody.information(known.counts(nosed, everybody)).sum(axis=1)
    between = np.diag(known.between(columns)[1])
    levels = levels_known(names, level, columns, states.mean[rows], between, told)
    weighing = LevelWeighing(levels, panel, sample_counts(known, names, panel, room))
    loss = float(weighing.errors().mean())
    poured = fill(weighing, room)
    after = float(weighing.errors().mean())
    reasons = _reasons(known, weighing, poured, room)
    glasses = glasses_of(poured, names, room, reasons, loss - after)
    return NextSession(
        question=Question.RECORD,
        about=record.value,
        unit=Unit.POINTS,
        glasses=glasses,
        casks=casks_to_pour(glasses, room),
        added=added_by(poured),
        chosen=(),
        expected_loss=loss,
        expected_loss_after=after,
        bottles=None,
        bottles_after=None,
        stop=stop_of(loss, known.n_sessions, settings, any_glass=bool(poured)),
        changes=(),
        left_out=states.left_out,
        n_casks=len(names),
        n_glasses_nosed=sum(known.nosed[name].n_glasses for name in names if name in known.nosed),
        seed=seed,
    )


def _on_record(known: Known, states: States, record: Record) -> tuple[Codes, pd.Series]:
    level = level_of(known.stock.casks, record)
    place = known.stock.position
    mine = level.iloc[[place[name] for name in states.names]].reset_index(drop=True)
    there = mine.notna().to_numpy()
    if mine[there].nunique() < 2:
        raise InputError(
            f"The casks have fewer than two levels of {record.value} on record: there is nothing "
            "to compare. Record it, or ask about another."
        )
    rows = np.flatnonzero(there).astype(np.intp)
    return rows, mine[there].reset_index(drop=True)


def _all_people(known: Known) -> tuple[str, ...]:
    return tuple(sorted(set(known.glasses["assessor"])))


def _reasons(
    known: Known, weighing: LevelWeighing, poured: Sequence[Poured], room: Room
) -> dict[int, Reason]:
    held, errors = weighing.levels, weighing.errors()
    found = {}
    for row in dict.fromkeys(one.row for one in poured):
        name, level = held.casks[row], int(held.level[row])
        nosed = known.nosed.get(name)
        found[row] = Reason(
            why=Why.ASKED if name in room.asked else Why.LEVEL,
            n_glasses=0 if nosed is None else nosed.n_glasses,
            last_nosed=None if nosed is None else nosed.last_nosed,
            years_since=known.years_since(name),
            note=held.notes[int(np.argmax(errors[level]))],
            level=held.names[level],
        )
    return found
