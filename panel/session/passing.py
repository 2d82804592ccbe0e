"""Passing: is each cask of a parcel sound. Glasses are passed or held, with what is planted among.

Noses are told make, wood and year, never the cask; every tray has blocks and codes of its own, so
that a second nose does not know what the first one held.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import object_session

from panel.errors import PlanRefused, UnknownRecord, WrongState
from panel.kinds import DrawKind, Fault
from panel.session.codes import CodesError, draw_codes_together, generator
from panel.session.design import Design
from panel.session.held_as import HeldAs, LineWork, SeatLines
from panel.session.liquids import liquids_of
from panel.session.orders import peat_class
from panel.session.paper import paragraph
from panel.session.passing_asked import PassingAsked
from panel.session.passing_blocks import Amounts, PassGlass, n_repeats, passing_tray
from panel.session.passing_holds import held_at_reveal
from panel.session.passing_parcel import FEWEST_UNAWARE, again_draws, parcel_draws
from panel.session.tray_glass import TrayGlass
from panel.store.draws import Draw
from panel.store.house import number_setting
from panel.store.passing import Passing
from panel.store.people import Person
from panel.store.planted import Planted, all_planted, planted_among, standing_holds
from panel.store.sessions import PanelSession, SessionAssessor

if TYPE_CHECKING:
    import random

    from sqlalchemy.orm import Session

    from panel.session.balance import Row
    from panel.session.blueprint import Blueprint
    from panel.session.plan_parts import PlanParts, SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import Serving

MOST_CASKS = 60
FEW_CASKS = 20
ALLERGIES = "Whoever should not nose one of these does not sit here: nobody is asked why."


def _fill(db: Session, plan: SessionPlan, seed: int) -> SessionPlan:
    """Name the draws of a parcel, or what a second nose has to nose, beside those that are named.

    Raises
    ------
    PlanRefused
        There is no such parcel or session, or nothing of it to nose.
    """
    asked = plan.passing or PassingAsked()
    try:
        more = parcel_draws(db, asked.parcel, _on(plan)) if asked.parcel else ()
        again = again_draws(db, asked.again_of, seed) if asked.again_of else ()
    except (UnknownRecord, WrongState) as error:
        raise PlanRefused(str(error)) from error
    named = dict.fromkeys((*plan.draws, *more, *again))
    return replace(plan, draws=tuple(named), duplicates=())


def _on(plan: SessionPlan) -> date:
    if plan.held_on is None:
        raise PlanRefused(f"Session {plan.name!r} has no date yet.")
    return plan.held_on


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    if plan.descriptors:
        yield "In passing no descriptor is scored: leave them out, or plan two sessions."


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    if plan.most_words is not None:
        yield "A number of words goes with own words only."
    if plan.reference or plan.warm_up:
        yield "In passing nothing is poured that the nose is told of: no reference, no warm-up."
    if plan.glasses_each is not None:
        yield "In passing the trays are laid by parcel: leave out how many glasses each gets."


def _size_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> Iterator[str]:
    largest = max(map(len, plan.trays.values()), default=0)
    amounts = amounts_of(db)
    least = largest + n_repeats(largest, amounts.repeat_share)
    blocks = -(-least // amounts.block)
    if largest > MOST_CASKS:
        yield (
            f"{largest} casks on one tray; a nose passes {MOST_CASKS} a morning at the most. Name "
            f"those of this morning (--draw, {MOST_CASKS} or fewer) in the place of the parcel, "
            "and plan the rest for another."
        )
    if blocks > amounts.most_blocks:
        yield (
            f"{least} glasses take {blocks} blocks of {amounts.block}; the house serves "
            f"{amounts.most_blocks} a day. Split the parcel."
        )
    planted = planted_among(db, [draw.id for draw in parts.draws])
    for draw in parts.draws:
        if draw.id in planted:
            yield f"{draw.label!r} is kept to be planted: it cannot be passed in the same breath."
        elif draw.kind is not DrawKind.CASK:
            yield f"{draw.label!r} comes from no cask: casks are passed."
    again_of = plan.passing.again_of if plan.passing else None
    if again_of:
        yield from _again_faults(db, plan, again_of)
    if again_of or _some_held(db, parts):
        yield from _aware_faults(plan)


def _some_held(db: Session, parts: PlanParts) -> bool:
    fillings = {draw.filling_id for draw in parts.draws if draw.filling_id is not None}
    return bool(standing_holds(db, fillings))


def _aware_faults(plan: SessionPlan) -> Iterator[str]:
    """A nose that gets few casks knows that some were held; unaware it repeats, or clears, them."""
    least = min(map(len, plan.trays.values()), default=0)
    if least < FEWEST_UNAWARE:
        yield (
            f"{least} casks on a tray, some of them held: whoever noses so few knows that, and a "
            f"second nose must not. Add casks that nobody held (--draw) until there are "
            f"{FEWEST_UNAWARE}, or wait for more holds."
        )


def _again_faults(db: Session, plan: SessionPlan, first: str) -> Iterator[str]:
    """Nobody is their own second nose."""
    seats = (
        select(Person.code)
        .join(SessionAssessor, SessionAssessor.person_id == Person.id)
        .join(PanelSession, PanelSession.id == SessionAssessor.session_id)
        .where(PanelSession.name == first)
    )
    for code in sorted(set(db.scalars(seats)) & set(plan.assessors)):
        yield f"{code} nosed in {first}: a second nose is another person."


def amounts_of(db: Session) -> Amounts:
    """Return the house's settings of passing."""
    return Amounts(
        block=int(number_setting(db, "passing_block_glasses")),
        most_blocks=int(number_setting(db, "passing_blocks_a_day")),
        spikes_a_block=number_setting(db, "passing_spikes_a_block"),
        sound_a_block=number_setting(db, "passing_sound_a_block"),
        repeat_share=number_setting(db, "passing_repeat_share"),
    )


