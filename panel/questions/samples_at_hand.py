"""Which sample of each cask stands on the shelf, and how many glasses it gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import or_, select

from panel.errors import UnknownRecord
from panel.kinds import DrawKind
from panel.session.liquids import Liquid, liquids_of
from panel.session.on_shelf import still_good, topped_since
from panel.session.volumes import Poured
from panel.store.draws import Draw
from panel.store.filling_states import filling_states
from panel.store.finding import nearest_words
from panel.store.house import number_setting

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class AtHand:
    """A sample that can be poured; `glasses` is None where what is left is not on record."""

    cask: str
    label: str
    drawn_on: date | None
    glasses: int | None


def samples_at_hand(db: Session, as_of: date, *, named: Collection[str] = ()) -> dict[str, AtHand]:
    """Return by cask the latest draw of what lies in it that still gives a glass.

    Not one that is too old to tell what is in the cask, nor one whose fate is told, unless it is
    named. What sessions poured whose key is secret is not taken off: it would tell which glass
    was which.

    Raises
    ------
    UnknownRecord
        One that is named is no draw of what lies in a cask.
    """
    lying = {s.filling_id: s for s in filling_states(db, as_of) if s.emptied_on is None}
    query = select(Draw).where(
        Draw.kind == DrawKind.CASK, or_(Draw.fate.is_(None), Draw.label.in_(list(named)))
    )
    good = number_setting(db, "sample_good_years")
    draws = [
        draw
        for draw in db.scalars(query.order_by(Draw.drawn_on, Draw.id))
        if draw.filling_id in lying
        and (draw.label in named or still_good(draw.drawn_on, as_of, good))
    ]
    for label in named:
        if label not in (every := {draw.label for draw in draws}):
            raise UnknownRecord(
                f"{label!r} is no draw of what lies in a cask.{nearest_words(label, every)}"
            )
    liquids = liquids_of(db, draws, as_of, only_revealed=True)
    found: dict[str, AtHand] = {}
    for draw in draws:
        state = lying[draw.filling_id or 0]
        glasses = glasses_in(db, liquids[draw.id])
        if not topped_since(state, draw.drawn_on) and glasses != 0:
            found[state.cask] = AtHand(state.cask, draw.label, draw.drawn_on, glasses)
    return found


def glasses_in(db: Session, liquid: Liquid) -> int | None:
    """Return how many glasses a bottle still gives beside the sample kept back; None: unknown."""
    left = liquid.volume.left_ml
    if left is None:
        return None
    kept = 1.0 - number_setting(db, "draw_loss_fraction")
    poured = Poured("", number_setting(db, "pour_ml") / kept, number_setting(db, "nosing_abv"))
    each = poured.from_bottle(liquid.strength.abv_percent if liquid.strength else None)
    return max(0, int((left - number_setting(db, "retained_ml")) / each))
