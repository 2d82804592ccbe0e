"""What an evening costs people: ethanol against the house's caps, and minutes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from panel.clock import site_date
from panel.figures import in_digits
from panel.kinds import Manner, SessionStatus
from panel.session.dose import DoseLimits, Pour, SessionDose, session_dose
from panel.store.house import number_setting, read_setting
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from panel.store.site_packs import PackSeat, SitePack

NEARLY = 1e-9
"""Slack for sums of floats at a cap."""


@dataclass(frozen=True)
class Sitting:
    """What one assessor is to go through."""

    glasses: int
    flights: int
    lines: int
    pause_s: int
    naming_glasses: int = 0
    """Glasses nosed once more before, to find own words."""
    glass_setting: str | None = None
    break_setting: str = "flight_break_min"


def dose_limits(db: Session) -> DoseLimits:
    """Return the house's caps."""
    return DoseLimits(
        session_grams=number_setting(db, "dose_session_g"),
        day_grams=number_setting(db, "dose_day_g"),
        session_swallowed_grams=number_setting(db, "dose_session_swallowed_g"),
        day_swallowed_grams=number_setting(db, "dose_day_swallowed_g"),
    )


def tray_dose(db: Session, glasses: int, pour_ml: float, abv_percent: float) -> SessionDose:
    """Return the ethanol of one tray."""
    return session_dose([Pour(pour_ml, abv_percent)] * glasses, dose_limits(db))


def sitting_minutes(db: Session, sitting: Sitting) -> float:
    """Return the minutes of an evening: scoring, a pause after each glass, breaks."""
    scoring_s = sitting.glasses * sitting.lines * number_setting(db, "seconds_a_line")
    if sitting.glass_setting is not None:
        scoring_s += sitting.glasses * number_setting(db, sitting.glass_setting)
    pauses_s = (sitting.glasses - sitting.flights) * sitting.pause_s
    naming_s = sitting.naming_glasses * number_setting(db, "naming_s_a_glass")
    breaks_min = (sitting.flights - 1) * number_setting(db, sitting.break_setting)
    return (scoring_s + pauses_s + naming_s) / 60 + breaks_min


def other_dose_that_day(
    db: Session, person_id: int, held_on: date | None, except_name: str
) -> SessionDose:
    """Return the ethanol of a person's other tastings on a date.

    Of one that was held the day before, what was taken up after midnight counts.
    """
    if held_on is None:
        return SessionDose(0.0, 0.0)
    there = _days_elsewhere(db, person_id)
    days = (held_on, held_on - timedelta(days=1))
    near = or_(PanelSession.held_on.in_(days), PanelSession.id.in_(there))
    tastings = (
        select(PanelSession)
        .join(SessionAssessor)
        .where(
            SessionAssessor.person_id == person_id,
            near,
            PanelSession.manner == Manner.TASTE,
            PanelSession.status != SessionStatus.DRAFT,
            PanelSession.loaded.is_(False),
            PanelSession.name != except_name,
        )
    )
    total = SessionDose(0.0, 0.0)
    for session in db.scalars(tastings):
        day = there.get(session.id, session.held_on)
        if day not in days:
            continue
        if day == held_on:
            glasses = _served(db, session).get(person_id, 0)
        else:
            glasses = _after_midnight(db, session, person_id, held_on)
        total = total.plus(tray_dose(db, glasses, session.pour_ml, session.nosing_abv))
    return total


def _days_elsewhere(db: Session, person_id: int) -> dict[int, date]:
    """Return by session on which day somebody sat at another site, where that came back."""
    asked = (
        select(SitePack.session_id, SitePack.held_on)
        .join(PackSeat, PackSeat.pack_id == SitePack.id)
        .where(PackSeat.person_id == person_id, SitePack.came.is_(False))
        .where(SitePack.held_on.is_not(None))
    )
    return {session: day for session, day in db.execute(asked) if day is not None}


def _after_midnight(db: Session, session: PanelSession, person_id: int, day: date) -> int:
    """Return how many glasses of a session somebody took up on a later day."""
    zone = str(read_setting(db, "time_zone"))
    mine = (Serving.session_id == session.id, Serving.person_id == person_id)
    taken = db.scalars(select(Serving.taken_at).where(*mine, Serving.taken_at.is_not(None)))
    return sum(site_date(at, zone) == day for at in taken if at is not None)


def _served(db: Session, session: PanelSession) -> dict[int, int]:
    """Return how many glasses stand or stood before each person, pourings and all."""
    counted = select(Serving.person_id, func.count()).where(Serving.session_id == session.id)
    return {who: count for who, count in db.execute(counted.group_by(Serving.person_id))}


def faults_of_session(db: Session, session: PanelSession, held_on: date | None) -> list[str]:
    """Return which caps a sealed session would pass if it were held on a date, and for whom."""
    if session.manner is not Manner.TASTE:
        return []
    trays: dict[int, dict[str, int]] = {}
    served = _served(db, session)
    for seat in session.assessors:
        glasses = served.get(seat.person_id, 0)
        trays.setdefault(glasses, {})[seat.person.code] = seat.person_id
    return [
        fault
        for glasses, people in trays.items()
        for fault in dose_faults(
            db,
            tray_dose(db, glasses, session.pour_ml, session.nosing_abv),
            people,
            held_on,
            session.name,
        )
    ]


def dose_faults(
    db: Session, dose: SessionDose, people: dict[str, int], held_on: date | None, name: str
) -> list[str]:
    """Return which caps a tasting would pass, for whom; empty when it stays within."""
    caps = _caps(dose_limits(db))
    over = [
        f"Tasting all glasses comes to {in_digits(cap.grams(dose), '.1f')} g of ethanol "
        f"each, {cap.counted}; the "
        f"house's cap is {in_digits(cap.session, 'g')} g a session. Pour less, taste fewer "
        "glasses or nose only."
        for cap in caps
        if cap.grams(dose) > cap.session + NEARLY
    ]
    if over or held_on is None:
        return over
    before = {code: other_dose_that_day(db, who, held_on, name) for code, who in people.items()}
    return [
        f"With {in_digits(cap.grams(already), '.1f')} g from other tastings that day {code} "
        "would come to "
        f"{in_digits(cap.grams(already) + cap.grams(dose), '.1f')} g of ethanol, "
        f"{cap.counted}; the house's cap "
        f"is {in_digits(cap.day, 'g')} g a day."
        for code, already in before.items()
        for cap in caps
        if cap.grams(already) + cap.grams(dose) > cap.day + NEARLY
    ]


@dataclass(frozen=True)
class _Cap:
    """One way to count what is in the glasses, and how much of it a session and a day may hold."""

    counted: str
    grams: Callable[[SessionDose], float]
    session: float
    day: float


def _caps(limits: DoseLimits) -> tuple[_Cap, ...]:
    return (
        _Cap("counted as spat", _spat, limits.session_grams, limits.day_grams),
        _Cap(
            "if all were swallowed",
            _swallowed,
            limits.session_swallowed_grams,
            limits.day_swallowed_grams,
        ),
    )


def _spat(dose: SessionDose) -> float:
    return dose.spat_grams


def _swallowed(dose: SessionDose) -> float:
    return dose.swallowed_grams