def _usable(db: Session) -> list[Planted]:
    """Return what may be planted still: a spike that was destroyed is not poured again."""
    return [row for row in all_planted(db) if row.draw.fate is None]


def _make(draw: Draw) -> str:
    return draw.filling.make.name if draw.filling and draw.filling.make else ""


def _stock(db: Session, plan: SessionPlan, makes: Iterable[str]) -> list[tuple[Planted, PassGlass]]:
    """Return what may be planted among casks of some makes, each with its glass."""
    wanted = set(makes)
    rows = [row for row in _usable(db) if _make(row.base or row.draw) in wanted]
    liquids = liquids_of(db, [row.draw for row in rows], _on(plan))
    return [
        (row, PassGlass(row.draw_id, _make(row.base or row.draw), peat, True, row.fault))
        for row in rows
        for peat in [peat_class(liquids[row.draw_id].phenol_ppm or 0.0)]
    ]


def _lay(db: Session, plan: SessionPlan, parts: PlanParts, seed: int) -> tuple[TrayGlass, ...]:
    """Lay every tray by itself; what is planted on one of them joins the draws of the plan."""
    casks = {
        draw.label: PassGlass(
            draw.id, _make(draw), peat_class(parts.liquids[draw.id].phenol_ppm or 0.0)
        )
        for draw in parts.draws
    }
    stock = _stock(db, plan, (glass.make for glass in casks.values()))
    draws = {draw.id: draw for draw in parts.draws} | {row.draw_id: row.draw for row, _ in stock}
    amounts, drawn, trays = amounts_of(db), generator(seed, "blocks"), plan.trays
    laid = tuple(
        TrayGlass(seat, draws[placed.draw_id], placed.replicate, placed.block)
        for seat, person in enumerate(parts.people, start=1)
        for placed in passing_tray(
            [casks[label] for label in trays[person.code]],
            [glass for _, glass in stock],
            amounts,
            drawn,
        )
    )
    known = {draw.id for draw in parts.draws}
    more = {glass.draw.id: glass.draw for glass in laid if glass.draw.id not in known}
    parts.draws += [more[draw_id] for draw_id in sorted(more)]
    return laid


