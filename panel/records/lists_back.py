"""The last edit of a list taken back: what stood before is written as a new edit, which says so.

By who did it, until ten minutes have passed, a session that has it is sealed, or a later record
rests on it. Both edits stay as they were told: what a list held can be read from them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from panel.clock import TAKE_BACK
from panel.errors import NotAllowed
from panel.kinds import EditedList, Role, RuleKind
from panel.records.resting_lists import list_rests_on
from panel.records.taking_back import TOO_LATE, whose
from panel.store.house import rule_for, today_at_site
from panel.store.house_setting import HouseSetting
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.list_edits import REVERSING, Listed, ListEdit, read_values, values_now
from panel.store.log import append_entry
from panel.store.rule_sets import RuleLine, RuleSet
from panel.store.targets import StoredTarget, StoredTargetLine
from panel.store.told import told_before, told_since
from panel.store.who import has_role, lead_or_first, person_by_code

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy.orm import Session

    from panel.records.resting_lists import Edited
    from panel.store.told import Told

WRITTEN = frozenset({"load", "target made", "rule changed", "setting changed"})
"""What the log calls edits that a person wrote, by a form, a command or a file."""
NAMED_AT_MOST = 3
CALLED = {
    EditedList.LEXICON: "the lexicon",
    EditedList.TARGETS: "the targets",
    EditedList.RULES: "the rules of law",
    EditedList.SETTINGS: "the settings",
}


@dataclass(frozen=True)
class LastEdit:
    """What was edited last: by whom, in which entry of the log, and why it stands.

    `stands` is empty where it can be taken back by who did it.
    """

    words: str
    by: str
    at: datetime
    rows: tuple[int, ...]
    stands: str

    def why_not(self, by: str) -> str:
        """Return why *by* cannot take it back, in words; nothing where they can."""
        return whose(self.words, self.by, by) or self.stands


@dataclass(frozen=True)
class EditTakenBack:
    """The records of a list that are again as they were."""

    edited: EditedList
    records: tuple[str, ...]
    words: str
    by: str

    json_keys = (("edited", "list"), "records", "words", "by")

    def sentence(self) -> str:
        """Return what was done, as a person reads it."""
        return f"{self.words} is taken back: what stood before stands again."


def last_edit(
    db: Session, edited: EditedList, name: str | None, *, now: datetime
) -> LastEdit | None:
    """Return the last edit within the time for taking back: of a list, or of one name in it.

    Raises
    ------
    UnknownRecord
        There is no setting of that name.
    """
    if edited is EditedList.SETTINGS and name is not None:
        rule_for(name)
    entries = told_since(db, now - TAKE_BACK)
    for place, entry in enumerate(entries):
        edits = [] if entry.at > now else _edits_of(db, edited, name, entry)
        if edits:
            words = f"The edit of {_words(edited, name, edits)}"
            found = [(edit, _record_of(db, edit)) for edit in edits]
            stands = _why_it_stands(db, words, found, entry, entries[:place])
            rows = tuple(edit.id for edit in edits)
            return LastEdit(words, entry.by, entry.at, rows, stands)
    return None


def take_edit_back(
    db: Session,
    edited: EditedList,
    name: str | None,
    *,
    now: datetime,
    by: str | None,
    seen: LastEdit | None = None,
) -> EditTakenBack:
    """Write what stood before the last edit as a new one; the log says which it reverses.

    *seen* is what whoever acts saw as the last: something else written since is not taken back.

    Raises
    ------
    UnknownRecord
        There is no such setting, or nobody of that code.
    NotAllowed
        Nothing was edited within ten minutes, somebody else did it, a later record rests on it, or
        whoever acts may not edit the list.
    """
    who = _editor(db, edited, by, now)
    last = last_edit(db, edited, name, now=now)
    if last is None:
        what = CALLED[edited] if name is None else f"{_one(edited)}{name}"
        raise NotAllowed(
            f"Nothing of {what} was edited within ten minutes that can be taken back: {TOO_LATE}"
        )
    if seen is not None and seen.rows != last.rows:
        raise NotAllowed(f"Something was changed by somebody since: {last.words} came last. Look.")
    if why := last.why_not(who):
        raise NotAllowed(why)
    edits = [db.get_one(ListEdit, row) for row in last.rows]
    _write_back(db, edits)
    details = {"list": edited.value, "name": name or "", "rows": list(last.rows)}
    append_entry(db, at=now, by=who, action="edit taken back", details=details)
    records = tuple(_record_name(edit) for edit in edits)
    return EditTakenBack(edited, records, last.words, who)


def _editor(db: Session, edited: EditedList, by: str | None, now: datetime) -> str:
    """Return the code of who acts: a lead, or a blender for targets."""
    if edited is EditedList.TARGETS and by is not None:
        person = person_by_code(db, by)
        if has_role(person, Role.BLENDER):
            return person.code
    return lead_or_first(db, by, on=today_at_site(db, now))


def _edits_of(db: Session, edited: EditedList, name: str | None, entry: Told) -> list[ListEdit]:
    """Return the edits that an entry tells of and that stand, but for those that take some back."""
    numbers = entry.numbers(ListEdit.__tablename__)
    gone = select(ListEdit.reverses_id).where(ListEdit.reverses_id.is_not(None))
    asked = (
        select(ListEdit)
        .where(ListEdit.edited == edited, ListEdit.reverses_id.is_(None))
        .where(ListEdit.id.not_in(gone))
        .order_by(ListEdit.id)
    )
    asked = asked if name is None else asked.where(ListEdit.name == name)
    edits = [edit for edit in db.scalars(asked) if edit.id in numbers] if numbers else []
    if edits and entry.action not in WRITTEN:  # an erasure or an upgrade tells of older ones again
        edits = [e for e in edits if not told_before(db, entry, ListEdit.__tablename__, e.id)]
    return edits


def _why_it_stands(
    db: Session, words: str, edits: Sequence[Edited], entry: Told, later: Sequence[Told]
) -> str:
    if entry.action not in WRITTEN:
        return f"{words} was written by another step ({entry.action}): {TOO_LATE}"
    for edit, record in edits:
        now = None if record is None else values_now(record)
        if not _is_whole(edit) or now != _values(edit.after_json):
            return f"{_record_name(edit)} was changed by somebody since: {TOO_LATE}"
    if rests := list_rests_on(db, edits, later):
        return f"{words} stays, since a later record rests on it: {rests}."
    return ""


def _write_back(db: Session, edits: Sequence[ListEdit]) -> None:
    db.info[REVERSING] = {edit.place: edit.id for edit in edits}
    with db.no_autoflush:  # a descriptor goes together with its versions, not before them
        for edit in edits:
            record, before = _record_of(db, edit), _values(edit.before_json)
            if record is not None and before is None:
                db.delete(record)
            elif record is not None:
                for name, value in read_values(type(record), before or {}).items():
                    setattr(record, name, value)
    db.flush()


def _record_of(db: Session, edit: ListEdit) -> Listed | None:
    """Return the record that an edit was of, as it stands; None where it is gone."""
    try:
        found: Listed | None = db.scalar(_asked_for(edit))
    except ValueError:  # erasing a person put a pseudonym where a version or a rule stood
        return None
    return found


def _asked_for(edit: ListEdit) -> Any:
    """Return the question for the record that an edit was of."""
    whole: dict[EditedList, type[HouseSetting | Descriptor | RuleSet | StoredTarget]] = {
        EditedList.SETTINGS: HouseSetting,
        EditedList.LEXICON: Descriptor,
        EditedList.RULES: RuleSet,
        EditedList.TARGETS: StoredTarget,
    }
    table, part = whole[edit.edited], edit.part
    if not part:
        return select(table).where(table.name == edit.name)
    asked: Any
    if edit.edited is EditedList.LEXICON:
        asked = select(DescriptorVersion).join(Descriptor)
        asked = asked.where(DescriptorVersion.version == int(part))
    elif edit.edited is EditedList.RULES:
        asked = select(RuleLine).join(RuleSet).where(RuleLine.kind == RuleKind(part))
    else:
        asked = select(StoredTargetLine).join(StoredTarget).join(Descriptor)
        asked = asked.where(Descriptor.name == part)
    return asked.where(table.name == edit.name)


def _values(kept: str | None) -> dict[str, Any] | None:
    return None if kept is None else dict(json.loads(kept))


def _is_whole(edit: ListEdit) -> bool:
    """Say whether both values can be read: a pseudonym can have taken the place of a number."""
    try:
        _values(edit.before_json), _values(edit.after_json)
    except ValueError:
        return False
    return True


def _record_name(edit: ListEdit) -> str:
    if edit.edited is EditedList.LEXICON and edit.part:
        return f"{edit.name} version {edit.part}"
    return f"{edit.name}, {edit.part}" if edit.part else edit.name


def _one(edited: EditedList) -> str:
    return {EditedList.TARGETS: "target ", EditedList.RULES: "rule set "}.get(edited, "")


def _words(edited: EditedList, name: str | None, edits: Sequence[ListEdit]) -> str:
    parts = [edit for edit in edits if edit.part]
    if name is not None and edited is not EditedList.LEXICON:
        said, whole = [edit.part for edit in parts], f"{_one(edited)}{name}"
    else:
        said, whole = [_record_name(edit) for edit in parts or edits], CALLED[edited]
    more = len(said) - NAMED_AT_MOST
    listed = ", ".join(said[:NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")
    return f"{whole} ({listed})" if listed else whole
