"""One page for the day of a session: what to weigh, when to pour, who sits where, the breaks.

It names neither draw nor cask. Grams all the same tell how strong a sample is, and codes on one
line that they are the same spirit: so it is printed as the pour sheet is, and for whoever pours.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.session.blueprint import Blueprint, blueprint_of
from panel.session.care import sitting_minutes
from panel.session.dose import CAUTIONS
from panel.session.paper import columns, paragraph
from panel.session.pour_order import key_rows
from panel.session.pours import PourNeed, pour_needs
from panel.session.sheets import print_with_key, sheet_heading
from panel.session.summary import sitting_of
from panel.store.house import number_setting

HOLD_ABV = 0.2
"""How far the strength in the glass may be off, % vol; common practice, no source."""
POUR_BEFORE_MIN = 30
"""Glasses are poured so long before the first is nosed; common practice, no source."""
REDUCE_BEFORE_MIN = 60
"""Spirit and water are together so long before; common practice, no source."""
SEATS_A_LINE = 4
WHO_SEES_IT = (
    "For whoever weighs and pours. No draw and no cask stands here, yet grams tell how strong a "
    "sample is and codes on one line are the same spirit: who assesses does not read it."
)


@dataclass(frozen=True)
class Bulk:
    """One sample as it is reduced in bulk: its codes, grams of spirit and of water.

    `tolerance_g` is how far both may be off together for the strength to stay within `HOLD_ABV`.
    """

    codes: tuple[str, ...]
    spirit_g: float | None
    water_g: float | None
    tolerance_g: float | None
    makes_ml: float | None
    glasses: int


def day_sheet(db: Session, name: str, *, now: datetime, by: str) -> str:
    """Return the page; who printed it goes into the log, and it costs what the pour sheet costs.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session, printing = print_with_key(db, name, "day sheet printed", now=now, by=by)
    plan = blueprint_of(db, session)
    lines = [
        *sheet_heading(session, "DAY SHEET", printing),
        *paragraph(WHO_SEES_IT),
        "",
        *_weighing(session.nosing_abv, bulks(db, plan)),
        "",
        *_times(db, plan),
        "",
        *_seats(plan),
        "",
        *(line for words in CAUTIONS for line in paragraph(words, bullet="- ")),
    ]
    return "\n".join(lines) + "\n"


def bulks(db: Session, plan: Blueprint) -> list[Bulk]:
    """Return what is weighed for each sample, by its first code: that tells no order of peat."""
    codes: dict[str, list[str]] = {}
    for row in key_rows(db, plan):
        codes.setdefault(row.draw.label, []).append(row.code)
    needs: dict[str, list[PourNeed]] = {}
    for need in pour_needs(db, plan):
        needs.setdefault(need.draw, []).append(need)
    found = [
        bulk_of(sorted(set(codes.get(draw, ()))), each, plan.session.nosing_abv)
        for draw, each in needs.items()
    ]
    return sorted(found, key=lambda bulk: bulk.codes)


def bulk_of(codes: list[str], needs: list[PourNeed], nosing_abv: float) -> Bulk:
    """Return what is weighed for all glasses of one sample."""
    from analysis.strength import WATER_DENSITY_20_KG_M3, density_from_abv

    glasses, abv = sum(need.glasses for need in needs), needs[0].abv_percent
    if abv is None:
        return Bulk(tuple(codes), None, None, None, None, glasses)
    spirit_ml = sum(need.spirit_ml or 0.0 for need in needs)
    water_ml = sum(need.water_ml or 0.0 for need in needs)
    makes_ml = sum(need.reduced_ml or 0.0 for need in needs)
    return Bulk(
        codes=tuple(codes),
        spirit_g=spirit_ml * density_from_abv(abv) / 1000.0,
        water_g=water_ml * WATER_DENSITY_20_KG_M3 / 1000.0,
        tolerance_g=tolerance_g(makes_ml, abv, nosing_abv) if abv > nosing_abv else None,
        makes_ml=makes_ml,
        glasses=glasses,
    )