def _keep_plan(db: Session, session: PanelSession, plan: SessionPlan, parts: PlanParts) -> None:
    """Write what the noses are told. No clock between glasses; air between blocks."""
    asked = plan.passing or PassingAsked()
    told = (asked.told or "").strip() or told_of(parts.draws)
    families = _families(row for row, _ in _stock(db, plan, map(_make, parts.draws)))
    again = None
    if asked.again_of is not None:
        again = db.scalar(select(PanelSession.id).where(PanelSession.name == asked.again_of))
    db.add(
        Passing(
            session_id=session.id,
            told=f"{told}. {_planted_said(families)}",
            parcel=asked.parcel,
            air_s=round(60 * number_setting(db, "passing_air_min")),
            again_of_id=again,
        )
    )
    session.pause_s = plan.pause_s or 0
    session.codes_per_assessor = True


def told_of(draws: Iterable[Draw]) -> str:
    """Return make, wood and year of some draws as their noses are told: never which cask."""
    fillings = [draw.filling for draw in draws if draw.filling is not None]
    makes = dict.fromkeys(filling.make.name if filling.make else "?" for filling in fillings)
    woods = dict.fromkeys(filling.cask.wood for filling in fillings)
    years = sorted({filling.filled_on.year for filling in fillings})
    span = f"{years[0]}" if len(years) == 1 else f"{years[0]} to {years[-1]}" if years else "?"
    return f"{', '.join(makes)}; {', '.join(woods)}; filled {span}"


def _families(rows: Iterable[Planted]) -> list[Fault]:
    found = {row.fault for row in rows if row.fault is not None}
    return [fault for fault in Fault if fault in found]


def _planted_said(families: Sequence[Fault]) -> str:
    if not families:
        return "Nothing is planted among the glasses"
    named = ", ".join(fault.value for fault in families)
    return f"Planted faults may be among the glasses: {named}; nose only. {ALLERGIES}"


# ---------------------------------------------------------------------- trays


def passing_design(plan: Blueprint) -> Design:
    """Return the trays as they were laid, each block by rising peat, and codes block by block.

    Raises
    ------
    PlanRefused
        No codes were found that can be told apart within a block.
    """
    ranks = plan.order.ranks(plan.glasses)
    drawn = generator(plan.seed, "orders")
    trays = tuple(tuple(_in_order(row, ranks, drawn) for row in mine) for mine in plan.order.shares)
    try:
        codes = _codes(trays, len(plan.glasses), generator(plan.seed, "codes"), plan.order.avoid)
    except CodesError as error:
        raise PlanRefused(str(error)) from error
    said = (
        "Unpeated casks come first; in every block chance draws how many glasses are planted, and "
        "every nose has an order and codes of its own.",
    )
    return Design(plan.glasses, trays, codes, None, said, None)


def _in_order(row: Row, ranks: Sequence[int], drawn: random.Random) -> Row:
    chance = {glass: drawn.random() for glass in row}
    return tuple(sorted(row, key=lambda glass: (ranks[glass], chance[glass])))


def _codes(
    trays: Sequence[Sequence[Row]], glasses: int, drawn: random.Random, avoid: frozenset[str]
) -> tuple[tuple[str, ...], ...]:
    """Give each tray codes that differ everywhere and keep their distance within a block."""
    used, found = set(avoid), []
    for tray in trays:
        own = [glass for row in tray for glass in row]
        place = {glass: number for number, glass in enumerate(own)}
        blocks = [[place[glass] for glass in row] for row in tray]
        try:
            codes = draw_codes_together(len(own), blocks, drawn, used)
        except CodesError:  # too few are left that no tray has yet
            used = set(avoid)
            codes = draw_codes_together(len(own), blocks, drawn, used)
        used |= set(codes)
        found.append(tuple(codes[place[g]] if g in place else "" for g in range(glasses)))
    return tuple(found)


# ---------------------------------------------------------------------- what is said


