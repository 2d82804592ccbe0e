"""How much of each draw and of water a session needs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.kinds import GlassKind, SessionStatus
from panel.session.blueprint import SPECIAL, Blueprint
from panel.session.liquids import Liquid
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.house import number_setting
from panel.store.key import KeyRow, PlannedDraw, behind_serving
from panel.store.people import Person
from panel.store.planted import bases_of
from panel.store.sessions import Serving

TOLD_KINDS = frozenset({GlassKind.REFERENCE.value, GlassKind.WARM_UP.value})
"""Glasses of which everybody may know how often they are poured."""


@dataclass(frozen=True)
class PourNeed:
    """One draw of a session: strength, millilitres a glass and for all glasses.

    `reduced_ml` is what all glasses and the loss take at nosing strength, made of `spirit_ml`
    and `water_ml`; `draw_ml` adds what is kept back at full strength. `left_ml` is what other
    sessions have left of the draw. `glasses_a_tray` is None where trays differ.
    """

    draw: str
    casks: tuple[str, ...]
    kind: str
    glasses_a_tray: int | None
    glasses: int
    abv_percent: float | None
    strength: str
    spirit_ml_a_glass: float | None
    water_ml_a_glass: float | None
    reduced_ml: float | None
    spirit_ml: float | None
    water_ml: float | None
    draw_ml: float | None
    phenol_ppm: float | None
    left_ml: float | None = None


@dataclass(frozen=True)
class UntoldNeed:
    """A draw of a session without what would tell how often it is poured."""

    draw: str
    casks: tuple[str, ...]
    kind: str
    abv_percent: float | None
    strength: str
    spirit_ml_a_glass: float | None
    water_ml_a_glass: float | None
    phenol_ppm: float | None
    left_ml: float | None

    untold = None
    json_keys = (
        *("draw", "casks", "kind", ("untold", "glasses_a_tray"), ("untold", "glasses")),
        *("abv_percent", "strength", "spirit_ml_a_glass", "water_ml_a_glass"),
        *(("untold", "reduced_ml"), ("untold", "spirit_ml"), ("untold", "water_ml")),
        *(("untold", "draw_ml"), "phenol_ppm", "left_ml"),
    )


def untold(need: PourNeed) -> UntoldNeed:
    """Return what may be said of a draw without telling how often it is poured."""
    return UntoldNeed(**{part.name: getattr(need, part.name) for part in fields(UntoldNeed)})


def tell_a_duplicate(needs: Sequence[PourNeed]) -> bool:
    """Say whether some draw that is nosed is poured more often than another.

    Where trays differ, how much of a draw is poured tells on how many of them it stands twice.
    """
    a_tray = {need.glasses_a_tray for need in needs if need.kind not in TOLD_KINDS}
    return len(a_tray) > 1 or None in a_tray


def pour_needs(db: Session, plan: Blueprint) -> list[PourNeed]:
    """Return what each planned draw needs, in the order of the plan."""
    rows = sorted(plan.planned, key=lambda row: row.place)
    on_trays = _laid_so_far(db, plan)
    return [_need(db, plan, row, on_trays(row.draw_id, row.kind)) for row in rows]


def _laid_so_far(db: Session, plan: Blueprint) -> Callable[[int, GlassKind], tuple[int, ...]]:
    """Return how many glasses of a draw stand on each tray: planned, and once sealed as laid."""
    if plan.session.status is SessionStatus.DRAFT:
        return plan.design().poured
    rows = db.execute(
        select(Serving.person_id, KeyRow.draw_id, KeyRow.kind, func.count())
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .where(Serving.session_id == plan.session.id, Serving.pouring == 1)
        .group_by(Serving.person_id, KeyRow.draw_id, KeyRow.kind)
    )
    counts = {(person, draw, kind): count for person, draw, kind, count in rows}
    people = sorted({person for person, _, _ in counts})
    return lambda draw, kind: tuple(counts.get((who, draw, kind), 0) for who in people)


def _need(db: Session, plan: Blueprint, row: PlannedDraw, on_trays: tuple[int, ...]) -> PourNeed:
    glasses, liquid = sum(on_trays), plan.liquids[row.draw_id]
    session = plan.session
    mix = _Mix(liquid, session.nosing_abv)
    kept = 1 - number_setting(db, "draw_loss_fraction")
    all_ml = glasses * session.pour_ml / kept
    a_glass, total = mix.parts_ml(session.pour_ml), mix.parts_ml(all_ml)
    return PourNeed(
        draw=liquid.label,
        casks=liquid.casks,
        kind=row.kind.value,
        glasses_a_tray=on_trays[0] if len(set(on_trays)) == 1 else None,
        glasses=glasses,
        abv_percent=liquid.strength.abv_percent if liquid.strength else None,
        strength=liquid.strength.words() if liquid.strength else "strength not known",
        spirit_ml_a_glass=a_glass[0],
        water_ml_a_glass=a_glass[1],
        reduced_ml=all_ml,
        spirit_ml=total[0],
        water_ml=total[1],
        draw_ml=None if total[0] is None else total[0] + _retained_ml(db, plan, row),
        phenol_ppm=liquid.phenol_ppm,
        left_ml=liquid.volume.left_ml,
    )


def _retained_ml(db: Session, plan: Blueprint, row: PlannedDraw) -> float:
    """A sample is kept back of what is judged, once a draw; a warm-up glass is not judged.

    Nor of a spike: what is left of it is destroyed.
    """
    if bases_of(db, [row.draw_id]):
        return 0.0
    judged = [each.kind for each in plan.planned if each.draw_id == row.draw_id]
    again = row.kind is GlassKind.REFERENCE and any(kind not in SPECIAL for kind in judged)
    kept = row.kind is not GlassKind.WARM_UP and not again
    return number_setting(db, "retained_ml") if kept else 0.0


@dataclass(frozen=True)
class _Mix:
    """Spirit and water that make a volume at nosing strength."""

    liquid: Liquid
    nosing_abv: float

    def parts_ml(self, volume_ml: float) -> tuple[float | None, float | None]:
        """Return spirit and water for a volume; what is weaker already gets no water."""
        from analysis.strength import nosing_water

        if self.liquid.strength is None:
            return None, None
        abv = self.liquid.strength.abv_percent
        if abv <= self.nosing_abv:
            return volume_ml, 0.0
        spirit_ml = volume_ml * self.nosing_abv / abv
        return spirit_ml, nosing_water(spirit_ml, abv, self.nosing_abv).water_ml


def poured_by_code(db: Session, name: str) -> dict[str, tuple[str, str, int]]:
    """Return draw, kind of glass and replicate by code: what the pourer's sheet tells.

    Only for a session whose codes are the same on every tray.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    query = (
        select(KeyRow.code, Draw.label, KeyRow.kind, KeyRow.replicate)
        .join(Draw, Draw.id == KeyRow.draw_id)
        .where(KeyRow.session_id == session.id)
    )
    rows = db.execute(query)
    return {code: (label, kind.value, replicate) for code, label, kind, replicate in rows}


def poured_by_tray(db: Session, name: str) -> list[tuple[str, str, int, str]]:
    """Return assessor, code, flight and draw of every glass, tray by tray in order of nosing.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    query = (
        select(Person.code, Serving.code, Serving.flight, Draw.label)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .where(Serving.session_id == session.id)
        .order_by(Person.code, Serving.flight, Serving.position)
    )
    return [(who, code, flight, draw) for who, code, flight, draw in db.execute(query)]


def tray_codes(db: Session, name: str) -> tuple[str, ...]:
    """Return the codes of a session's trays in the order of their glasses.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    query = select(Serving.code).where(Serving.session_id == session.id)
    return tuple(db.scalars(query.order_by(Serving.flight, Serving.position)))
