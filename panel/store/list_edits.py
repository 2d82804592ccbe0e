"""What a record of a list held before an edit and after it, kept so that it can be taken back.

Whatever way an edit comes (a form, a command, a file), it is kept as the records are written, a row
for each record of the list; who did it and when is what the log tells of that row.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import Any, ClassVar, cast

from sqlalchemy import ColumnDefault, Float, ForeignKey, UniqueConstraint, event, inspect
from sqlalchemy.orm import Mapped, Mapper, Session, mapped_column

from panel.kinds import EditedList
from panel.store.base import Bound, OpenChoice
from panel.store.touched import WritingSession

KEPT = "oakpanel_edits"
REVERSING = "oakpanel_reversing"
"""Where a transaction that takes edits back says which, by list, name and part."""
Place = tuple[EditedList, str, str]
Values = Mapping[str, Any]


class ListEdit(Bound):
    """A record of a list before an edit and after it; empty where there was or is none.

    `name` is the descriptor, target, rule set or setting; `part` the version, the line's descriptor
    or the rule, and empty for what is named itself.
    """

    __tablename__ = "list_edit"
    __table_args__ = (UniqueConstraint("reverses_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    edited: Mapped[EditedList] = mapped_column(OpenChoice(EditedList))
    name: Mapped[str]
    part: Mapped[str]
    before_json: Mapped[str | None]
    after_json: Mapped[str | None]
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("list_edit.id"))

    @property
    def place(self) -> Place:
        """Which record of which list."""
        return (self.edited, self.name, self.part)


class Listed:
    """A record of a list: its edits are kept."""

    EDITED: ClassVar[EditedList]
    TOLD: ClassVar[tuple[str, ...]] = ()
    """The attributes that an edit changes."""

    def listed(self) -> tuple[str, str]:
        """Return its name and part."""
        raise NotImplementedError

    def whose(self, relation: str) -> Any:
        """Return the record that it belongs to, also where only its number was given."""
        found = getattr(self, relation)
        if found is None:
            link = _mapper(self).relationships[relation]
            number = getattr(self, str(next(iter(link.local_columns)).key))
            db = inspect(cast("Any", self)).session
            found = None if number is None else db.get(link.mapper.class_, number)
        return found


def values_now(record: Listed) -> dict[str, Any]:
    """Return what a record holds, as JSON knows it."""
    return {name: _plain(record, name, _value(record, name)) for name in record.TOLD}


def read_values(record: type[Listed], values: Values) -> dict[str, Any]:
    """Return kept values as the attributes of a record hold them."""
    columns = cast("Mapper[Any]", inspect(record)).columns
    return {name: _read(columns[name].type.python_type, value) for name, value in values.items()}


def _read(kind: type[Any], value: Any) -> Any:
    if isinstance(value, str) and issubclass(kind, date):
        return kind.fromisoformat(value)
    return kind(value) if isinstance(value, str) and issubclass(kind, StrEnum) else value


def _mapper(record: Listed) -> Mapper[Any]:
    return cast("Mapper[Any]", inspect(type(record)))


def _value(record: Listed, name: str) -> Any:
    value = getattr(record, name)
    default = _mapper(record).columns[name].default
    if value is None and isinstance(default, ColumnDefault) and default.is_scalar:
        return default.arg  # not filled in before the row is written
    return value


def _plain(record: Listed, name: str, value: Any) -> Any:
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, int) and isinstance(_mapper(record).columns[name].type, Float):
        return float(value)
    return value.isoformat() if isinstance(value, date) else value


def _values_before(record: Listed) -> dict[str, Any] | None:
    state = inspect(cast("Any", record))
    if not state.persistent:
        return None
    committed = state.committed_state
    return {
        name: _plain(record, name, committed[name] if name in committed else getattr(record, name))
        for name in record.TOLD
    }


@event.listens_for(WritingSession, "before_flush")
def _keep_edits(db: Session, _context: object, _instances: object) -> None:
    gone = db.deleted
    for record in (*db.new, *db.dirty, *gone):
        if isinstance(record, Listed):
            _keep(db, record, None if record in gone else values_now(record))


def _keep(db: Session, record: Listed, after: Values | None) -> None:
    before = _values_before(record)
    if before == after:
        return
    place = (record.EDITED, *record.listed())
    kept: dict[Place, ListEdit] = db.info.setdefault(KEPT, {})
    if place in kept and kept[place] in db:
        kept[place].after_json = _text(after)
        return
    reversed_ids: Mapping[Place, int] = db.info.get(REVERSING, {})
    edited, name, part = place
    kept[place] = ListEdit(
        edited=edited,
        name=name,
        part=part,
        before_json=_text(before),
        after_json=_text(after),
        reverses_id=reversed_ids.get(place),
    )
    db.add(kept[place])


def _text(values: Values | None) -> str | None:
    return None if values is None else json.dumps(values, ensure_ascii=False, sort_keys=True)


@event.listens_for(WritingSession, "after_commit")
@event.listens_for(WritingSession, "after_rollback")
def _over(db: Session) -> None:
    db.info.pop(KEPT, None)
    db.info.pop(REVERSING, None)
