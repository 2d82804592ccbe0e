"""A bare house for steps of a release that reckon nothing: three casks, two notes, a target."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy.orm import Session

from panel.kinds import ReleaseStatus, Role
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.releases import Release, ReleasePart
from panel.store.targets import StoredTarget
from tests.houses.kept import kept
from tests.houses.parts import add_filling, add_make, descriptor, person, target

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
TODAY = date(2026, 3, 14)
FIRST = date(2026, 3, 2)
CASKS = ("X1", "X2", "X3")


@kept
def build_bare(store: Store) -> None:
    with store.write() as db:
        db.add_all([person("BL", Role.BLENDER), person("LD", Role.LEAD), person("AA")])
        make = add_make(db)
        for name in CASKS:
            add_filling(db, name, make, fill_abv=60.0)
        words = [descriptor("smoke"), descriptor("plum")]
        db.add_all([*words, target("Fen", zip(words, (30.0, 20.0), strict=True), tolerance=5.0)])


def add_release(
    db: Session,
    name: str = "Spring",
    *parts: tuple[str, float],
    aim: str | None = "Fen",
    **more: Any,
) -> Release:
    """Add a proposed release of litres of casks; *more* is as its columns are called."""
    told: dict[str, Any] = {"status": ReleaseStatus.PROPOSED, "planned_on": FIRST}
    told |= {"proposed_by": "BL", "predicted_json": '{"probability": 0.7}'}
    found = db.query(StoredTarget).filter_by(name=aim).one_or_none()
    release = Release(name=name, target=found, parts=[], benches=[], **{**told, **more})
    for cask, litres in parts:
        filling = db.query(Filling).filter_by(label=f"{cask}/1").one()
        release.parts.append(ReleasePart(filling=filling, litres=litres, abv=60.0))
    db.add(release)
    db.flush()
    return release


def last_act(db: Session) -> str:
    """What the newest entry of the log calls what was done."""
    entry = db.query(LogEntry).order_by(LogEntry.id.desc()).first()
    return "" if entry is None else str(entry.body_json)
