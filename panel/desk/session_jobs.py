"""What a session's page reads and does, each in one database session of its own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

from panel.desk.acting import leading
from panel.desk.file_names import free_path, plain_name
from panel.desk.plan_entry import values_of
from panel.kinds import KEY_IS_SECRET, USUAL_KIND, SessionKind, SessionStatus
from panel.records.acts import Act
from panel.report.paper import USUAL_LABELS, labels_page, mats_page
from panel.session.ballots import ballots
from panel.session.bottle_sheet import bottle_sheet
from panel.session.day_sheet import day_sheet
from panel.session.drafts import drop_draft, planned_again
from panel.session.draw_list import draw_list
from panel.session.elsewhere.sheet import carriage_sheet
from panel.session.facts import session_facts
from panel.session.paper import write_private
from panel.session.printed_codes import codes_to_print
from panel.session.progress import SessionProgress, session_progress
from panel.session.seal import seal_session
from panel.session.sheets import pour_sheet, printing_costs, tray_labels
from panel.session.stages import (
    RevealedRow,
    close_session,
    open_session,
    reveal_session,
    revealed_key,
)
from panel.session.summary import summarise

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from panel.session.facts import SessionFacts
    from panel.store.engine import Session, Store

Step = Literal["seal", "sheets", "open", "close", "reveal"]
STEP_ACTS: dict[Step, Act] = {
    "seal": Act.SEAL,
    "sheets": Act.KEY_SHEET,
    "open": Act.OPEN,
    "close": Act.CLOSE,
    "reveal": Act.REVEAL,
}
CALLS_SHOWN = 3


@dataclass(frozen=True)
class Told:
    """Everything a session's page shows. Nothing of the key before the reveal."""

    name: str
    stage: str
    fact: str
    lines: tuple[str, ...]
    progress: SessionProgress
    plan: tuple[str, ...]
    plan_values: dict[str, str]
    costs: tuple[str, ...]
    key: tuple[RevealedRow, ...]
    views: tuple[str, ...]
    kind: SessionKind = USUAL_KIND
    planned: bool = True
    """Whether its plan and its key are here."""
    carried: bool = False
    """Whether bottles of it went to another site, or came from one."""


def read_told(db: Session, name: str, by: str | None, zone: str, known: Told | None = None) -> Told:
    """Return what there is to tell of a session at its stage.

    Plan and key cannot change between seal and reveal, nor after it: they are taken over from
    what is `known`, so that looking every two seconds costs little.
    """
    session = session_facts(db, name)
    progress = session_progress(db, name)
    stage = session.status
    draft = stage is SessionStatus.DRAFT
    same = known if known is not None and known.stage == stage.value and not draft else None
    return Told(
        name=session.name,
        stage=stage.value,
        fact=_fact(progress, draft=draft),
        lines=tuple(_lines(session, progress, zone)),
        progress=progress,
        plan=same.plan if same else _plan(db, session, by),
        plan_values=values_of(planned_again(db, name)) if draft else {},
        costs=printing_costs(db, name, by or "") if stage in KEY_IS_SECRET else (),
        key=same.key if same else _key(db, session),
        views=_views(session),
        kind=session.kind,
        planned=not session.loaded and session.came_to is None,
        carried=session.carried,
    )


def _plan(db: Session, session: SessionFacts, by: str | None) -> tuple[str, ...]:
    if session.loaded or session.came_to:
        return ()
    plan = summarise(db, session.name, by=by)
    told = plan if session.status is SessionStatus.REVEALED else plan.without_pours()
    return tuple(told.lines())


def _key(db: Session, session: SessionFacts) -> tuple[RevealedRow, ...]:
    revealed = session.status is SessionStatus.REVEALED
    return revealed_key(db, session.name).rows if revealed else ()


def _views(session: SessionFacts) -> tuple[str, ...]:
    plan = () if session.loaded or session.came_to else ("plan",)
    if session.status is SessionStatus.DRAFT:
        return ("plan",)
    if session.status is SessionStatus.REVEALED:
        return ("key", "field-view", *plan)
    return ("field-view", *plan)


def _fact(progress: SessionProgress, *, draft: bool) -> str:
    if draft:
        return ""
    done = sum(seat.n_done for seat in progress.seats)
    return f"{done} of {sum(seat.n_to_score for seat in progress.seats)} glasses done"


def _lines(session: SessionFacts, progress: SessionProgress, zone: str) -> list[str]:
    lines = [_about(session)]
    if session.after_reopening is not None:
        lines.append(session.after_reopening.words())
    if session.key_hash is not None:
        lines.append(f"Key SHA-256 {session.key_hash}")
    lines += [
        _call(call.assessor, call.reason, call.code, call.called_at, zone)
        for call in progress.calls[:CALLS_SHOWN]
    ]
    if len(progress.calls) > CALLS_SHOWN:
        lines.append(f"and {len(progress.calls) - CALLS_SHOWN} more calls")
    faults = [f"{line.code} {line.fault} ({line.n_assessors})" for line in progress.faults]
    if faults:
        lines.append("Marked: " + ", ".join(faults))
    return lines


