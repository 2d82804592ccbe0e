"""By what a kept answer is found: the end of the log, or a digest of the records it stands on."""

from __future__ import annotations

import json
import platform
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from importlib import metadata
from pathlib import Path

from sqlalchemy import func, select
from sqlalchemy.orm import Session

import analysis
import panel
from panel.figures import writes_commas
from panel.kept.records import counts_by, records_digest
from panel.store.log import LogEntry, LogHead
from panel.store.people import Person
from panel.store.sessions import PanelSession

FORMAT = 1
DIGITS = 20
LIBRARIES = ("numpy", "scipy", "pandas", "scikit-learn")
SOURCES = (
    Path(analysis.__file__).parent,
    *(Path(panel.__file__).parent / part for part in ("frames", "kept", "questions", "store")),
)
ERASED = "gone-%"


@dataclass(frozen=True)
class End:
    """Where the log of a house ends, and how many entries it has."""

    entries: int
    head: str


def end_of(db: Session) -> End:
    """Return where the log ends now."""
    found = db.execute(select(LogHead.entries, LogHead.chain_hex)).first()
    return End(0, "") if found is None else End(int(found[0]), str(found[1]))


def edition_of(db: Session) -> str:
    """Return what tells this house, who was erased from it, and this program from any other.

    A house is told by the first link of its log, which begins with a number drawn at random.
    Sentences are kept with their figures, so a house that writes commas keeps those apart that it
    says to machines.
    """
    first = db.scalar(select(LogEntry.chain_hex).order_by(LogEntry.id).limit(1))
    gone = db.scalars(select(Person.code).where(Person.code.like(ERASED)).order_by(Person.code))
    commas = ["commas"] if writes_commas() else []
    return digest_of([first, list(gone), program(), *commas])[:12]


def program() -> list[str]:
    """Return versions of all that a fit is made with, and a digest of our own part of it."""
    of_others = versions(metadata.version)
    return [panel.__version__, platform.python_version(), *of_others, str(FORMAT), sources(SOURCES)]


@cache
def versions(read: Callable[[str], str]) -> tuple[str, ...]:
    """Return the libraries with their versions, looked up once while a process lasts."""
    return tuple(f"{name} {read(name)}" for name in LIBRARIES)


@cache
def sources(folders: tuple[Path, ...]) -> str:
    """Return a digest of modules: tolerance, solver and all that reckons are in them."""
    told = sha256()
    for folder in folders:
        for file in sorted(folder.rglob("*.py")):
            told.update(str(file.relative_to(folder)).encode())
            told.update(file.read_bytes())
    return told.hexdigest()


def fit_settings() -> dict[str, object]:
    """Return all settings of a fit but in how many processes it is made."""
    from analysis.profile.settings import ProfileSettings

    found = asdict(ProfileSettings())
    del found["processes"]
    return found


def key_at_head(db: Session, as_of: date) -> str:
    """Return the key that is found without a look at the records.

    The day counts only by the last session that it lets in.
    """
    last = db.execute(
        select(func.max(PanelSession.held_on), func.count()).where(counts_by(as_of))
    ).one()
    return digest_of([asdict(end_of(db)), str(last[0]), last[1], fit_settings()])


def key_by_records(db: Session, as_of: date) -> str:
    """Return the key that holds for as long as nothing changes that the fit reads."""
    return digest_of([records_digest(db, as_of), fit_settings()])


def digest_of(parts: Iterable[object]) -> str:
    """Return a digest of plain values."""
    said = json.dumps(list(parts), sort_keys=True, default=_plain)
    return sha256(said.encode()).hexdigest()[:DIGITS]


def _plain(value: object) -> object:
    if isinstance(value, (set, frozenset)):
        return sorted(value, key=str)
    return str(value)
