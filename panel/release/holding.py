"""Casks taken for a release: locked, free, and barred by nothing that was not agreed to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from analysis.bar_words import sentence
from analysis.bars import BY_NAME, Bar, Bars, Purpose, forbidding
from panel.errors import NotInStock
from panel.frames.bars import bars_by_filling
from panel.store.release_records import lock_casks

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.vatting import Limits
    from panel.store.filling_states import FillingState

HAIR_L = 0.05
"""Litres below which two figures are the same: records keep tenths."""
OF_LITRES = frozenset({Bar.EMPTY, Bar.RESERVED, Bar.PARTLY_RESERVED})
"""Bars that depend on how many litres are wanted: told with the figures."""


def hold_stock(
    db: Session,
    litres: Mapping[str, float],
    *,
    as_of: date,
    limits: Limits,
    undone: str,
    remedy: str,
    besides_release: str | None = None,
) -> dict[str, FillingState]:
    """Lock the casks in a write transaction and return them, as `free_stock` does."""
    lock_casks(db, litres)
    return free_stock(
        db,
        litres,
        as_of=as_of,
        limits=limits,
        undone=undone,
        remedy=remedy,
        besides_release=besides_release,
    )


def free_stock(
    db: Session,
    litres: Mapping[str, float],
    *,
    as_of: date,
    limits: Limits,
    undone: str,
    remedy: str,
    besides_release: str | None = None,
) -> dict[str, FillingState]:
    """Return casks if they may go into a vat.

    `limits` say what was agreed to by name; `undone` and `remedy` are said where that is lacking.

    Raises
    ------
    NotInStock
        A cask has not so much, another release has it, or its records bar it; every reason of
        every such cask is told.
    """
    known = bars_by_filling(db, as_of, only_casks=list(litres), besides_release=besides_release)
    lying = {state.cask: (state, bars) for state, bars in known.values()}
    faults: list[str] = []
    unasked = False
    for cask, wanted in litres.items():
        if cask not in lying:
            faults.append(f"Cask {cask} holds nothing.")
            continue
        state, bars = lying[cask]
        against = forbidding(bars, Purpose.VAT, limits.allowed(cask, whole=False))
        faults += _faults(state, against, wanted)
        unasked |= any(each.bar in BY_NAME for each in against)
    if faults:
        raise NotInStock(" ".join([undone, *faults, *([remedy] if unasked else [])]))
    return {cask: lying[cask][0] for cask in litres}


def _faults(state: FillingState, against: Bars, wanted: float) -> Iterator[str]:
    for barred in against:
        if barred.bar not in OF_LITRES:
            yield sentence(state.cask, barred)
    if state.reserved_whole:
        yield f"Cask {state.cask} is reserved as a whole."
        return
    reserved = state.reserved_l or 0.0
    if wanted <= state.bulk_l - reserved + HAIR_L:
        return
    if not reserved:
        yield f"Cask {state.cask} holds {state.bulk_l:.1f} L, not {wanted:.1f}."
        return
    names = ", ".join(name for name, _ in state.promised) or "a reservation in the records"
    yield (
        f"Of cask {state.cask} {reserved:.1f} L of {state.bulk_l:.1f} are reserved for {names}: "
        f"{wanted:.1f} L cannot be had."
    )
