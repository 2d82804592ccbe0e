"""How much a question needs, before anything is poured."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from panel.errors import PlanRefused, UnknownRecord
from panel.figures import in_digits
from panel.session.plan_parts import current_versions, is_retired
from panel.store.finding import nearest_words
from panel.store.house import number_setting
from panel.store.nosed import any_nosed
from panel.store.training import panel_on

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import PowerTable
    from analysis.profile import Profile

MOST_DESIGNS = 24
MOST_GLASSES = 200_000


@dataclass(frozen=True)
class PowerAsked:
    """What is compared; empty where the usual is meant.

    Attributes
    ----------
    notes
        Those that are asked about; all that were nosed by default.
    assessors, samples, sessions
        Each of one with each of the others is a design.
    points
        Difference of two casks that should be seen; None: twice the house's tolerance, since within
        it two casks are never to be called surely apart.
    casks, best
        How many are to be chosen of how many.
    years
        Span of the ages of a curve.
    """

    notes: tuple[str, ...] = ()
    assessors: tuple[int, ...] = ()
    samples: tuple[int, ...] = ()
    sessions: tuple[int, ...] = ()
    points: float | None = None
    casks: int = 60
    best: int = 5
    years: float = 10.0
    seed: int = 1


SAMPLES, SESSIONS = (6,), (1, 2, 4, 8)


def house_power(
    db: Session, asked: PowerAsked, *, as_of: date, profile: Profile | None = None
) -> PowerTable:
    """Return how much a question needs, by the variances of this house's own panel.

    Raises
    ------
    UnknownRecord
        A note is named that nobody nosed.
    PlanRefused
        More designs are asked for than anybody reads, or a difference longer than the line.
    """
    from analysis.house_line import HIGH
    from analysis.next_glasses import Design, power_table
    from panel.questions.profile import house_profile

    if asked.points is not None and asked.points > HIGH:
        raise PlanRefused(
            f"A difference of {in_digits(asked.points, 'g')} points: the line has "
            f"{in_digits(HIGH, 'g')}. Ask for less."
        )
    known = profile
    if known is None and any_nosed(db, as_of):
        known = house_profile(db, as_of=as_of)
    codes = [person.code for person in panel_on(db, as_of)]
    people = asked.assessors or (max(len(codes), 1),)
    ways = list(product(people, asked.samples or SAMPLES, asked.sessions or SESSIONS))
    if len(ways) > MOST_DESIGNS:
        raise PlanRefused(f"{len(ways)} designs: {MOST_DESIGNS} at most are compared at once.")
    designs = [Design(*way) for way in ways]
    if max(design.glasses for design in designs) > MOST_GLASSES:
        raise PlanRefused(
            f"More than {in_digits(MOST_GLASSES, ',')} glasses: nobody noses so many. Ask for less."
        )
    seen = set() if known is None else set(known.assessors["assessor"])
    tolerance = number_setting(db, "alike_tolerance")
    return power_table(
        known,
        designs,
        notes=asked_notes(db, asked, known, as_of),
        points=asked.points or 2.0 * tolerance,
        tolerance=tolerance,
        casks=asked.casks,
        best=asked.best,
        assessors=[code for code in codes if code in seen],
        years=asked.years,
        seed=asked.seed,
    )


def asked_notes(
    db: Session, asked: PowerAsked, known: Profile | None, as_of: date
) -> tuple[str, ...]:
    """Return the notes that are asked about; what nobody nosed yet is taken from the lexicon.

    Raises
    ------
    UnknownRecord
        A note is named that is not there, or there is none at all.
    """
    if known is None:
        # Of a day before a descriptor came in it is asked about all the same.
        versions = current_versions(db, as_of)
        every = tuple(name for name, one in versions.items() if not is_retired(one, as_of))
        usual = every[:1]
    else:
        every = usual = tuple(known.descriptors)
    for note in asked.notes:
        if note not in every:
            raise UnknownRecord(f"Nobody nosed {note!r} yet.{nearest_words(note, every)}")
    if not (asked.notes or usual):
        raise UnknownRecord("There is no lexicon yet: load one, or make a descriptor.")
    return asked.notes or usual
