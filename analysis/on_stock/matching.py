"""Which of the casks that lie there suit a target."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from ..ageing import NotesOnDay, deciding_casks
from ..bars import HELD, NOTHING_AGREED, Allowed, Bar
from ..profile.latest import in_cask, latest_draws
from ..target import CaskMatch, LeftOut, Match, Target, match_casks
from ..target.candidates import current_draws
from .barred import barred_fillings, held_against

WITH_HELD = Allowed(bars=HELD | {Bar.RESERVED})


def match_stock(
    target: Target,
    casks: pd.DataFrame,
    notes: NotesOnDay,
    *,
    top: int | None = None,
    with_held: bool = False,
    seed: int = 1,
) -> Match:
    """Return which casks suit a target, best first, on the day that their notes were moved to.

    Casks that are empty are left out; so are those leaking, on hold, reserved as a whole or of
    another owner, unless `with_held`: nobody uses them unasked. All that is left out is listed
    with every reason.
    """
    lying = in_cask(casks)
    barred = barred_fillings(lying, WITH_HELD if with_held else NOTHING_AGREED)
    nosed = notes.profile.estimates
    usable = replace(notes.profile, estimates=nosed[~nosed["filling"].isin(list(barred))])
    found = match_casks(usable, target, casks=lying, top=top, seed=seed)
    held = _left_out(nosed[nosed["filling"].isin(list(barred))], barred)
    house, _ = current_draws(usable.estimates, lying)
    decides = _deciding(found.casks, notes, target, house["sample"].tolist())
    return replace(
        found,
        stock_on=notes.day,
        casks=tuple(_with_moves(found.casks, notes, decides, held_against(lying))),
        left_out=(*found.left_out, *held),
    )


def _deciding(
    casks: Sequence[CaskMatch], notes: NotesOnDay, target: Target, house: Sequence[str]
) -> dict[str, bool]:
    """Whether the chance of each filling that was moved hangs on the years since its draw."""
    moved = [part for part in casks if part.filling in notes.moved]
    if not moved:
        return {}
    fillings = [str(part.filling) for part in moved]
    told = np.array([part.probability for part in moved])
    found = deciding_casks(notes, target, fillings, told, house)
    return dict(zip(fillings, found.tolist(), strict=True))


def _with_moves(
    casks: Sequence[CaskMatch],
    notes: NotesOnDay,
    decides: Mapping[str, bool],
    against: Mapping[str, str],
) -> Iterator[CaskMatch]:
    """Say how the notes of each cask came to the day, whether its chance hangs on that, and what
    its records hold against it.
    """
    for cask in casks:
        part = replace(cask, held_against=against.get(cask.filling or ""))
        moved = notes.moved.get(part.filling or "")
        if moved is None:
            yield part
            continue
        yield replace(
            part,
            drawn_on=moved.drawn_on,
            years_moved=moved.years,
            moved=moved.cover.value,
            decides=decides[str(part.filling)],
        )


def _left_out(rows: pd.DataFrame, barred: dict[str, tuple[str, str]]) -> list[LeftOut]:
    return [
        LeftOut(cask=str(row.cask), sample=str(row.sample), reason=barred[str(row.filling)][1])
        for row in latest_draws(rows).itertuples()
    ]
