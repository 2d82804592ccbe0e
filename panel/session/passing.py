"""Passing: is each cask of a parcel sound. Glasses are passed or held, with what is planted among.

Noses are told make, wood and year, never the cask; every tray has blocks and codes of its own, so
that a second nose does not know what the first one held.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import object_session

from analysis.passing.verdict import named
from panel.errors import PlanRefused, UnknownRecord, WrongState
from panel.kinds import Fault
from panel.session.codes import CodesError, draw_codes_together, generator
from panel.session.design import Design
from panel.session.held_as import HeldAs, LineWork, SeatLines
from panel.session.keyed_lines import numbered_faults
from panel.session.liquids import liquids_of
from panel.session.orders import peat_class
from panel.session.paper import paragraph
from panel.session.passing_asked import PassingAsked
from panel.session.passing_blocks import PassGlass, passing_tray
from panel.session.passing_holds import held_at_reveal
from panel.session.passing_mornings import left_of_parcel, next_of_parcel
from panel.session.passing_parcel import again_draws, parcel_draws, sound_of_parcel
from panel.session.passing_sizes import FEW_CASKS, MOST_CASKS, amounts_of, shared, size_faults
from panel.session.tray_glass import TrayGlass
from panel.store.draws import Draw
from panel.store.house import number_setting
from panel.store.passing import Passing
from panel.store.planted import Planted, all_planted, planted_among, standing_holds
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    import random

    from sqlalchemy.orm import Session

    from panel.session.balance import Row
    from panel.session.blueprint import Blueprint
    from panel.session.plan_parts import PlanParts, SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import Serving

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
        more = _of_parcel(db, plan, asked)
        again = again_draws(db, asked.again_of, seed) if asked.again_of else ()
    except (UnknownRecord, WrongState) as error:
        raise PlanRefused(str(error)) from error
    draws = dict.fromkeys((*plan.draws, *more, *again))
    return replace(plan, draws=tuple(draws), duplicates=())


def _of_parcel(db: Session, plan: SessionPlan, asked: PassingAsked) -> tuple[str, ...]:
    if not asked.parcel:
        return ()
    if asked.casks is None:
        return parcel_draws(db, asked.parcel, _on(plan))
    return next_of_parcel(db, asked.parcel, _on(plan), max(1, asked.casks), besides=plan.name)


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
    asked = plan.passing or PassingAsked()
    if asked.casks is not None and asked.again_of and not asked.parcel:
        yield (
            "What a second nose gets is what one nose held and some that were passed: leave out "
            "how many casks (--casks; the field Casks)."
        )
    elif asked.casks is not None and not asked.parcel:
        yield "How many casks are passed is asked of a parcel: name it too."
    if asked.casks is not None and asked.casks < 1:
        yield f"{asked.casks} casks of the parcel: one is passed at the least."


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
    amounts, drawn = amounts_of(db), generator(seed, "blocks")
    trays = shared(plan, generator(seed, "shares"))
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
    kinds = ", ".join(fault.value for fault in families)
    return f"Planted faults may be among the glasses: {kinds}; nose only. {ALLERGIES}"


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
    chosen = _again_of(plan) is not None  # how many a second nose gets is no choice of the lead's
    if len(casks) < FEW_CASKS and not chosen:
        yield f"{len(casks)} casks are few for a morning of passing: {FEW_CASKS} to {MOST_CASKS}."
    if lacking := _without_spikes(plan):
        yield (
            f"no planted fault is kept of the make and peat of {', '.join(lacking)}, so nobody "
            "will know what these noses catch in it: `oakpanel passing spike` keeps one."
        )
    people = [seat.person for seat in plan.session.assessors]
    yield from _one_nose(plan, len(people))
    yield from _left_said(plan)
    without = [person.code for person in people if person.pin_hash is None]
    if without:
        yield (
            f"{', '.join(without)} cannot sign in at a booth before `oakpanel people pin CODE` "
            "has given them a PIN."
        )


def _one_nose(plan: Blueprint, noses: int) -> Iterator[str]:
    """Say of what one nose alone passes that no hold of it is a fault yet."""
    on_trays = Counter(glass for tray in plan.order.shares for glass in _casks_of(plan, tray))
    alone = sum(times == 1 for times in on_trays.values())
    later = f"nosed again by {_and_before(plan)}"
    if noses == 1:
        yield f"one nose: what it holds is {later}"
    elif alone:
        yield (f"{alone} casks stand on one tray only: what is held of them is {later}")


def _and_before(plan: Blueprint) -> str:
    """Say what becomes of a hold by one nose; some of the casks an earlier nose may have held."""
    db, first = object_session(plan.session), _again_of(plan)
    fillings = {row.draw.filling_id for row in plan.planned if row.draw.filling_id is not None}
    if first is None and db is not None and standing_holds(db, fillings):
        first = "an earlier session"
    if first is None:
        return "a second one on a day to come, and no cask is at fault before that."
    return (
        f"another one on a day to come, but where a nose of {first} held the cask already this is "
        "the second nose: two of them hold it then."
    )


def _again_of(plan: Blueprint) -> str | None:
    """Return the session whose holds are nosed by a second nose."""
    db = object_session(plan.session)
    row = db.get(Passing, plan.session.id) if db is not None else None
    if db is None or row is None or row.again_of_id is None:
        return None
    return db.get_one(PanelSession, row.again_of_id).name


def _casks_of(plan: Blueprint, tray: Sequence[Row]) -> set[int]:
    planted = _planted_rows(plan)
    draws = {plan.glasses[glass].draw_id for row in tray for glass in row}
    return draws - set(planted)


def _left_said(plan: Blueprint) -> Iterator[str]:
    """Say what of the parcel no morning takes yet, in the order in which the next one takes it."""
    db = object_session(plan.session)
    row = db.get(Passing, plan.session.id) if db is not None else None
    if db is None or row is None or row.parcel is None or plan.session.held_on is None:
        return
    try:
        left = left_of_parcel(db, row.parcel, plan.session.held_on)
        sound = sound_of_parcel(db, row.parcel)
    except UnknownRecord:  # its samples were destroyed since
        return
    if left:
        ends = left[0] if len(left) == 1 else f"{left[0]} to {left[-1]}"
        yield (
            f"of the parcel {row.parcel} {len(left)} more wait for another morning, {ends}: the "
            f"next plan with a number of casks (--casks {MOST_CASKS}; the field Casks) takes them "
            "in this order."
        )
    if sound:
        yield (
            f"of the parcel {row.parcel} {named(sound)} {'is' if len(sound) == 1 else 'are'} kept "
            "as known sound and not among its casks to pass."
        )


def _planted_rows(plan: Blueprint) -> Mapping[int, Planted]:
    db = object_session(plan.session)
    return planted_among(db, [row.draw_id for row in plan.planned]) if db is not None else {}


def _ballot(session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    """Give every glass of a tray, block by block, to be ticked with a wet hand."""
    yield from paragraph(f"Faults: {numbered_faults()}.")
    db = object_session(session)
    row = None if db is None else db.get(Passing, session.id)
    air = f", then {row.air_s / 60:g} minutes of air" if row is not None and row.air_s else ""
    for block in sorted({glass.flight for glass in tray}):
        yield ""
        yield f"Block {block}{air}"
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
    size_faults=size_faults,
    keep_plan=_keep_plan,
    at_reveal=held_at_reveal,
    ballot=_ballot,
    usual_warnings=False,
    tells_trays=False,
)
