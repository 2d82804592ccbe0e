"""A session as its stage allows to show it: a draft's plan, then codes only, then the key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.errors import PlanRefused
from panel.kinds import SessionStatus
from panel.session.late_marks import LateMark, late_marks
from panel.session.listed import SessionLine, list_sessions
from panel.session.paper import columns
from panel.session.progress import SeatProgress, SessionProgress, session_progress
from panel.session.reopened import AfterReopening, after_reopening
from panel.session.stages import Revealed, revealed_key
from panel.session.summary import PlanSummary, summarise
from panel.store.finding import find_session
from panel.store.glass_notes import GlassNote, session_notes
from panel.store.sessions import PanelSession
from panel.store.stage_lines import in_order

_LISTED = tuple((f"line.{key}", key) for key in SessionLine.json_keys if key != "name")
"""What the list of sessions says of one, but for its name."""


@dataclass(frozen=True)
class SessionView:
    """What may be seen of a session now."""

    line: SessionLine
    key_hash: str | None
    descriptors: tuple[str, ...]
    progress: SessionProgress
    plan: PlanSummary | None
    plan_fault: str | None
    key: Revealed | None
    late_marks: tuple[LateMark, ...] = ()
    notes: tuple[GlassNote, ...] | None = None
    """What assessors wrote about their glasses; None until the session is revealed."""
    after_reopening: AfterReopening | None = None

    json_keys = (
        *("session", *_LISTED, "key_hash", "descriptors", "progress", "plan"),
        *(("plan_fault", "plan_reason"), "key", ("late_marks", "marked_after_reveal")),
        *("notes", "notes_reason", "after_reopening"),
    )

    @property
    def session(self) -> str:
        """Name of the session."""
        return self.line.name

    @property
    def notes_reason(self) -> str | None:
        """Why there are no notes to read."""
        return "told once the session is revealed" if self.notes is None else None

    def lines(self) -> Iterator[str]:
        """Give the view as a person reads it."""
        if self.plan is not None:
            yield from self.plan.lines()
            return
        remarks = self.line.remarks()
        yield f"Session {self.line.name}, {self.line.held_on}: {self.line.status}" + (
            f" ({remarks})." if remarks else "."
        )
        if self.plan_fault:
            yield self.plan_fault
        if self.key_hash:
            yield f"Key SHA-256  {self.key_hash}"
        yield from progress_lines(self.progress)
        if self.after_reopening is not None and self.key is None:
            yield self.after_reopening.words()
        yield from map(late_line, self.late_marks)
        if self.key is not None:
            yield from key_lines(self.key)
        for note in self.notes or ():
            yield f"Note of {note.line()}"


def session_view(db: Session, name: str, *, pours: bool = False) -> SessionView:
    """Return a session as far as its stage lets it be seen.

    What a draft takes of each draw tells which one is poured twice: only with *pours*.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    plan, fault = _plan(db, session)
    if plan is not None and not pours:
        plan = plan.without_pours()
    revealed = session.status is SessionStatus.REVEALED
    key = revealed_key(db, name) if revealed else None
    lines = in_order(session.descriptors)
    return SessionView(
        line=next(line for line in list_sessions(db) if line.name == name),
        key_hash=session.key_hash,
        descriptors=tuple(line.descriptor_version.descriptor.name for line in lines),
        progress=session_progress(db, name),
        plan=plan,
        plan_fault=fault,
        key=key,
        late_marks=late_marks(db, session),
        notes=session_notes(db, session) if revealed else None,
        after_reopening=key.after_reopening if key else after_reopening(db, name),
    )


def _plan(db: Session, session: PanelSession) -> tuple[PlanSummary | None, str | None]:
    """Return a draft's plan, or why its trays cannot be laid any more."""
    if session.status is not SessionStatus.DRAFT:
        return None, None
    try:
        return summarise(db, session.name), None
    except PlanRefused as error:
        return None, f"Its trays cannot be laid any more; plan it again. {error}"


def progress_lines(progress: SessionProgress) -> Iterator[str]:
    """Give each seat's state, the calls and the fault marks, by codes only."""
    for seat in progress.seats:
        yield _seat_line(seat)
    for call in progress.calls:
        glass = f", glass {call.code}" if call.code else ""
        yield f"Call {call.id}: {call.assessor}{glass}: {call.reason}."
    for fault in progress.faults:
        yield f"Fault marked on {fault.code}: {fault.fault} ({fault.n_assessors})."


def late_line(mark: LateMark) -> str:
    """Say who marked which glass once the key was known, and why."""
    return (
        f"After the reveal {mark.by} marked glass {mark.code} of {mark.assessor} {mark.status} "
        f"({mark.marked_at:%Y-%m-%d}): {mark.reason}"
    )


def _seat_line(seat: SeatProgress) -> str:
    remarks = [
        *(["finished"] if seat.finished else []),
        *(["knew the key"] if seat.knew_key else []),
    ]
    if seat.n_words is not None:
        remarks.insert(0, "1 own word" if seat.n_words == 1 else f"{seat.n_words} own words")
    ending = f"  {', '.join(remarks)}" if remarks else ""
    return f"{seat.assessor}  {seat.n_done} of {seat.n_to_score} glasses{ending}"


def key_lines(revealed: Revealed) -> Iterator[str]:
    """Give the key of a revealed session and whether it is the sealed one."""
    if words := revealed.check_words():
        yield words
    rows = [
        [
            f"{row.code} {row.tray}".strip(),
            row.draw,
            row.cask or "",
            row.kind.replace("_", "-") + (f", glass {row.replicate}" if row.replicate > 1 else ""),
        ]
        for row in revealed.rows
    ]
    yield from columns(["code", "draw", "cask", "what it was"], rows, (13, 26, 14, 20))
    if revealed.seed_hex is not None:
        yield f"Secret bits  {revealed.seed_hex}"
    if revealed.after_reopening is not None:
        yield revealed.after_reopening.words()
    yield from revealed.notes
