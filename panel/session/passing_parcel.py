"""Which samples a passing session pours: those of a parcel, or what a second nose has to nose."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord, WrongState
from panel.kinds import DrawKind, EventKind, SessionStatus
from panel.session.codes import generator, shuffled
from panel.store.casks import Filling, FillingEvent, standing
from panel.store.draws import Draw
from panel.store.finding import find_session, nearest_words
from panel.store.house import number_setting
from panel.store.passed_glasses import PassedGlass, passed_glasses
from panel.store.passing import Passing
from panel.store.planted import planted_among

FEWEST_UNAWARE = 10
"""Of fewer casks a second nose knows that some were held (house rule)."""


def parcel_draws(db: Session, parcel: str, on: date) -> tuple[str, ...]:
    """Return the newest sample of each cask of a parcel; what is planted is none of them.

    Raises
    ------
    UnknownRecord
        There is no such parcel, or no cask of it was drawn from.
    """
    parcels = set(db.scalars(select(Filling.parcel).where(Filling.parcel.is_not(None)).distinct()))
    if parcel not in parcels:
        near = nearest_words(parcel, sorted(map(str, parcels)))
        raise UnknownRecord(f"There is no parcel {parcel!r}.{near}")
    gone = select(FillingEvent.filling_id).where(
        FillingEvent.kind == EventKind.EMPTIED, FillingEvent.happened_on <= on, standing()
    )
    asked = (
        select(Draw)
        .join(Filling, Filling.id == Draw.filling_id)
        .where(Filling.parcel == parcel, Draw.kind == DrawKind.CASK, Filling.id.not_in(gone))
        .where(Draw.fate.is_(None), func.coalesce(Draw.drawn_on, on) <= on)
        .order_by(Filling.label, Draw.drawn_on, Draw.id)
    )
    draws = list(db.scalars(asked))
    planted = planted_among(db, [draw.id for draw in draws])
    newest = {draw.filling_id: draw.label for draw in draws if draw.id not in planted}
    if not newest:
        raise UnknownRecord(
            f"No cask of the parcel {parcel!r} has a sample: draw from them first "
            "(`oakpanel session sheets NAME draws` lists where they lie)."
        )
    return tuple(newest.values())


def sound_of_parcel(db: Session, parcel: str) -> tuple[str, ...]:
    """Return the samples from casks of a parcel that are kept as known sound, so not passed.

    A cask of which a newer or an older sample is there to be passed is none of them.
    """
    asked = (
        select(Draw)
        .join(Filling, Filling.id == Draw.filling_id)
        .where(Filling.parcel == parcel, Draw.kind == DrawKind.CASK, Draw.fate.is_(None))
        .order_by(Filling.label, Draw.drawn_on, Draw.id)
    )
    draws = list(db.scalars(asked))
    planted = planted_among(db, [draw.id for draw in draws])
    others = {draw.filling_id for draw in draws if draw.id not in planted}
    return tuple(d.label for d in draws if d.id in planted and d.filling_id not in others)


def again_draws(db: Session, first: str, secret: int) -> tuple[str, ...]:
    """Return what a second nose noses: what one nose held, and one in ten of what was passed.

    More of the passed ones where that makes fewer than `FEWEST_UNAWARE`. Which ones those are the
    secret bits choose.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; no passing session, or not revealed yet.
    """
    session = find_session(db, first)
    if db.get(Passing, session.id) is None:
        raise WrongState(f"Session {first} was {session.kind.facts.scored}, so nothing was held.")
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(f"Session {first} is {session.status.value}: reveal it first.")
    glasses = [g for g in passed_glasses(db, sessions=[session.id], rehearsals=True)]
    casks = _by_cask(glass for glass in glasses if not glass.planted)
    held = [mine for mine in casks if any(glass.held for glass in mine)]
    passed = [mine for mine in casks if not any(glass.held for glass in mine)]
    share = number_setting(db, "passing_second_share")
    wanted = max(1, round(share * len(passed))) if share else 0
    some = min(len(passed), max(wanted, FEWEST_UNAWARE - len(held)))
    checked = shuffled(passed, generator(secret, "second nose"))[:some]
    return tuple(sorted(mine[-1].sample for mine in (*held, *checked)))


def _by_cask(glasses: Iterable[PassedGlass]) -> list[Sequence[PassedGlass]]:
    found: dict[int, list[PassedGlass]] = {}
    for glass in glasses:
        if glass.filling_id is not None:
            found.setdefault(glass.filling_id, []).append(glass)
    return [found[filling] for filling in sorted(found)]
