"""The register of samples, told why a sample was drawn and what became of it; put right by
reversing a line, never by changing one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import or_, select

from panel.errors import EntriesAtFault, UnknownRecord
from panel.kinds import DrawKind
from panel.records.deed import deed
from panel.store.draws import Draw, RegisterReversal
from panel.store.finding import find_session, nearest_words
from panel.store.key import KeyRow, PlannedDraw

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import ColumnElement
    from sqlalchemy.orm import Session

IN_REGISTER = (DrawKind.CASK, DrawKind.TRIAL)
"""What was drawn from casks of the house, alone or blended."""


@dataclass(frozen=True)
class Account:
    """What is on record of a sample's reason and fate."""

    sample: str
    reason: str | None
    fate: str | None


@dataclass(frozen=True)
class Reversed:
    """A line that was reversed, and what stands in its place."""

    sample: str
    because: str
    millilitres_before: float | None
    reason_before: str | None
    fate_before: str | None
    millilitres: float | None
    reason: str | None
    fate: str | None


@dataclass(frozen=True)
class SessionFates:
    """What became of the samples of a session: how many were told of."""

    session: str
    leftovers: int
    spikes: int
    posted: int


def account_for(
    db: Session,
    sample: str,
    *,
    reason: str | None,
    fate: str | None,
    now: datetime,
    by: str | None,
) -> Account:
    """Keep why a sample was drawn, or what became of it, where nothing stands yet.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such sample; or whoever acts does not lead.
    EntriesAtFault
        Nothing is said, or something else stands already.
    """
    with deed(db, "sample accounted for", now=now, by=by) as done:
        draw = _draw(db, sample)
        if not (reason or fate):
            wrong = "Say why it was drawn (--reason) or what became of it (--fate)."
            raise EntriesAtFault({"reason": wrong})
        _tell(draw, reason=reason, fate=fate)
        done.details.update(sample=sample, reason=bool(reason), fate=bool(fate))
        return Account(sample, draw.reason, draw.fate)


def reverse_line(
    db: Session,
    sample: str,
    *,
    because: str,
    millilitres: float | None = None,
    reason: str | None = None,
    fate: str | None = None,
    now: datetime,
    by: str | None,
) -> Reversed:
    """Reverse the line of a sample and write what is right instead; both stay in the register.

    What is not given stands as it stood, so that one thing is put right at a time.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such sample; or whoever acts does not lead.
    EntriesAtFault
        No reason for it, nothing that would be put right, or litres of a blend.
    """
    with deed(db, "register line reversed", now=now, by=by) as done:
        draw = _draw(db, sample)
        _refuse_reversal(draw, because, millilitres, reason or fate)
        before = (draw.volume_ml, draw.reason, draw.fate)
        line = RegisterReversal(
            draw=draw, reversed_at=now, by_code=done.by, because=because.strip()
        )
        line.millilitres, line.reason, line.fate = before
        db.add(line)
        draw.volume_ml = draw.volume_ml if millilitres is None else millilitres
        draw.reason, draw.fate = reason or draw.reason, fate or draw.fate
        done.details.update(sample=sample)
        return Reversed(sample, line.because, *before, draw.volume_ml, draw.reason, draw.fate)


def account_for_session(
    db: Session,
    session: str,
    *,
    leftovers: str | None,
    spikes: str | None = None,
    posted: Sequence[str] = (),
    posted_to: str | None = None,
    reason: str | None = None,
    now: datetime,
    by: str | None,
) -> SessionFates:
    """Keep what became of all that a session left; what is told already stays.

    `leftovers` is said of the samples from casks, `spikes` of the references that were made up for
    it, `posted_to` of those named in `posted`; `reason` why they were drawn, where nobody said.

    Raises
    ------
    UnknownRecord, NotAllowed
        No such session; one that was posted was not poured in it; or whoever acts does not lead.
    EntriesAtFault
        Nothing is said, or samples were posted and nobody says to whom.
    """
    if not (leftovers or spikes or posted_to):
        raise EntriesAtFault({"fate": "say what became of them"})
    if bool(posted) != bool(posted_to):
        raise EntriesAtFault({"posted": "say which were posted, and to whom"})
    with deed(db, "samples of a session accounted for", now=now, by=by) as done:
        open_lines = {draw.label: draw for draw in untold_draws(db, session)}
        sent = [_poured(draws_of(db, session), sample, session) for sample in posted]
        sent = [draw for draw in sent if draw.fate is None]
        for draw in sent:
            draw.fate = f"posted to {posted_to}"
        left = [draw for draw in open_lines.values() if draw.fate is None] if leftovers else []
        spiked = _spikes(db, session) if spikes else []
        for draws, fate in ((left, leftovers), (spiked, spikes)):
            for draw in draws:
                draw.fate = fate
        for draw in open_lines.values():
            draw.reason = draw.reason or reason
        told = SessionFates(session, len(left), len(spiked), len(sent))
        done.details.update(
            session=session, leftovers=told.leftovers, spikes=told.spikes, posted=told.posted
        )
        return told


