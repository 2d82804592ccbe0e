"""How much is left in a sample's bottle: what was drawn, what water made of it, what was poured."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from panel.kinds import SessionStatus
from panel.store.house import number_setting
from panel.store.key import KeyRow
from panel.store.people import Person
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

    With `only_revealed` sessions whose key is secret count nothing: what a second pouring of a
    code took off a sample would tell which sample that code is.
    """
    kept = 1 - number_setting(db, "draw_loss_fraction")
    query = (
        select(
            *(KeyRow.draw_id, PanelSession.name, PanelSession.pour_ml, PanelSession.nosing_abv),
            func.count(Serving.id),
        )
        .join(PanelSession, PanelSession.id == KeyRow.session_id)
        .join(Serving, (Serving.session_id == KeyRow.session_id) & (Serving.code == KeyRow.code))
        .join(Person, Person.id == Serving.person_id)
        .where(
            KeyRow.draw_id.in_(list(draw_ids)),
            or_(KeyRow.tray == "", KeyRow.tray == Person.code),
            PanelSession.status != SessionStatus.DRAFT,
        )
        .group_by(KeyRow.draw_id, PanelSession.id)
        .order_by(PanelSession.held_on, PanelSession.id)
    )
    if only_revealed:
        query = query.where(PanelSession.status == SessionStatus.REVEALED)
    if besides is not None:
        query = query.where(PanelSession.id != besides)
    found: dict[int, list[Poured]] = defaultdict(list)
    for draw_id, name, pour_ml, nosing_abv, glasses in db.execute(query):
        found[draw_id].append(Poured(name, glasses * pour_ml / kept, nosing_abv))
    return found


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