def _without_spikes(plan: Blueprint) -> list[str]:
    """Return the makes, with a peat of their own, of which no planted fault could be poured.

    How many are planted chance draws, and whoever plans does not hear it.
    """
    db, planted = object_session(plan.session), _planted_rows(plan)
    if db is None:
        return []
    spikes = [row for row in _usable(db) if row.fault is not None]
    liquids = liquids_of(db, [row.draw for row in spikes], plan.session.held_on or date.min)
    have = {
        (_make(row.base or row.draw), peat_class(liquids[row.draw_id].phenol_ppm or 0.0))
        for row in spikes
    }
    casks = {
        (_make(row.draw), peat_class(plan.liquids[row.draw_id].phenol_ppm or 0.0))
        for row in plan.planned
        if row.draw_id not in planted
    }
    return sorted({make or "casks without a make" for make, _ in casks - have})


def _warnings(plan: Blueprint) -> Iterator[str]:
    casks = {glass.draw_id for glass in plan.glasses} - set(_planted_rows(plan))
    if len(casks) < FEW_CASKS:
        yield f"{len(casks)} casks are few for a morning of passing: {FEW_CASKS} to {MOST_CASKS}."
    if lacking := _without_spikes(plan):
        yield (
            f"no planted fault is kept of the make and peat of {', '.join(lacking)}, so nobody "
            "will know what these noses catch in it: `oakpanel passing spike` keeps one."
        )
    people = [seat.person for seat in plan.session.assessors]
    if len(people) == 1:
        yield (
            "one nose: what it holds is nosed again by a second one on a day to come, and no cask "
            "is at fault before that."
        )
    without = [person.code for person in people if person.pin_hash is None]
    if without:
        yield (
            f"{', '.join(without)} cannot sign in at a booth before `oakpanel people pin CODE` "
            "has given them a PIN."
        )


def _planted_rows(plan: Blueprint) -> Mapping[int, Planted]:
    db = object_session(plan.session)
    return planted_among(db, [row.draw_id for row in plan.planned]) if db is not None else {}


def _ballot(_session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    """Give every glass of a tray, block by block, to be ticked with a wet hand."""
    numbered = (f"{number} {fault.value}" for number, fault in enumerate(Fault, start=1))
    yield from paragraph(f"Faults: {', '.join(numbered)}.")
    for block in sorted({glass.flight for glass in tray}):
        yield ""
        yield f"Block {block}, then ten minutes of air"
        for glass in (each for each in tray if each.flight == block):
            yield f"  {glass.code}    [ ] pass    [ ] hold, fault number ____ ____"
    yield ""


def _no_words(_db: Session, _plan: SessionPlan) -> None:
    return None


def _work(_plan: Blueprint, _design: Design) -> LineWork:
    return LineWork(0, glass_setting="passing_glass_s", break_setting="passing_air_min")


def _seat_lines(_db: Session, session: PanelSession) -> Mapping[int, SeatLines]:
    return {seat.person_id: SeatLines(0) for seat in session.assessors}


def _lines_said(summary: PlanSummary) -> str:
    return (
        "Each glass is passed, or held with its fault named; one repeat in ten, and planted "
        "glasses that nobody counts on."
    )


def _sheet_said(session: PanelSession) -> str:
    return (
        "Passing: a glass is passed or held, with the fault named. Spiked glasses are nosed only, "
        "never tasted, and destroyed after the session; that goes into the register."
    )


PASSED_OR_HELD = HeldAs(
    line_faults=_line_faults,
    setting_faults=_setting_faults,
    most_words=_no_words,
    design=passing_design,
    warnings=_warnings,
    work=_work,
    seat_lines=_seat_lines,
    lines_said=_lines_said,
    sheet_said=_sheet_said,
    fill=_fill,
    lay=_lay,
    size_faults=_size_faults,
    keep_plan=_keep_plan,
    at_reveal=held_at_reveal,
    ballot=_ballot,
    usual_warnings=False,
    tells_trays=False,
)
