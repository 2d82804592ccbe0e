"""An answer that is kept for the next command: read where it holds, else reckoned once."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from struct import error as StructError  # noqa: N812  (a class)
from typing import TYPE_CHECKING, Any, TypeVar, cast

from sqlalchemy.orm import Session

from panel.fault_log import note
from panel.kept.form import NotKeptError, from_bytes, to_bytes
from panel.kept.keys import End, edition_of, end_of
from panel.store.engine import url_of
from panel.store.kept_files import Shelf, place_of
from panel.store.touched import touched_of

if TYPE_CHECKING:
    from sqlalchemy.engine import URL

HEADS = "heads"
MOST_HEADS = 128
T = TypeVar("T")
DAMAGED = (ValueError, KeyError, TypeError, AttributeError, StructError)


@dataclass(frozen=True)
class Kept:
    """What is kept of one kind of answer: how it is found, and what makes it anew.

    Attributes
    ----------
    kind
        Of answer; it stands in the names of files.
    at_head
        Gives the key that holds while the log ends where it does.
    by_records
        Gives the key that holds until a record changes that the answer stands on.
    reckon
        Makes the answer.
    keeps
        Whether what is made may be kept, not only what was kept before be read.
    """

    kind: str
    at_head: Callable[[], str]
    by_records: Callable[[], str]
    reckon: Callable[[], Any]
    keeps: bool = True


@dataclass(frozen=True)
class Answer:
    """An answer, and the key by the records under which it is found; None where nobody finds it."""

    value: Any
    key: str | None = None


def kept_or_reckoned(db: Session, asked: Kept) -> Answer:
    """Return an answer from what is kept, or reckon and keep it.

    One command at a time reckons the same; the others wait, and read what it kept. What was
    changed in this transaction and no log tells of yet is never kept, nor is anything that was
    reckoned while the log went on: then what was read may be of two states.
    """
    shelf = shelf_of(db)
    if shelf is None or touched_of(db):
        return Answer(asked.reckon())
    end, at_head = end_of(db), asked.at_head()
    known = found_at_head(shelf, at_head)
    found = read_kept(shelf, asked.kind, known) if known else None
    if known and found is not None:
        return Answer(found[0], known)
    try:
        key = asked.by_records()
    except NotKeptError as error:
        note([f"kept answer of kind {asked.kind} has no key: {error}"])
        return Answer(asked.reckon())
    with shelf.alone(asked.kind, key) as alone:
        found = read_kept(shelf, asked.kind, key)
        answer = Answer(found[0], key) if found else _reckoned(db, shelf, asked, key, end, alone)
        if answer.key is not None and end_of(db) == end:
            _note_head(shelf, at_head, key)
    return answer


def _reckoned(db: Session, shelf: Shelf, asked: Kept, key: str, end: End, alone: bool) -> Answer:
    """Reckon an answer, and keep it where that may be done."""
    shelf.tidy()
    made, url = asked.reckon(), url_of(db)
    may = alone and asked.keeps and end_of(db) == end
    if url is None or not may or not _keep(shelf, asked.kind, key, made):
        return Answer(made)
    return Answer(made, key if _still(url, shelf, asked, key) else None)


def kept_by_content(shelf: Shelf, kind: str, key: str, reckon: Callable[[], T]) -> T:
    """Return what a key tells wholly, from what is kept, or reckon and keep it.

    The key is a digest of all that it is reckoned from: no log and no day counts. It names nobody,
    so that no erasure is looked for.
    """
    found = read_kept(shelf, kind, key)
    if found is not None:
        return cast("T", found[0])
    made = reckon()
    _keep(shelf, kind, key, made)
    return made


def shelf_of(db: Session) -> Shelf | None:
    """Return where answers from these records are kept; None where they are of no store."""
    url = url_of(db)
    return None if url is None else Shelf(place_of(url), edition_of(db))


def read_kept(shelf: Shelf, kind: str, key: str) -> tuple[Any] | None:
    """Return what is kept, in a tuple; None where there is nothing, or nothing of ours."""
    content = shelf.read(kind, key)
    if content is None:
        return None
    try:
        held = from_bytes(content)
        if held["key"] == key and held["kind"] == kind and held["edition"] == shelf.edition:
            return (held["answer"],)
    except DAMAGED:
        pass
    shelf.drop(kind, key)
    return None


def told_at_head(db: Session, at_head: str, tell: Callable[[], str]) -> str:
    """Return a digest of records, told once for as long as the log ends where it does.

    What was changed in this transaction and no log tells of yet is told anew.
    """
    shelf = shelf_of(db)
    if shelf is None or touched_of(db):
        return tell()
    known = found_at_head(shelf, at_head)
    if known is not None:
        return known
    end, told = end_of(db), tell()
    if end_of(db) == end:
        _note_head(shelf, at_head, told)
    return told


def found_at_head(shelf: Shelf, at_head: str) -> str | None:
    """Return under which key an answer is kept that is found by the end of the log."""
    return _heads(shelf).get(at_head)


def _keep(shelf: Shelf, kind: str, key: str, answer: object) -> bool:
    told = {"key": key, "kind": kind, "edition": shelf.edition, "answer": answer}
    try:
        content = to_bytes(told)
    except (NotKeptError, TypeError, ValueError) as error:
        note([f"kept answer of kind {kind} has no form: {type(error).__qualname__} {error}"])
        return False
    return shelf.write(kind, key, content)


def _still(url: URL, shelf: Shelf, asked: Kept, key: str) -> bool:
    """Take a file back if somebody was erased while it was reckoned: it may name them.

    The erasure is looked for once the file is there. It is committed before it deletes what is
    kept, so that either it finds the file or this finds the erasure.
    """
    from panel.store.engine import connect

    now = connect(url, readonly=True)
    try:
        with now.read() as db:
            if edition_of(db) == shelf.edition:
                return True
    finally:
        now.close()
    shelf.drop(asked.kind, key)
    return False


def _heads(shelf: Shelf) -> dict[str, str]:
    """Return which key by the records holds at which end of the log."""
    content = shelf.read(HEADS, "all")
    with suppress(ValueError):
        found = {} if content is None else json.loads(content)
        if isinstance(found, dict):
            return {str(head): str(key) for head, key in found.items()}
    return {}


def _note_head(shelf: Shelf, at_head: str, key: str) -> None:
    found = _heads(shelf)
    found.pop(at_head, None)
    newest = dict([*found.items(), (at_head, key)][-MOST_HEADS:])
    shelf.write(HEADS, "all", json.dumps(newest).encode())