def _about(session: SessionFacts) -> str:
    said = [
        str(session.held_on or "no date yet"),
        "nosed only" if session.manner.value == "nose" else "tasted",
        _counted(session.n_assessors, "assessor"),
        _counted(session.n_descriptors, "descriptor"),
    ]
    said += ["loaded from a file"] if session.loaded else []
    said += ["a rehearsal"] if session.rehearsal else []
    said += [] if session.blind else ["NOT BLIND"]
    said += [f"came in a pack to {session.came_to}"] if session.came_to else []
    said += [f"seats at {' and '.join(session.away_at)}"] if session.away_at else []
    return ", ".join(said)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _call(assessor: str, reason: str, code: str | None, at: datetime, zone: str) -> str:
    glass = f", glass {code}" if code else ""
    return f"CALL {at.astimezone(ZoneInfo(zone)):%H:%M} {assessor}: {reason}{glass}"


def take_step(
    store: Store, step: Step, name: str, *, now: datetime, by: str | None
) -> tuple[str, list[str]]:
    """Take one step of a session; return what was done in a sentence, and what is to be read."""
    if step == "sheets":
        return _write_sheets(store, name, now=now, by=by)
    with leading(store, by) as acting:
        db, code = acting.db, acting.by
        if step == "seal":
            sealed = seal_session(db, name, now=now, by=code)
            words = [f"Key SHA-256  {sealed.key_hash}", f"Log head     {sealed.log_head}"]
            return "Sealed: the key is fixed.", [*words, "", SEALED_NEXT]
        if step == "reveal":
            revealed = reveal_session(db, name, now=now, by=code)
            notes = list(revealed.notes)
            return "Revealed: the key is the one that was sealed.", notes
        change = open_session if step == "open" else close_session
        change(db, name, now=now, by=code)
        return ("Open: the booths may come in." if step == "open" else "Closed."), []


def count_untold(store: Store, name: str) -> int:
    """Return how many samples of a session do not say why or what became of them."""
    from panel.questions.register import untold_samples

    with store.read() as db:
        return len(untold_samples(db, name))


SEALED_NEXT = (
    "Write the hash down where nobody can change it (it stands on the pour sheet too). "
    "Next: p writes the pour sheet and the tray labels."
)


def drop_one(store: Store, name: str, *, now: datetime, by: str | None) -> None:
    """Drop a draft."""
    with leading(store, by) as acting:
        drop_draft(acting.db, name, now=now, by=acting.by)


@dataclass(frozen=True)
class Sheet:
    """A sheet that the desk writes: how its file ends, how it is made, and what it takes."""

    ending: str
    made: Callable[..., str]
    planned: bool = False
    """Whether it takes the plan or the key, which a session that came in a pack has not here."""
    tells_key: bool = False
    """Whether it tells what is in a glass: who prints it is no blind assessor any more."""


def sheets_of(told: Told) -> tuple[Sheet, ...]:
    """Return the sheets that can be written of a session."""
    known = [sheet for sheet in SHEETS if told.planned or not sheet.planned]
    return (*known, *([CARRIAGE] if told.carried else []))


def sheet_paths(told: Told) -> tuple[Path, ...]:
    """Return where they go: new files in the folder we were started in."""
    plain = plain_name(told.name, "session")
    return tuple(free_path(Path.cwd() / f"{plain}-{sheet.ending}") for sheet in sheets_of(told))


def _write_sheets(
    store: Store, name: str, *, now: datetime, by: str | None
) -> tuple[str, list[str]]:
    paths = _written(store, name, keyless=False, now=now, by=by)
    only = "Only the pourer may read the pour sheet, the bottle sheet and the day sheet."
    return "The sheets are written.", [*paths, "", only]


def write_paper(store: Store, name: str, *, now: datetime, by: str | None) -> tuple[str, list[str]]:
    """Write the sheets that tell nothing of the key, which an assessor may print unharmed."""
    paths = _written(store, name, keyless=True, now=now, by=by)
    return "Written: paper that tells nothing of the key.", paths


def _written(store: Store, name: str, *, keyless: bool, now: datetime, by: str | None) -> list[str]:
    with store.read() as db:
        told = read_told(db, name, by, "UTC")
    written = []
    for path, sheet in zip(sheet_paths(told), sheets_of(told), strict=True):
        if keyless and sheet.tells_key:
            continue
        with leading(store, by) as acting:
            text = sheet.made(acting.db, name, now=now, by=acting.by)
        write_private(path, text)
        written.append(str(path))
    return written


def _draws(db: Session, name: str, *, now: datetime, by: str) -> str:
    return "\n".join([*draw_list(db, name, now=now).lines(), ""])


def _labels(db: Session, name: str, *, now: datetime, by: str) -> str:
    return labels_page(codes_to_print(db, name, "glass labels", now=now, by=by), USUAL_LABELS)


def _mats(db: Session, name: str, *, now: datetime, by: str) -> str:
    return mats_page(codes_to_print(db, name, "tray mats", now=now, by=by))


SHEETS = (
    Sheet("pour-sheet.txt", pour_sheet, planned=True, tells_key=True),
    Sheet("tray-labels.txt", tray_labels),
    Sheet("day-sheet.txt", day_sheet, planned=True, tells_key=True),
    Sheet("ballots.txt", ballots),
    Sheet("bottle-sheet.txt", bottle_sheet, planned=True, tells_key=True),
    Sheet("draw-list.txt", _draws, planned=True),
    Sheet("labels.html", _labels),
    Sheet("mats.html", _mats),
)
CARRIAGE = Sheet("carriage.txt", carriage_sheet)
"""Where seats are at another site, or came from one."""
