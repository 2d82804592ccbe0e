"""Opening, closing, reopening and revealing a session: one way only, each step in the log."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import KeyChanged, SessionError
from panel.kinds import SessionStatus
from panel.session.care import faults_of_session
from panel.session.elsewhere.recalled import refuse_late, refuse_reveal
from panel.session.fault_marks import act_on_faults
from panel.session.found import session_at
from panel.session.kinds import HELD
from panel.session.progress import session_progress
from panel.session.reopened import REOPENED, AfterReopening, after_reopening
from panel.session.seal import KEY_FORM, key_hash
from panel.session.stopping import pairs, settle_calls
from panel.store.booth_deeds import forget_deeds
from panel.store.key import KeyRow, KeySecret
from panel.store.log import append_entry, sealed_in_log
from panel.store.sessions import PanelSession


@dataclass(frozen=True)
class RevealedRow:
    """One code and what was in the glass. `tray` is empty where all trays share the codes."""

    tray: str
    code: str
    kind: str
    replicate: int
    draw: str
    filling: str | None
    cask: str | None


@dataclass(frozen=True)
class Revealed:
    """The key in the open. `matches` is None for a loaded session, which was never sealed.

    The check at the reveal is the one that counts: erasing a person later takes glasses out of
    the records that the hash was made of.
    """

    session: str
    rows: tuple[RevealedRow, ...]
    key_hash: str | None
    matches: bool | None
    seed_hex: str | None
    notes: tuple[str, ...] = ()
    at_reveal: bool = False
    after_reopening: AfterReopening | None = None

    json_keys = (
        *("session", "key_hash", "matches", "seed_hex", "rows", "notes"),
        *(("at_reveal", "checked_at_reveal"), "after_reopening"),
    )

    def check_words(self) -> str | None:
        """Return what the check of the key against its hash came to."""
        if self.matches is None:
            return None
        if self.matches:
            return f"The key of {self.session} is the one that was sealed ({self.key_hash})."
        if self.at_reveal:
            return f"The key of {self.session} IS NOT the one that was sealed ({self.key_hash})."
        return (
            f"The key of {self.session} no longer gives the hash that was sealed "
            f"({self.key_hash}). The check at the reveal is the one that counts; erasing a person "
            "or correcting a draw's label or filling does this later."
        )


def open_session(
    db: Session, name: str, *, now: datetime, by: str, held_on: date | None = None
) -> None:
    """Let the booths in. `held_on` corrects the date that was planned.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such sealed session.
    SessionError
        On that day somebody would pass a cap on ethanol, or what came in a pack is too old.
    """
    session = session_at(db, name, SessionStatus.SEALED, deed="opening")
    day = held_on or session.held_on
    refuse_late(db, session, day)
    if faults := faults_of_session(db, session, day):
        raise SessionError(f"Session {name!r} was not opened for {day}. {' '.join(faults)}")
    session.held_on = day
    session.status, session.opened_at = SessionStatus.OPEN, now
    append_entry(db, at=now, by=by, action="session opened", details={"session": name})


def close_session(db: Session, name: str, *, now: datetime, by: str) -> None:
    """End the scoring; nothing can be saved from a booth any more.

    What booths stopped as not safe, and no lead has seen to, is void from here.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such open session.
    """
    session = session_at(db, name, SessionStatus.OPEN, deed="closing")
    details: dict[str, object] = {"session": name}
    if stopped := settle_calls(db, session, now=now, by=by):
        details["stopped"] = pairs(*stopped)
    session.status, session.closed_at = SessionStatus.CLOSED, now
    append_entry(db, at=now, by=by, action="session closed", details=details)


def reopen_session(db: Session, name: str, *, now: datetime, by: str, reason: str) -> None:
    """Let the booths in again, before the reveal only; the reason is kept in the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such closed session.
    SessionError
        No reason was given.
    """
    if not reason.strip():
        raise SessionError("Say why the session is opened again; the reason is kept in the log.")
    session = session_at(db, name, SessionStatus.CLOSED, deed="reopening")
    session.status, session.closed_at = SessionStatus.OPEN, None
    details = {"session": name, "reason": reason}
    append_entry(db, at=now, by=by, action=REOPENED, details=details)


def reveal_session(
    db: Session, name: str, *, now: datetime, by: str, insist: bool = False
) -> Revealed:
    """Check the key against its hash and show it; fault marks put casks on hold from here.

    With `insist` a key that does not fit is shown all the same, and the session is marked as
    not blind for good.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such closed session.
    KeyChanged
        The key is not the one that was sealed.
    SessionError
        It came in a pack, or seats of it are away at another site.
    """
    session = session_at(db, name, SessionStatus.CLOSED, deed="the reveal")
    refuse_reveal(db, session)
    seal = seal_of(db, session)
    found, sealed = _found_hash(db, session, seal), seal.hash_hex
    matches = _fits(seal, found)
    if not matches and not insist:
        raise KeyChanged(_changed_words(session, sealed, found))
    session.blind = session.blind and matches
    session.status, session.revealed_at = SessionStatus.REVEALED, now
    forget_deeds(db, session.id)
    act = HELD[session.kind].at_reveal
    acted = act(db, session, now, by) if act else act_on_faults(db, session)
    notes = [*acted, *_left_out(db, name)]
    details = {"session": name, "key_hash": sealed, "matches": matches}
    append_entry(db, at=now, by=by, action="session revealed", details=details)
    return replace(revealed_key(db, name), notes=tuple(notes), at_reveal=True)


def _left_out(db: Session, name: str) -> list[str]:
    named = [f"{code} of {who}" for who, code in session_progress(db, name).suspected]
    if not named:
        return []
    return [
        f"Left out, a swap was suspected and not cleared before the reveal: {', '.join(named)}."
    ]


def _found_hash(db: Session, session: PanelSession, seal: Seal) -> str | None:
    try:
        return key_hash(db, session.id, seal.form)
    except KeyChanged:
        return None


@dataclass(frozen=True)
class Seal:
    """The hash of a key as it was sealed (None: the log has none) and the form it was made in."""

    hash_hex: str | None
    form: int


def seal_of(db: Session, session: PanelSession) -> Seal:
    """Return what the log wrote down when a session was sealed.

    The hash beside the session never counts: whoever exchanges a key can write a fitting one there.
    """
    found = sealed_in_log(db, session.id)
    return Seal(None, KEY_FORM) if found is None else Seal(str(found["hash"]), int(found["form"]))


def _changed_words(session: PanelSession, sealed: str | None, found: str | None) -> str:
    now = f"the key now gives {found}" if found else "the key's secret bits are gone"
    if sealed is None:
        return (
            f"The log no longer says under what hash session {session.name!r} was sealed: it was "
            "changed or cut since. Compare with the hash on the pour sheet and with a backup from "
            "before (`oakpanel db check`, `oakpanel db backup`). If that cannot be done, reveal "
            "with --insist: the session then counts as not blind."
        )
    return (
        f"The key of session {session.name!r} is not the one that was sealed: {sealed} "
        f"was written into the log and onto the pour sheet, {now}. A code, an order, a "
        "draw's label, its filling, cask or parts were changed after sealing. Compare with a "
        "backup from before (`oakpanel db backup`) and put back what was changed; the scores are "
        "untouched. If that cannot be done, reveal with --insist: the session then counts as not "
        "blind."
    )


def revealed_key(db: Session, name: str) -> Revealed:
    """Return the key of a session that is revealed already.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such revealed session.
    """
    session = session_at(db, name, SessionStatus.REVEALED, deed="showing the key")
    rows = db.scalars(
        select(KeyRow)
        .where(KeyRow.session_id == session.id)
        .order_by(KeyRow.tray, KeyRow.kind, KeyRow.draw_id, KeyRow.replicate)
    )
    secret = db.get(KeySecret, session.id)
    seal = Seal(None, KEY_FORM) if session.loaded else seal_of(db, session)
    return Revealed(
        session=name,
        rows=tuple(_revealed_row(row) for row in rows),
        key_hash=seal.hash_hex,
        matches=None if session.loaded else _fits(seal, _found_hash(db, session, seal)),
        seed_hex=secret.seed_hex if secret else None,
        after_reopening=after_reopening(db, name),
    )


def _fits(seal: Seal, found: str | None) -> bool:
    return found is not None and found == seal.hash_hex


def _revealed_row(row: KeyRow) -> RevealedRow:
    filling = row.draw.filling
    return RevealedRow(
        tray=row.tray,
        code=row.code,
        kind=row.kind.value,
        replicate=row.replicate,
        draw=row.draw.label,
        filling=filling.label if filling else None,
        cask=filling.cask.number if filling else None,
    )