def tolerance_g(makes_ml: float, abv_percent: float, nosing_abv: float) -> float:
    """Return by how many grams spirit and water may both be off, one over and the other under.

    With spirit of strength A and density r in V mL at strength F, e grams of spirit more change
    the strength by e (A - F) / (r V), e grams of water less by e F / V.
    """
    from analysis.strength import density_from_abv

    spirit = (abv_percent - nosing_abv) / (density_from_abv(abv_percent) / 1000.0)
    return HOLD_ABV * makes_ml / (spirit + nosing_abv)


def _weighing(nosing_abv: float, found: list[Bulk]) -> Iterator[str]:
    yield from paragraph(
        f"1. Weigh in bulk for {in_digits(nosing_abv, 'g')} % vol (loss counted; +/- keeps "
        "it within "
        f"{in_digits(HOLD_ABV, 'g')} % vol), mix, close, label with the codes. Which bottle "
        "it is tells the "
        "pour sheet."
    )
    headings = ["codes", "spirit g", "water g", "+/- g", "makes mL", "glasses"]
    yield from columns(headings, map(_weighed, found), (32, -8, -8, -6, -8, -7))


def _weighed(bulk: Bulk) -> list[str]:
    codes, glasses = " ".join(bulk.codes), str(bulk.glasses)
    if bulk.spirit_g is None:
        return [codes, "?", "?", "?", "no strength", glasses]
    return [
        codes,
        in_digits(bulk.spirit_g, ".1f"),
        in_digits(bulk.water_g, ".1f"),
        "-" if bulk.tolerance_g is None else in_digits(max(bulk.tolerance_g, 0.1), ".1f"),
        f"{bulk.makes_ml:.0f}",
        glasses,
    ]


def _times(db: Session, plan: Blueprint) -> Iterator[str]:
    session = plan.session
    yield "2. When, in minutes before and after the first glass is nosed:"
    yield from paragraph(
        "mixed, closed, at room temperature", bullet=f"   by {REDUCE_BEFORE_MIN} before: "
    )
    yield from paragraph(
        f"poured, {in_digits(session.pour_ml, 'g')} mL a glass, lids on at once and left on "
        "until it is nosed; "
        "trays set out, the key and this page out of the room",
        bullet=f"   by {POUR_BEFORE_MIN} before: ",
    )
    design = plan.design()
    sitting = sitting_of(plan, design)
    minutes, runs = sitting_minutes(db, sitting), sitting.flights
    break_min = number_setting(db, sitting.break_setting)
    each = (minutes - (runs - 1) * break_min) / runs
    in_sets = session.kind.facts.in_sets
    for run in range(runs):
        start = run * (each + break_min)
        after = f", then a break of {break_min:.0f}" if run < runs - 1 else ", the end"
        row = _sets_of_run(run, runs, design.flights) if in_sets else f"flight {run + 1}"
        yield f"   {row}: {start:.0f} to {start + each:.0f}{after}"
    stop = "set" if in_sets else "glass"
    yield from paragraph(f"A pause of {session.pause_s} s after every {stop}; water for everybody.")


def _sets_of_run(run: int, runs: int, sets: int) -> str:
    """Return which sets are nosed between two breaks."""
    first, last = (1 + run * sets // runs, (run + 1) * sets // runs)
    return f"set {first}" if first == last else f"sets {first} to {last}"


def _seats(plan: Blueprint) -> Iterator[str]:
    yield "3. Who sits where (tray labels bear the same numbers):"
    seats = [f"{seat.seat:>3} {seat.person.code}" for seat in plan.session.assessors]
    for start in range(0, len(seats), SEATS_A_LINE):
        yield "".join(f"{text:<20}" for text in seats[start : start + SEATS_A_LINE]).rstrip()
