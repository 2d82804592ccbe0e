"""The key: the only tables that tell which draw stands behind a code.

Nothing that a booth imports may import this module; an import contract holds that.
"""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, UniqueConstraint, and_, or_
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import GlassKind, PeatOrder
from panel.store.base import Bound, OpenChoice, choice
from panel.store.draws import Draw
from panel.store.people import Person
from panel.store.sessions import Serving, code_read


class PlannedDraw(Bound):
    """A draw that a draft session is to serve, and how often."""

    __tablename__ = "planned_draw"
    __table_args__ = (CheckConstraint("glasses >= 1", name="glasses_from_one"),)

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), primary_key=True)
    kind: Mapped[GlassKind] = mapped_column(choice(GlassKind, "planned_kind"), primary_key=True)
    place: Mapped[int]
    glasses: Mapped[int] = mapped_column(default=1)

    draw: Mapped[Draw] = relationship()


class PlannedWay(Bound):
    """How a draft is laid out where it is not as usual: all glasses to all, smoke rising.

    `glasses_each` is how many draws each assessor was to get where the program chose which;
    `search` how many times the usual work was put into the search.
    """

    __tablename__ = "planned_way"
    __table_args__ = (
        CheckConstraint("glasses_each >= 1", name="glasses_each_from_one"),
        CheckConstraint("search >= 1", name="search_from_one"),
    )

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    peat: Mapped[PeatOrder] = mapped_column(OpenChoice(PeatOrder), default=PeatOrder.RISING)
    after_peat: Mapped[bool] = mapped_column(default=False)
    glasses_each: Mapped[int | None]
    search: Mapped[int] = mapped_column(default=1)


class PlannedFinding(Bound):
    """What a draft asked before its first glass: what is to be called alike, and what is expected.

    Two products are called alike only within `alike_within`, a d-prime; None: it is not asked.
    `stronger_id` is the draw that was expected to be the stronger; without one both ways count.
    """

    __tablename__ = "planned_finding"
    __table_args__ = (CheckConstraint("alike_within > 0", name="alike_within_positive"),)

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    alike_within: Mapped[float | None]
    stronger_id: Mapped[int | None] = mapped_column(ForeignKey("draw.id"))


class PlannedServing(Bound):
    """A glass of a draft for one seat, in one flight: where not everybody gets every glass.

    A session without such rows gives everybody everything. References and the warm-up glass have
    none: every flight gets a reference, every tray the warm-up glass.
    """

    __tablename__ = "planned_serving"
    __table_args__ = (
        CheckConstraint("replicate >= 1", name="replicate_from_one"),
        CheckConstraint("flight >= 1", name="flight_from_one"),
    )

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    seat: Mapped[int] = mapped_column(primary_key=True)
    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), primary_key=True)
    replicate: Mapped[int] = mapped_column(primary_key=True)
    flight: Mapped[int]


class KeyRow(Bound):
    """One code and the draw behind it. `tray` is empty where all trays share the codes."""

    __tablename__ = "key_row"
    __table_args__ = (
        UniqueConstraint("session_id", "tray", "code"),
        UniqueConstraint("session_id", "tray", "draw_id", "kind", "replicate"),
        CheckConstraint("replicate >= 1", name="replicate_from_one"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"))
    tray: Mapped[str] = mapped_column(default="")
    code: Mapped[str]
    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), index=True)
    kind: Mapped[GlassKind] = mapped_column(choice(GlassKind, "glass_kind"))
    replicate: Mapped[int]

    draw: Mapped[Draw] = relationship()


def behind_serving() -> ColumnElement[bool]:
    """Return what joins a glass, and whose it is, to its row of the key."""
    return and_(
        KeyRow.session_id == Serving.session_id,
        KeyRow.code == code_read(),
        or_(KeyRow.tray == "", KeyRow.tray == Person.code),
    )


class KeySecret(Bound):
    """The 128 bits that codes and orders come from, and the nonce of the sealed hash."""

    __tablename__ = "key_secret"

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    seed_hex: Mapped[str]
    nonce_hex: Mapped[str | None]
