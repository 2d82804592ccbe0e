"""What rests on an edit of a list: sessions, scores, targets and releases that were made by it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import EditedList
from panel.records.resting import SEALED
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.mixing_notes import MixingNote
from panel.store.releases import Release
from panel.store.sessions import PanelSession, Score, SessionDescriptor
from panel.store.targets import StoredTarget, StoredTargetLine
from panel.store.word_matches import OwnWordMatch

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from sqlalchemy.orm import Session

    from panel.store.list_edits import Listed, ListEdit
    from panel.store.told import Told

Edited = tuple["ListEdit", "Listed | None"]
"""An edit, and the record that it was of as it stands."""


def list_rests_on(db: Session, edits: Sequence[Edited], later: Sequence[Told]) -> str:
    """Return in words what rests on the edits, of records written *later* above all; or nothing.

    What an edit began cannot go while anything whatever speaks of it.
    """
    looks = (rests for edit, record in edits for rests in _rests(db, edit, record, later))
    return next(looks, "")


def _rests(
    db: Session, edit: ListEdit, record: Listed | None, later: Sequence[Told]
) -> Iterator[str]:
    began = edit.before_json is None
    if isinstance(record, DescriptorVersion):
        yield from _scored(db, record, later, began)
    elif isinstance(record, Descriptor) and began:
        yield from _named(db, record)
    elif edit.edited is EditedList.TARGETS:
        yield from _released(db, edit, later)
    elif edit.edited is EditedList.RULES:
        yield from _touched(db, Release, "release", later)
    elif edit.edited is EditedList.SETTINGS:
        yield from _touched(db, PanelSession, "session", later)
        yield from _touched(db, Release, "release", later)
        yield from _touched(db, StoredTarget, "target", later)


def _scored(
    db: Session, version: DescriptorVersion, later: Sequence[Told], began: bool
) -> Iterator[str]:
    asked = (
        select(PanelSession.id, PanelSession.name)
        .join(SessionDescriptor, SessionDescriptor.session_id == PanelSession.id)
        .where(SessionDescriptor.descriptor_version_id == version.id)
        .order_by(PanelSession.id)
    )
    for session, name in db.execute(asked):
        line = f"{session},{version.id}", f"{version.id},{session}"
        if began or any(_goes_on(entry, name, line) for entry in later):
            yield f"session {name} has it as a line"
    if began and db.scalar(select(Score.serving_id).filter_by(descriptor_version_id=version.id)):
        yield "it was scored"


def _goes_on(entry: Told, session: str, line: tuple[str, ...]) -> bool:
    if entry.action == SEALED and entry.said.get("session") == session:
        return True
    return any(entry.touches(SessionDescriptor.__tablename__, each) for each in line)


def _named(db: Session, word: Descriptor) -> Iterator[str]:
    aimed = select(StoredTarget.name).join(StoredTargetLine)
    for name in db.scalars(aimed.where(StoredTargetLine.descriptor_id == word.id)):
        yield f"target {name} asks for it"
    for table, said in ((MixingNote, "its mixing"), (OwnWordMatch, "a word of an assessor")):
        if db.scalar(select(table.descriptor_id).filter_by(descriptor_id=word.id).limit(1)):
            yield f"{said} is kept by it"


def _released(db: Session, edit: ListEdit, later: Sequence[Told]) -> Iterator[str]:
    asked = select(Release.id, Release.name).join(StoredTarget)
    began = edit.before_json is None and not edit.part
    for number, name in db.execute(asked.where(StoredTarget.name == edit.name)):
        if began or any(entry.touches(Release.__tablename__, number) for entry in later):
            yield f"release {name} is made for it"


def _touched(
    db: Session,
    table: type[PanelSession | Release | StoredTarget],
    word: str,
    later: Sequence[Told],
) -> Iterator[str]:
    for entry in later:
        numbers = entry.numbers(table.__tablename__)
        for number, name in db.execute(select(table.id, table.name)) if numbers else ():
            if number in numbers:
                yield f"{word} {name} was written since"
