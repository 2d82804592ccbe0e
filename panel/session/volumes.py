"""How much is left in a sample's bottle: what was drawn, what water made of it, what was poured."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Select, case, func, or_, select
from sqlalchemy.orm import Session

from panel.kinds import SessionStatus
from panel.store.house import number_setting
from panel.store.key import KeyRow
from panel.store.people import Person
from panel.store.planted import planted_among
from panel.store.sessions import PanelSession, Serving


@dataclass(frozen=True)
class Volume:
    """Millilitres of a sample as it stands in its bottle; None where they are not on record.

    `made_ml` is what the bottle held when it was full, `poured_ml` what `sessions` took of it,
    loss among it.
    """

    made_ml: float | None
    poured_ml: float = 0.0
    sessions: tuple[str, ...] = ()

    @property
    def left_ml(self) -> float | None:
        """What is there to pour."""
        return None if self.made_ml is None else max(0.0, self.made_ml - self.poured_ml)


@dataclass(frozen=True)
class Poured:
    """Glasses that a session took of a draw, in millilitres at nosing strength."""

    session: str
    millilitres: float
    nosing_abv: float

    def from_bottle(self, abv: float | None) -> float:
        """What they took out of a bottle of that strength; without one it is taken for weak."""
        weaker = abv is None or abv <= self.nosing_abv
        return self.millilitres if weaker else self.millilitres * self.nosing_abv / (abv or 1.0)


def poured_of(
    db: Session,
    draw_ids: Collection[int],
    besides: int | None = None,
    *,
    only_revealed: bool = False,
) -> dict[int, list[Poured]]:
    """Return by draw what sealed and held sessions took, but for the one with the id *besides*.

    With `only_revealed` sessions whose key is secret count nothing. Else each draw of theirs counts
    as many glasses as the one that is poured most, and every second pouring of whatever code: how
    much a draw truly lost would tell which one is doubled, and what a code that was poured
    again is. What is planted counts nothing before the reveal.
    """
    kept = 1 - number_setting(db, "draw_loss_fraction")
    found: dict[int, list[Poured]] = defaultdict(list)
    for session, glasses in _by_session(db, draw_ids).items():
        open_key = session.status is SessionStatus.REVEALED
        if session.id == besides or (only_revealed and not open_key):
            continue
        poured = glasses if open_key else _untold(db, session.id)
        for draw_id in sorted(set(draw_ids) & set(poured)):
            taken = poured[draw_id] * session.pour_ml / kept
            found[draw_id].append(Poured(session.name, taken, session.nosing_abv))
    return found


def _by_session(db: Session, draw_ids: Collection[int]) -> dict[PanelSession, dict[int, int]]:
    """Return the glasses of some draws by session that was sealed, in order of days."""
    found: dict[PanelSession, dict[int, int]] = {}
    asked = _glasses().where(KeyRow.draw_id.in_(list(draw_ids)))
    rows = db.execute(asked.order_by(PanelSession.held_on, PanelSession.id))
    for session, draw_id, first, again in rows:
        found.setdefault(session, {})[draw_id] = first + again
    return found


def _untold(db: Session, session_id: int) -> dict[int, int]:
    """Return for every draw of a session the same count, which tells of none."""
    rows = db.execute(_glasses().where(PanelSession.id == session_id)).all()
    planted = planted_among(db, [draw_id for _, draw_id, _, _ in rows])
    most = max((first for _, draw_id, first, _ in rows if draw_id not in planted), default=0)
    again = sum(again for *_, again in rows)
    return {draw_id: most + again for _, draw_id, _, _ in rows if draw_id not in planted}


def _glasses() -> Select[PanelSession, int, int, int]:
    """Count first and later pourings by session and draw."""
    first = func.sum(case((Serving.pouring == 1, 1), else_=0))
    return (
        select(PanelSession, KeyRow.draw_id, first, func.count(Serving.id) - first)
        .join(KeyRow, KeyRow.session_id == PanelSession.id)
        .join(Serving, (Serving.session_id == KeyRow.session_id) & (Serving.code == KeyRow.code))
        .join(Person, Person.id == Serving.person_id)
        .where(
            or_(KeyRow.tray == "", KeyRow.tray == Person.code),
            PanelSession.status != SessionStatus.DRAFT,
        )
        .group_by(PanelSession.id, KeyRow.draw_id)
    )


def volume_of(
    drawn_ml: float | None,
    from_abv: float | None,
    reduced_to: float | None,
    poured: Collection[Poured] = (),
) -> Volume:
    """Return what is in the bottle of a draw, after water and after pouring.

    `from_abv` is its strength as drawn; a draw that was reduced has more litres in the measure
    of both strengths (the water shrinks, pure alcohol does not).
    """
    made = drawn_ml
    if drawn_ml is not None and reduced_to is not None:
        made = None if from_abv is None else drawn_ml * max(1.0, from_abv / reduced_to)
    abv = from_abv if reduced_to is None else reduced_to
    taken = sum(each.from_bottle(abv) for each in poured)
    return Volume(made, taken, tuple(each.session for each in poured))
