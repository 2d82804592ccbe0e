"""Casks taken for a release: locked, free, and barred by nothing that was not agreed to."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from analysis.bar_words import sentence
from analysis.bars import BY_NAME, OF_LITRES, Bar, Bars, Purpose, forbidding
from panel.errors import NotInStock
from panel.figures import in_digits
from panel.frames.bars import bars_by_filling
from panel.questions.agreed import lifted_by_name
from panel.store.release_records import lock_casks

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.vatting import Limits
    from panel.store.filling_states import FillingState

HAIR_L = 0.05
"""Litres below which two figures are the same: records keep tenths."""


@dataclass(frozen=True)
class Agreed:
    """What somebody agreed to by name when a cask was taken in: which bar was lifted."""

    cask: str
    bar: Bar
    sentence: str


class Lying(NamedTuple):
    """A filling that is in its cask, with all that is held against it."""

    state: FillingState
    bars: Bars


def lying_casks(
    db: Session, casks: Collection[str], *, as_of: date, besides_release: str | None = None
) -> dict[str, Lying]:
    """Return by cask what lies in some casks; those that hold nothing are not among them."""
    known = bars_by_filling(db, as_of, only_casks=list(casks), besides_release=besides_release)
    return {state.cask: Lying(state, bars) for state, bars in known.values()}


def hold_stock(
    db: Session,
    litres: Mapping[str, float],
    *,
    as_of: date,
    limits: Limits,
    undone: str,
    remedy: str,
    besides_release: str | None = None,
) -> dict[str, Lying]:
    """Lock the casks in a write transaction and return them, if they may go into a vat.

    `limits` say what was agreed to by name; `undone` and `remedy` are said where that is lacking.

    Raises
    ------
    NotInStock
        A cask has not so much, another release has it, or its records bar it; every reason of
        every such cask is told.
    """
    lock_casks(db, litres)
    lying = lying_casks(db, litres, as_of=as_of, besides_release=besides_release)
    if faults := not_free(lying, litres, limits, remedy):
        raise NotInStock(" ".join([undone, *faults]))
    return {cask: lying[cask] for cask in litres}


def not_free(
    lying: Mapping[str, Lying], litres: Mapping[str, float], limits: Limits, remedy: str
) -> list[str]:
    """Return every reason why litres of some casks may not go into a vat, and then the remedy."""
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
    return [*faults, *([remedy] if unasked else [])]


def agreed_by_name(cask: str, lying: Lying, limits: Limits) -> Iterator[Agreed]:
    """Return each bar of a cask that was lifted because the cask or its owner was named."""
    allowed = limits.allowed(cask, whole=False)
    for barred in lifted_by_name(lying.bars, allowed):
        yield Agreed(cask, barred.bar, sentence(cask, barred))


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
        yield (
            f"Cask {state.cask} holds {in_digits(state.bulk_l, '.1f')} L, not "
            f"{in_digits(wanted, '.1f')}."
        )
        return
    names = ", ".join(name for name, _ in state.promised) or "a reservation in the records"
    yield (
        f"Of cask {state.cask} {in_digits(reserved, '.1f')} L of "
        f"{in_digits(state.bulk_l, '.1f')} are reserved for {names}: "
        f"{in_digits(wanted, '.1f')} L cannot be had."
    )
