"""Makes, casks, fillings and what happened to them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    ForeignKey,
    Index,
    Table,
    UniqueConstraint,
    event,
    func,
    select,
    text,
)
from sqlalchemy.orm import Mapped, aliased, mapped_column, relationship

from panel.kinds import EventKind, GaugeMethod
from panel.store.base import Bound, choice


class Make(Bound):
    """A new-make spirit: where and from what it was distilled. Peat level lives here."""

    __tablename__ = "make"
    __table_args__ = (
        CheckConstraint("phenol_ppm >= 0", name="phenol_ppm_not_negative"),
        CheckConstraint("name <> ''", name="name_not_empty"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    site: Mapped[str]
    cereal: Mapped[str]
    phenol_ppm: Mapped[float]
    campaign: Mapped[str | None]
    note: Mapped[str | None]


class Cask(Bound):
    """The wood itself; its spirit comes and goes as fillings."""

    __tablename__ = "cask"
    __table_args__ = (
        CheckConstraint("size_l > 0", name="size_l_positive"),
        CheckConstraint("number <> ''", name="number_not_empty"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(unique=True)
    wood: Mapped[str]
    size_l: Mapped[float]
    note: Mapped[str | None]
    fillings: Mapped[list[Filling]] = relationship(
        back_populates="cask", order_by="Filling.filled_on"
    )


class Filling(Bound):
    """One spirit's stay in one cask, from a make or (by re-racking) from other fillings."""

    __tablename__ = "filling"
    __table_args__ = (
        CheckConstraint("fill_number >= 1", name="fill_number_from_one"),
        CheckConstraint("fill_abv > 0 AND fill_abv <= 100", name="fill_abv_in_range"),
        CheckConstraint("fill_bulk_l > 0", name="fill_bulk_l_positive"),
        CheckConstraint("hold_until IS NULL OR hold_reason IS NOT NULL", name="hold_has_reason"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    label: Mapped[str] = mapped_column(unique=True)
    parcel: Mapped[str | None]
    cask_id: Mapped[int] = mapped_column(ForeignKey("cask.id"), index=True)
    make_id: Mapped[int | None] = mapped_column(ForeignKey("make.id"), index=True)
    filled_on: Mapped[date]
    fill_number: Mapped[int]
    previous: Mapped[str | None]
    fill_abv: Mapped[float]
    fill_bulk_l: Mapped[float]
    owner: Mapped[str | None]
    hold_reason: Mapped[str | None]
    hold_until: Mapped[date | None]
    site: Mapped[str | None]
    warehouse: Mapped[str | None]
    row: Mapped[str | None]
    tier: Mapped[str | None]

    cask: Mapped[Cask] = relationship(back_populates="fillings")
    make: Mapped[Make | None] = relationship()
    told_events: Mapped[list[FillingEvent]] = relationship(
        back_populates="filling",
        foreign_keys="FillingEvent.filling_id",
        order_by="FillingEvent.happened_on, FillingEvent.id",
    )
    regauges: Mapped[list[Regauge]] = relationship(
        back_populates="filling", order_by="Regauge.gauged_on"
    )

    @property
    def events(self) -> list[FillingEvent]:
        """What happened to it: all that was told but what was taken back."""
        return [event for event in self.told_events if event.reversal is None]


_TOLD_ALONE = "uq_filling_event_told_once_alone"
_ALONE = "parent_filling_id IS NULL"


class FillingEvent(Bound):
    """A dated event. Re-racking and topping are told by what received, one row a parent."""

    __tablename__ = "filling_event"
    __table_args__ = (
        UniqueConstraint(
            *("filling_id", "kind", "happened_on", "parent_filling_id", "entry"),
            name="uq_filling_event_told_once",
        ),
        # Two empty parents count as different in the rule above.
        Index(
            _TOLD_ALONE,
            *("filling_id", "kind", "happened_on", "entry"),
            unique=True,
            sqlite_where=text(_ALONE),
        ),
        CheckConstraint("litres IS NULL OR litres > 0", name="litres_positive"),
        CheckConstraint("entry >= 1", name="entry_from_one"),
        CheckConstraint(
            "kind <> 're-racked' OR parent_filling_id IS NOT NULL", name="parent_if_re_racked"
        ),
        CheckConstraint(
            "parent_filling_id IS NULL OR kind IN ('re-racked', 'topped')",
            name="parent_only_if_moved_in",
        ),
        CheckConstraint(
            "kind NOT IN ('re-racked', 'topped') OR litres IS NOT NULL", name="litres_if_moved_in"
        ),
        Index("ix_filling_event_happened", "filling_id", "happened_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"))
    kind: Mapped[EventKind] = mapped_column(choice(EventKind, "event_kind"))
    happened_on: Mapped[date]
    entry: Mapped[int] = mapped_column(default=1)
    parent_filling_id: Mapped[int | None] = mapped_column(ForeignKey("filling.id"), index=True)
    litres: Mapped[float | None]
    abv: Mapped[float | None]
    site: Mapped[str | None]
    warehouse: Mapped[str | None]
    row: Mapped[str | None]
    tier: Mapped[str | None]
    note: Mapped[str | None]

    filling: Mapped[Filling] = relationship(back_populates="told_events", foreign_keys=[filling_id])
    parent: Mapped[Filling | None] = relationship(foreign_keys=[parent_filling_id])
    reversal: Mapped[EventReversal | None] = relationship(lazy="joined")


@event.listens_for(FillingEvent.__table__, "before_create")
def _alone_on_a_server(table: Table, connection: Connection, **_: Any) -> None:
    """Say of which rows that rule is in a server's words.

    Among the arguments of an index it would load all that a server is spoken to with, which took
    every command on a file a twentieth of its start.
    """
    if connection.dialect.name == "postgresql":
        rule = next(index for index in table.indexes if index.name == _TOLD_ALONE)
        rule.dialect_options["postgresql"]["where"] = text(_ALONE)


class EventReversal(Bound):
    """An event taken back by who wrote it: the event stays as it was told and counts no more."""

    __tablename__ = "event_reversal"

    event_id: Mapped[int] = mapped_column(ForeignKey("filling_event.id"), primary_key=True)
    taken_back_at: Mapped[datetime]
    by_code: Mapped[str]


def emptying(filling: Filling, on: date, note: str | None = None) -> FillingEvent:
    """Return a new event that a filling was emptied, beside those that were taken back."""
    kind = EventKind.EMPTIED
    told = [e.entry for e in filling.told_events if (e.kind, e.happened_on) == (kind, on)]
    entry = max(told, default=0) + 1
    return FillingEvent(filling=filling, kind=kind, happened_on=on, entry=entry, note=note)


def standing() -> ColumnElement[bool]:
    """Return what tells the events that nobody took back: every question for events asks it."""
    return FillingEvent.id.not_in(select(EventReversal.event_id))


def told_entry() -> ColumnElement[int]:
    """Return the entry by which files name an event: those taken back before it do not count."""
    other = aliased(FillingEvent)
    same = (
        other.filling_id == FillingEvent.filling_id,
        other.kind == FillingEvent.kind,
        other.happened_on == FillingEvent.happened_on,
        func.coalesce(other.parent_filling_id, 0)
        == func.coalesce(FillingEvent.parent_filling_id, 0),
    )
    gone = select(func.count()).select_from(other).where(*same, other.entry < FillingEvent.entry)
    gone = gone.where(other.id.in_(select(EventReversal.event_id)))
    return FillingEvent.entry - gone.correlate(FillingEvent).scalar_subquery()


class HoldChange(Bound):
    """A hold as somebody set it, lifted it or took that back, and what stood before."""

    __tablename__ = "hold_change"
    __table_args__ = (UniqueConstraint("reverses_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"), index=True)
    reason: Mapped[str | None]
    until: Mapped[date | None]
    reason_before: Mapped[str | None]
    until_before: Mapped[date | None]
    changed_at: Mapped[datetime]
    by_code: Mapped[str]
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("hold_change.id"))

    filling: Mapped[Filling] = relationship()


class Regauge(Bound):
    """A measurement of what a cask holds: bulk litres at 20 C and strength."""

    __tablename__ = "regauge"
    __table_args__ = (
        UniqueConstraint("filling_id", "gauged_on"),
        CheckConstraint("bulk_l >= 0", name="bulk_l_not_negative"),
        CheckConstraint("abv > 0 AND abv <= 100", name="abv_in_range"),
        CheckConstraint(
            "temperature_c IS NULL OR (temperature_c >= -20 AND temperature_c <= 40)",
            name="temperature_c_in_range",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"))
    gauged_on: Mapped[date]
    bulk_l: Mapped[float]
    abv: Mapped[float]
    temperature_c: Mapped[float | None]
    method: Mapped[GaugeMethod] = mapped_column(choice(GaugeMethod, "gauge_method"))
    note: Mapped[str | None]

    filling: Mapped[Filling] = relationship(back_populates="regauges")