def draws_of(db: Session, session: str) -> list[Draw]:
    """Return what is planned for a session or was poured in it, by name; never which is which code.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    return list(db.scalars(select(Draw).where(_in_session(db, session)).order_by(Draw.label)))


def untold_draws(db: Session, session: str) -> list[Draw]:
    """Return the samples from casks among them of which it is not on record why, or what became.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    asked = select(Draw).where(_in_session(db, session), *says_too_little())
    return list(db.scalars(asked.order_by(Draw.label)))


def says_too_little() -> tuple[ColumnElement[bool], ...]:
    """Return what tells the samples of the register whose line is not whole."""
    return Draw.kind.in_(IN_REGISTER), or_(Draw.reason.is_(None), Draw.fate.is_(None))


def _in_session(db: Session, session: str) -> ColumnElement[bool]:
    asked = find_session(db, session).id
    planned = select(PlannedDraw.draw_id).where(PlannedDraw.session_id == asked)
    in_key = select(KeyRow.draw_id).where(KeyRow.session_id == asked)
    return or_(Draw.id.in_(planned), Draw.id.in_(in_key))


def _spikes(db: Session, session: str) -> list[Draw]:
    made_up = (Draw.kind == DrawKind.REFERENCE, Draw.fate.is_(None))
    return list(db.scalars(select(Draw).where(_in_session(db, session), *made_up)))


def _poured(draws: Sequence[Draw], sample: str, session: str) -> Draw:
    for draw in draws:
        if draw.label == sample:
            return draw
    raise UnknownRecord(f"The sample {sample!r} was not poured in session {session!r}.")


def _draw(db: Session, sample: str) -> Draw:
    draw = db.scalar(select(Draw).where(Draw.label == sample))
    if draw is None:
        near = nearest_words(sample, db.scalars(select(Draw.label)))
        raise UnknownRecord(f"There is no sample {sample!r} in the records.{near}")
    return draw


def _tell(draw: Draw, *, reason: str | None, fate: str | None) -> None:
    told = (
        ("reason", "why it was drawn", draw.reason, reason),
        ("fate", "what became of it", draw.fate, fate),
    )
    faults = {
        name: f"{draw.label}: {what} stands as {stands!r}; reverse the line to put it right "
        f"(`oakpanel register reverse`)"
        for name, what, stands, said in told
        if stands and said and said != stands
    }
    if faults:
        raise EntriesAtFault(faults)
    draw.reason, draw.fate = reason or draw.reason, fate or draw.fate


def _refuse_reversal(
    draw: Draw, because: str, millilitres: float | None, words: str | None
) -> None:
    faults: dict[str, str] = {}
    if not because.strip():
        faults["because"] = "say why the line is reversed; it stays in the register"
    if millilitres is None and not words:
        faults["millilitres"] = "say what is right instead: mL, why it was drawn, what became of it"
    if millilitres is not None and draw.filling_id is None:
        faults["millilitres"] = "of a blend the parts say how much: draw it anew"
    if millilitres is not None and not 0.0 < millilitres < float("inf"):
        faults["millilitres"] = "mL above zero"
    if draw.kind not in IN_REGISTER:
        faults["because"] = f"{draw.label} is from no cask: it has no line in the register"
    if faults:
        raise EntriesAtFault(faults)
