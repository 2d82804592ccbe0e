"""What is away at other sites, what became of it, and giving a pack up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import SessionError, UnknownRecord
from panel.session.elsewhere.bottles import lpa
from panel.store.finding import find_session, nearest_words
from panel.store.log import append_entry
from panel.store.site_packs import (
    Moved,
    PackAmount,
    SitePack,
    away_packs,
    pack_it_came_in,
    packs_of,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession


class PackState(StrEnum):
    """How far a pack is."""

    AWAY = "away"
    JOINED = "joined"
    RECALLED = "called back"
    HERE = "to be nosed here"
    RETURNED = "returned"


@dataclass(frozen=True)
class Amount:
    """Spirit of a pack that was sent, received or destroyed."""

    session: str
    site: str
    moved: str
    on: date
    millilitres: float
    abv: float
    lpa: float
    by: str

    json_keys = (
        *("session", "site", ("moved", "what"), ("on", "date"), "millilitres"),
        *(("abv", "abv_percent"), "lpa", "by"),
    )


@dataclass(frozen=True)
class PackTold:
    """One pack of a session."""

    site: str
    state: PackState
    assessors: tuple[str, ...]
    made_on: date
    nose_by: date
    held_on: date | None
    water: str
    pack_hash: str
    return_hash: str | None
    site_head: str | None
    called_back_because: str | None
    amounts: tuple[Amount, ...]

    json_keys = (
        *("site", "state", "assessors", "made_on", "nose_by", "held_on", "water", "pack_hash"),
        *("return_hash", "site_head", "called_back_because", "amounts"),
    )


@dataclass(frozen=True)
class SessionAway:
    """The packs of a session."""

    session: str
    packs: tuple[PackTold, ...]


@dataclass(frozen=True)
class CarriedRegister:
    """What was sent to other sites, received and destroyed, in the order in which it was."""

    amounts: tuple[Amount, ...]

    json_keys = ("amounts", "sent_lpa", "received_lpa", "destroyed_lpa")

    def total(self, moved: str) -> float:
        """Litres of pure alcohol that were sent, received or destroyed."""
        return sum(row.lpa for row in self.amounts if row.moved == moved)

    @property
    def sent_lpa(self) -> float:
        """Litres of pure alcohol sent."""
        return self.total("sent")

    @property
    def received_lpa(self) -> float:
        """Litres of pure alcohol received."""
        return self.total("received")

    @property
    def destroyed_lpa(self) -> float:
        """Litres of pure alcohol destroyed."""
        return self.total("destroyed")


def session_away(db: Session, name: str) -> SessionAway:
    """Return the packs of a session, sent or come.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    return SessionAway(session.name, tuple(map(_told, packs_of(db, session.id))))


def carried_register(db: Session) -> CarriedRegister:
    """Return all spirit that went with packs, by day."""
    rows = sorted(
        db.scalars(select(PackAmount)), key=lambda row: (row.moved_on, row.pack_id, _place(row))
    )
    return CarriedRegister(tuple(map(_amount, rows)))


def _place(row: PackAmount) -> int:
    return list(Moved).index(row.moved)


def _told(pack: SitePack) -> PackTold:
    return PackTold(
        site=pack.site,
        state=_state(pack),
        assessors=tuple(seat.person.code for seat in pack.seats),
        made_on=pack.made_at.date(),
        nose_by=pack.nose_by,
        held_on=pack.held_on,
        water=pack.water,
        pack_hash=pack.file_hash,
        return_hash=pack.return_hash,
        site_head=pack.site_head_hex,
        called_back_because=pack.recalled_because,
        amounts=tuple(map(_amount, sorted(pack.amounts, key=_place))),
    )


def _state(pack: SitePack) -> PackState:
    if pack.came:
        return PackState.RETURNED if pack.settled_at else PackState.HERE
    if pack.recalled_at is not None:
        return PackState.RECALLED
    return PackState.AWAY if pack.settled_at is None else PackState.JOINED


def _amount(row: PackAmount) -> Amount:
    return Amount(
        session=row.pack.session.name,
        site=row.pack.site,
        moved=row.moved.value,
        on=row.moved_on,
        millilitres=row.millilitres,
        abv=row.abv,
        lpa=lpa(row.millilitres, row.abv),
        by=row.by_code,
    )


def recall_pack(
    db: Session, name: str, site: str, *, reason: str, now: datetime, by: str
) -> SessionAway:
    """Give a pack up: its return is refused from here on, and its seats may be scored here.

    Raises
    ------
    UnknownRecord
        There is no such session, or nothing of it is away at that site.
    SessionError
        No reason was given, or what was there is joined.
    """
    if not reason.strip():
        raise SessionError("Say why it is called back; the reason is kept.")
    session = find_session(db, name)
    away = away_packs(db, session.id)
    found = [pack for pack in away if pack.site == site]
    if not found:
        _refuse_joined(db, session, site)
        near = nearest_words(site, {pack.site for pack in away})
        raise UnknownRecord(f"Nothing of session {name!r} is away at {site!r}.{near}")
    for pack in found:
        pack.recalled_at, pack.recalled_because = now, reason.strip()
    details = {"session": name, "site": site, "reason": reason.strip()}
    append_entry(db, at=now, by=by, action="pack called back", details=details)
    return session_away(db, name)


def _refuse_joined(db: Session, session: PanelSession, site: str) -> None:
    packs = [pack for pack in packs_of(db, session.id) if pack.site == site]
    if joined := [pack for pack in packs if _state(pack) is PackState.JOINED]:
        raise SessionError(
            f"What {site} sent back of session {session.name!r} is joined since "
            f"{joined[-1].settled_at:%Y-%m-%d}: it stands, and cannot be called back."
        )


def refuse_reveal(db: Session, session: PanelSession) -> None:
    """Refuse the reveal of what came in a pack, and of what is still away.

    Raises
    ------
    SessionError
        It is one or the other.
    """
    if pack_it_came_in(db, session.id) is not None:
        raise SessionError(
            f"Session {session.name!r} came in a pack: its key is at home, and it is revealed "
            "there. Here it is returned (`oakpanel session return`)."
        )
    if away := sorted({pack.site for pack in away_packs(db, session.id)}):
        raise SessionError(
            f"Seats of session {session.name!r} are still away: {', '.join(away)}. Join what came "
            "back first (`oakpanel session join FILE`), or call it back with a reason "
            "(`oakpanel session recall`)."
        )


def refuse_late(db: Session, session: PanelSession, day: date | None) -> None:
    """Refuse to nose what came in a pack later than its samples last.

    Raises
    ------
    SessionError
        It is too late.
    """
    pack = pack_it_came_in(db, session.id)
    if pack is not None and day is not None and day > pack.nose_by:
        raise SessionError(
            f"Its samples were to be nosed by {pack.nose_by}, within seven days: ask home for new "
            "ones. Nothing was opened."
        )


def refuse_without_key(db: Session, session: PanelSession, deed: str) -> None:
    """Refuse what takes the key, of a session whose key is at home.

    Raises
    ------
    SessionError
        It came in a pack.
    """
    if pack_it_came_in(db, session.id) is not None:
        raise SessionError(
            f"Session {session.name!r} came in a pack: {deed} takes the plan or the key, which "
            "are at home. "
            "Here every glass is poured from the bottle of its code; trays, ballots, labels and "
            "mats can be printed."
        )
