"""Sessions looked up by name, and the stage they must be at for what was asked."""

from __future__ import annotations

from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.kinds import SessionStatus
from panel.store.finding import find_session
from panel.store.sessions import PanelSession

WHAT_NEXT = {
    SessionStatus.DRAFT: "seal it first (`oakpanel session seal`)",
    SessionStatus.SEALED: "open it first (`oakpanel session open`)",
    SessionStatus.OPEN: "close it first (`oakpanel session close`)",
    SessionStatus.CLOSED: "reveal it first (`oakpanel session reveal`)",
    SessionStatus.REVEALED: "it is finished; plan another session",
}

ONE_WAY = "A session goes one way only; nothing was changed."


def session_at(
    db: Session, name: str, *stages: SessionStatus, deed: str, too_late: str = ONE_WAY
) -> PanelSession:
    """Return the session if it stands at one of *stages*, else say what comes first.

    `too_late` is said of one that is past them all.

    Raises
    ------
    UnknownRecord, WrongState
        There is none of that name, or it is at another stage.
    """
    session = find_session(db, name)
    if session.status in stages:
        return session
    wanted = " or ".join(stage.value for stage in stages)
    raise WrongState(
        f"Session {name!r} is {session.status.value}; {deed} needs one that is {wanted}. "
        f"{_way_there(session.status, stages, too_late)}"
    )


def _way_there(now: SessionStatus, stages: tuple[SessionStatus, ...], too_late: str) -> str:
    order = list(SessionStatus)
    if order.index(now) < max(map(order.index, stages)):
        hint = WHAT_NEXT[now]
        return hint[0].upper() + hint[1:] + "."
    return too_late
