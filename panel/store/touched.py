"""Which rows a transaction changed, so that its entry in the log can vouch for them.

A session that writes takes note of every row that the program adds, changes or deletes through it.
What is written past the program (a shell, another tool) leaves no note, and so no digest that fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, cast

from sqlalchemy import Table, bindparam, event, func, inspect, select, update
from sqlalchemy.orm import Mapper, ORMExecuteState, Session, object_session

from panel.store.base import Bound, new_nonce
from panel.store.rows import Key, form_of, rows_at

STATED = "oakpanel_touched"
Digests = dict[str, dict[str, str | None]]
"""By table and key: the digest of a row, or None for one that is gone."""


@dataclass
class Touched:
    """What a transaction changed and no entry has told yet, and what else its entry is to hold."""

    objects: dict[int, Bound] = field(default_factory=dict)
    keys: dict[Table, set[Key]] = field(default_factory=dict)
    renewed: dict[Table, set[Key]] = field(default_factory=dict)
    numbers_above: dict[Table, int] = field(default_factory=dict)
    cleared: list[tuple[int, str]] | None = None
    """Entries that an erasure cleared, by number and link; None where there was no erasure."""

    def __bool__(self) -> bool:
        """Tell whether there is something that an entry has to hold."""
        rows = (self.objects, self.keys, self.renewed, self.numbers_above)
        return any(rows) or self.cleared is not None

    def add(self, table: Table, keys: Iterable[Key]) -> None:
        """Take note of rows by their keys."""
        self.keys.setdefault(table, set()).update(keys)


class WritingSession(Session):
    """A database session that takes note of the rows changed through it."""


def touched_of(db: Session) -> Touched | None:
    """Return the notes of a session that writes; None for one that only reads."""
    if not isinstance(db, WritingSession):
        return None
    return cast("Touched", db.info.setdefault(STATED, Touched()))


def note_rows(db: Session, table: object, keys: Iterable[Key]) -> None:
    """Take note of rows that are written past the session's own ways."""
    touched = touched_of(db)
    if touched is not None:
        touched.add(cast("Table", table), keys)


def take_digests(db: Session) -> Digests:
    """Return what the log has to say of the rows changed so far, and begin anew."""
    touched = touched_of(db)
    if not touched:
        return {}
    digests: Digests = {}
    for changed in touched.objects.values():
        _state_object(changed, touched, digests)
    _note_new_numbers(db, touched)
    _renew(db, touched)
    for table, keys in touched.keys.items():
        _state_keys(db, table, keys, digests)
    db.info[STATED] = Touched()
    return digests


def _state_object(changed: Bound, touched: Touched, digests: Digests) -> None:
    state = inspect(changed)
    mapper = cast("Mapper[Any]", state.mapper)
    table, form = cast("Table", mapper.local_table), form_of(cast("Table", mapper.local_table))
    names = _attributes(mapper)
    values = state.dict
    if state.deleted or state.was_deleted or any(name not in values for name in names):
        if state.identity is not None or state.key is not None:
            touched.add(table, [_identity(state)])
        return
    row = [values[name] for name in names]
    digests.setdefault(table.name, {})[form.key_of(row)] = form.digest(row)


def _identity(state: Any) -> Key:
    return tuple(state.identity if state.identity is not None else state.key[1])


NAMES: dict[Any, tuple[str, ...]] = {}


def _attributes(mapper: Mapper[Any]) -> tuple[str, ...]:
    """Return the attributes that hold the columns of a row, in the order of its form."""
    if mapper not in NAMES:
        form = form_of(cast("Table", mapper.local_table))
        NAMES[mapper] = tuple(mapper.get_property_by_column(each).key for each in form.columns)
    return NAMES[mapper]


def _note_new_numbers(db: Session, touched: Touched) -> None:
    for table, highest in touched.numbers_above.items():
        number = form_of(table).key[0]
        new = db.connection().execute(select(number).where(number > highest))
        touched.add(table, [(row[0],) for row in new])


