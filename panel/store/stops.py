"""A draw stopped as not safe, and how the stop ended: the lead's side of it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint, text
from sqlalchemy.orm import Mapped, Session, mapped_column

from panel.store.base import Bound
from panel.store.stopped_view import GLASSES

OF_SESSION = text(
    f"SELECT g.serving_id FROM ({GLASSES}) g JOIN serving z ON z.id = g.serving_id "
    "WHERE z.session_id = :session"
)


class DrawStop(Bound):
    """One stop, by the glass that was named: by a lead, or by a call from a booth (`call_id`).

    It stands until a lead lifts it with a reason. A call stops from the moment it is kept; its row
    here comes when a lead sees to it or the session is closed, and the glasses are void by then.
    """

    __tablename__ = "draw_stop"
    __table_args__ = (
        UniqueConstraint("call_id"),
        CheckConstraint(
            "(lifted_at IS NULL) = (lifted_because IS NULL)", name="lifted_with_a_reason"
        ),
        CheckConstraint("lifted_because <> ''", name="reason_not_empty"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), index=True)
    call_id: Mapped[int | None] = mapped_column(ForeignKey("lead_call.id"))
    stopped_at: Mapped[datetime]
    by_code: Mapped[str]
    note: Mapped[str | None]
    lifted_at: Mapped[datetime | None]
    lifted_by: Mapped[str | None]
    lifted_because: Mapped[str | None]


class StoppedMark(Bound):
    """A mark by which a stop took a glass from its tray, so that lifting it brings it back."""

    __tablename__ = "stopped_mark"

    mark_id: Mapped[int] = mapped_column(ForeignKey("serving_mark.id"), primary_key=True)
    stop_id: Mapped[int] = mapped_column(ForeignKey("draw_stop.id"), index=True)


def stopped_in(db: Session, session_id: int) -> frozenset[int]:
    """Return the numbers of a session's glasses that are stopped: which draws they are of is left.

    What a booth has called a moment ago is among them.
    """
    db.flush()
    return frozenset(db.scalars(OF_SESSION, {"session": session_id}))
