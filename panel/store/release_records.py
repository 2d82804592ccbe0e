"""Releases by name, and the one rule that keeps two of them from spending the same cask."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from difflib import get_close_matches

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import NotInStock, UnknownRecord
from panel.store.casks import Cask, Filling
from panel.store.filling_states import FillingState, filling_states
from panel.store.releases import Release

HAIR_L = 0.05
"""Litres below which two figures are the same: records keep tenths."""


def find_release(db: Session, name: str) -> Release:
    """Return a release by name, or say which comes nearest.

    Raises
    ------
    UnknownRecord
        There is none of that name.
    """
    release = db.scalar(select(Release).where(Release.name == name))
    if release is None:
        names = db.scalars(select(Release.name).order_by(Release.name)).all()
        near = get_close_matches(name, names, n=3) or names[:8]
        hint = f" There are: {', '.join(near)}." if near else " None was proposed yet."
        raise UnknownRecord(f"There is no release {name!r}.{hint}")
    return release


def releases(db: Session) -> list[Release]:
    """Return all releases, the newest first."""
    return list(db.scalars(select(Release).order_by(Release.planned_on.desc(), Release.id.desc())))


def hold_stock(
    db: Session, litres: Mapping[str, float], *, as_of: date, besides_release: str | None = None
) -> dict[str, FillingState]:
    """Lock the casks in a write transaction and return them, if the litres are there.

    Raises
    ------
    NotInStock
        A cask has not so much, or another release has it; every such cask is named.
    """
    _lock(db, litres)
    states = {
        state.cask: state
        for state in filling_states(
            db, as_of, only_casks=list(litres), besides_release=besides_release
        )
        if state.emptied_on is None
    }
    faults = [fault for cask, wanted in litres.items() if (fault := _fault(states, cask, wanted))]
    if faults:
        raise NotInStock(f"Nothing was reserved. {' '.join(faults)}")
    return {cask: states[cask] for cask in litres}


def _lock(db: Session, casks: Iterable[str]) -> None:
    # SQLite holds its one write lock already; a server locks these rows till the commit.
    rows = select(Filling.id).join(Cask).where(Cask.number.in_(list(casks)))
    db.execute(rows.order_by(Filling.id).with_for_update(of=Filling)).all()


def _fault(states: Mapping[str, FillingState], cask: str, wanted: float) -> str | None:
    state = states.get(cask)
    if state is None:
        return f"Cask {cask} holds nothing."
    if state.reserved_whole:
        return f"Cask {cask} is reserved as a whole."
    reserved = state.reserved_l or 0.0
    if wanted <= state.bulk_l - reserved + HAIR_L:
        return None
    if not reserved:
        return f"Cask {cask} holds {state.bulk_l:.1f} L, not {wanted:.1f}."
    names = ", ".join(name for name, _ in state.promised) or "a reservation in the records"
    return (
        f"Of cask {cask} {reserved:.1f} L of {state.bulk_l:.1f} are reserved for {names}: "
        f"{wanted:.1f} L cannot be had."
    )