def _renew(db: Session, touched: Touched) -> None:
    """Give rows that one statement changed a new nonce each."""
    for table, keys in touched.renewed.items():
        touched.add(table, keys)
        columns = form_of(table).key
        whose = [column == bindparam(f"of_{place}") for place, column in enumerate(columns)]
        rows = [
            {f"of_{place}": part for place, part in enumerate(key)} | {"nonce": new_nonce()}
            for key in keys
        ]
        renewed = update(table).where(*whose).values(row_nonce=bindparam("nonce"))
        if rows:
            db.connection().execute(renewed, rows)


def _state_keys(db: Session, table: Table, keys: set[Key], digests: Digests) -> None:
    form = form_of(table)
    told = digests.setdefault(table.name, {})
    told.update((form.key_text(key), None) for key in keys)
    told.update(
        (form.key_of(row), form.digest(row)) for row in rows_at(db.connection(), form, keys)
    )


@event.listens_for(Bound, "before_insert", propagate=True)
def _new_row(_mapper: object, _connection: object, target: Bound) -> None:
    if (touched := _notes(target)) is not None:
        touched.objects[id(target)] = target


@event.listens_for(Bound, "before_update", propagate=True)
def _changed_row(_mapper: object, _connection: object, target: Bound) -> None:
    touched = _notes(target)
    session = object_session(target)
    if touched is None or session is None:
        return
    if session.is_modified(target, include_collections=False):
        target.row_nonce = new_nonce()
        touched.objects[id(target)] = target


@event.listens_for(Bound, "before_delete", propagate=True)
def _deleted_row(mapper: Mapper[Any], _connection: object, target: Bound) -> None:
    if (touched := _notes(target)) is not None:
        touched.objects.pop(id(target), None)
        touched.add(cast("Table", mapper.local_table), [_identity(inspect(target))])


def _notes(target: Bound) -> Touched | None:
    session = object_session(target)
    return None if session is None else touched_of(session)


@event.listens_for(WritingSession, "do_orm_execute")
def _by_statement(asked: ORMExecuteState) -> None:
    """Take note of rows that one statement changes: they are asked for before it runs."""
    if asked.is_select or not (asked.is_update or asked.is_delete or asked.is_insert):
        return
    table = getattr(asked.statement, "table", None)
    touched = touched_of(asked.session)
    if touched is None or not isinstance(table, Table) or "row_nonce" not in table.columns:
        return
    if asked.is_insert:
        _inserted(asked, table, touched)
        return
    keys = _keys_of(asked, table)
    if asked.is_update:
        touched.renewed.setdefault(table, set()).update(keys)
    else:
        touched.add(table, keys)


def _inserted(asked: ORMExecuteState, table: Table, touched: Touched) -> None:
    key = form_of(table).key
    given = _parameters(asked)
    if given and all(column.name in row for row in given for column in key):
        touched.add(table, [tuple(row[column.name] for column in key) for row in given])
    elif table not in touched.numbers_above:
        highest = asked.session.connection().scalar(select(func.max(key[0])))
        touched.numbers_above[table] = highest or 0


def _keys_of(asked: ORMExecuteState, table: Table) -> set[Key]:
    key = form_of(table).key
    where = getattr(asked.statement, "whereclause", None)
    given = _parameters(asked)
    if where is None and given and all(column.name in given[0] for column in key):
        return {tuple(row[column.name] for column in key) for row in given}
    found = select(*key) if where is None else select(*key).where(where)
    rows = [asked.session.connection().execute(found, one) for one in given or [{}]]
    return {tuple(row) for result in rows for row in result}


def _parameters(asked: ORMExecuteState) -> Sequence[Mapping[str, Any]]:
    given = asked.parameters
    if given is None:
        return []
    return [given] if isinstance(given, Mapping) else list(given)


@event.listens_for(WritingSession, "after_rollback")
def _given_up(db: Session) -> None:
    db.info[STATED] = Touched()
