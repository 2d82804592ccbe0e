"""A suspected swap cleared up, before the reveal: the glasses stood as recorded, or not."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from panel.errors import SessionError
from panel.kinds import KEY_IS_SECRET, ServingStatus, SwapOutcome
from panel.session.found import session_at
from panel.session.marks import mark_row, standing_glass
from panel.store.log import append_entry
from panel.store.sessions import Serving

TOO_LATE = (
    "Whoever knows the key cannot say any more which way round two glasses stood: what was not "
    "cleared before the reveal stays out."
)


def clear_swap(
    db: Session,
    session: str,
    assessor: str,
    code: str,
    outcome: SwapOutcome,
    *,
    now: datetime,
    by: str,
    other: str | None = None,
    note: str | None = None,
) -> tuple[Serving, ...]:
    """Clear a suspected swap and return the glasses that are used again.

    Stood: the glass (and the other one, where it is named) is read as recorded. Exchanged: the
    two are read under each other's code, their scores and marks of fault alike; codes, scores
    and orders stay as they were written.

    Raises
    ------
    UnknownRecord, WrongState
        No such session before its reveal, assessor or glass.
    SessionError
        No swap is suspected there, or the two cannot have been exchanged.
    """
    held = session_at(
        db, session, *KEY_IS_SECRET, deed="clearing a suspected swap", too_late=TOO_LATE
    )
    codes = tuple(dict.fromkeys([code, *([other] if other else [])]))
    glasses = tuple(standing_glass(db, held, assessor, each) for each in codes)
    if outcome is SwapOutcome.EXCHANGED:
        _exchange(glasses)
    else:
        _refuse_unsuspected(glasses)
    for glass in glasses:
        mark_row(db, glass, ServingStatus.KEPT, now=now, by=by, note=note or outcome.value)
    details = {"session": held.name, "assessor": assessor, "codes": list(codes)}
    details["outcome"] = outcome.value
    append_entry(db, at=now, by=by, action="swap cleared", details=details)
    return glasses


def _refuse_unsuspected(glasses: tuple[Serving, ...]) -> None:
    for glass in glasses:
        if glass.status is not ServingStatus.SWAP_SUSPECTED:
            raise SessionError(
                f"No swap is suspected of glass {glass.code}: it is {glass.status.value}."
            )


def _exchange(glasses: tuple[Serving, ...]) -> None:
    if len(glasses) != 2:
        raise SessionError("Name the other glass too: two glasses change places.")
    one, other = glasses
    for glass in glasses:
        if glass.warm_up:
            raise SessionError(
                f"Glass {glass.code} is the warm-up glass, which was declared and is not used: "
                "mark the other one void."
            )
        if glass.status not in (ServingStatus.SWAP_SUSPECTED, ServingStatus.KEPT):
            raise SessionError(f"Glass {glass.code} is {glass.status.value}: it is not used.")
        if glass.read_as is not None:
            raise SessionError(f"Glass {glass.code} is read as {glass.read_as} already.")
    if ServingStatus.SWAP_SUSPECTED not in (one.status, other.status):
        raise SessionError(
            f"No swap is suspected of {one.code} and {other.code}: mark one of them first."
        )
    one.read_as, other.read_as = other.code, one.code
