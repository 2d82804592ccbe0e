"""What an evening costs people: ethanol against the house's caps, and minutes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import Manner, SessionStatus
from panel.session.dose import DoseLimits, Pour, SessionDose, session_dose
from panel.store.house import number_setting
from panel.store.sessions import PanelSession, Serving, SessionAssessor

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


def dose_limits(db: Session) -> DoseLimits:
    """Return the house's caps."""
    return DoseLimits(
        session_grams=number_setting(db, "dose_session_g"),
        day_grams=number_setting(db, "dose_day_g"),
    )


def tray_dose(db: Session, glasses: int, pour_ml: float, abv_percent: float) -> SessionDose:
    """Return the ethanol of one tray."""
    return session_dose([Pour(pour_ml, abv_percent)] * glasses, dose_limits(db))


def sitting_minutes(db: Session, sitting: Sitting) -> float:
    """Return the minutes of an evening: scoring, a pause after each glass, breaks."""
    scoring_s = sitting.glasses * sitting.lines * number_setting(db, "seconds_a_line")
    pauses_s = (sitting.glasses - sitting.flights) * sitting.pause_s
    naming_s = sitting.naming_glasses * number_setting(db, "naming_s_a_glass")
    breaks_min = (sitting.flights - 1) * number_setting(db, "flight_break_min")
    return (scoring_s + pauses_s + naming_s) / 60 + breaks_min


def other_grams_that_day(
    db: Session, person_id: int, held_on: date | None, except_name: str
) -> float:
    """Return the ethanol, counted as spat, of a person's other tastings on a date."""
    tastings = (
        select(PanelSession)
        .join(SessionAssessor)
        .where(
            SessionAssessor.person_id == person_id,
            PanelSession.held_on == held_on,
            PanelSession.manner == Manner.TASTE,
            PanelSession.status != SessionStatus.DRAFT,
            PanelSession.loaded.is_(False),
            PanelSession.name != except_name,
        )
    )
    return sum(_spat_grams(db, session, person_id) for session in db.scalars(tastings))


def _spat_grams(db: Session, session: PanelSession, person_id: int) -> float:
    served = db.scalars(
        select(Serving.id).where(Serving.session_id == session.id, Serving.person_id == person_id)
    ).all()
    return tray_dose(db, len(served), session.pour_ml, session.nosing_abv).spat_grams


def dose_faults(
    db: Session, dose: SessionDose, people: dict[str, int], held_on: date | None, name: str
) -> list[str]:
    """Return which caps a tasting would pass, for whom; empty when it stays within."""
    limits = dose_limits(db)
    if dose.spat_grams > limits.session_grams + NEARLY:
        return [
            f"Tasting all glasses comes to {dose.spat_grams:.1f} g of ethanol each, counted as "
            f"spat; the house's cap is {limits.session_grams:g} g a session. Pour less, taste "
            "fewer glasses or nose only."
        ]
    faults: list[str] = []
    for code, person_id in people.items():
        before = other_grams_that_day(db, person_id, held_on, name) if held_on else 0.0
        if before + dose.spat_grams > limits.day_grams + NEARLY:
            faults.append(
                f"With {before:.1f} g from other tastings that day {code} would come to "
                f"{before + dose.spat_grams:.1f} g of ethanol, counted as spat; the house's cap "
                f"is {limits.day_grams:g} g a day."
            )
    return faults
