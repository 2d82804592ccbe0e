"""Sessions in which one descriptor is followed over a minute: one sip a glass, spat at 10 s."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import Manner, Stage
from panel.session.held_as import HeldAs, LineWork, SeatLines
from panel.session.on_lexicon import balanced
from panel.session.paper import paragraph
from panel.session.traces import SPIT_S
from panel.store.house import number_setting
from panel.store.stage_lines import LEAST_ML, MOST_ML

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.traces import TracePlan
    from panel.session.blueprint import Blueprint
    from panel.session.design import Design
    from panel.session.plan_parts import PlanParts, SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import PanelSession, Serving

LEAST_AIR_S = 120
"""Smoke stays in the mouth (common practice, no source)."""


def _fill(_db: Session, plan: SessionPlan, _seed: int) -> SessionPlan:
    """Taste, and small glasses."""
    return replace(plan, manner=Manner.TASTE, pour_ml=plan.pour_ml or MOST_ML)


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    if len(plan.descriptors) != 1:
        yield (
            f"One descriptor is traced, for one sip tells one sensation; the plan names "
            f"{len(plan.descriptors)}. Smoke and peat are two small glasses, each in a session of "
            "its own."
        )


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    if plan.most_words is not None:
        yield "A number of words goes with own words only."
    if plan.reference or plan.warm_up:
        yield "A trace has neither a reference nor a warm-up glass: each would be one more sip."
    if plan.pour_ml is not None and not LEAST_ML <= plan.pour_ml <= MOST_ML:
        yield (
            f"{in_digits(plan.pour_ml, 'g')} mL a glass: a sip to trace has "
            f"{in_digits(LEAST_ML, 'g')} to {in_digits(MOST_ML, 'g')} mL."
        )


def _size_faults(db: Session, plan: SessionPlan, _parts: PlanParts) -> Iterator[str]:
    trays = (plan.glasses_each or len(own) for own in plan.trays.values())
    glasses = max(trays, default=0) + len(plan.duplicates)
    most = int(number_setting(db, "trace_glasses"))
    if glasses > most:
        yield (
            f"{glasses} glasses each: of a trace the house serves {most}, for a mouth follows no "
            "more. Split the draws over several sessions."
        )


def _no_words(_db: Session, _plan: SessionPlan) -> None:
    return None


def _warnings(plan: Blueprint) -> Iterator[str]:
    for line in plan.session.descriptors:
        version = line.descriptor_version
        if version.stage is Stage.NOSE:
            yield (
                f"{version.descriptor.name} is a note of the nose in the lexicon; here it is "
                "followed in the mouth: tell the assessors what is meant."
            )
    yield from air_warning(plan)


def air_warning(plan: Blueprint) -> Iterator[str]:
    """Say where the pause is short after a sip that is followed to its finish."""
    if len(plan.glasses) > 1 and plan.session.pause_s < LEAST_AIR_S:
        yield (
            f"a pause of {plan.session.pause_s} s is short after a sip: what lingers is taken into "
            f"the next glass. Ask for {LEAST_AIR_S} s or more, with water."
        )


def _work(_plan: Blueprint, _design: Design) -> LineWork:
    return LineWork(0, glass_setting="trace_glass_s")


def _seat_lines(_db: Session, session: PanelSession) -> Mapping[int, SeatLines]:
    lines = SeatLines(len(session.kind.facts.prompts_s))
    return {seat.person_id: lines for seat in session.assessors}


def _said(names: Sequence[str], seconds: Sequence[int]) -> str:
    listed = ", ".join(map(str, seconds))
    return (
        f"Traced: {', '.join(names)}, 0 to 9, at {listed} s after the sip; spat at {SPIT_S} s, "
        "nothing is swallowed."
    )


def _lines_said(summary: PlanSummary) -> str:
    return _said(summary.descriptors, summary.kind.facts.prompts_s)


def _sheet_said(session: PanelSession) -> str:
    names = [line.descriptor_version.descriptor.name for line in session.descriptors]
    return _said(names, session.kind.facts.prompts_s)


def _can_tell(plan: Blueprint) -> TracePlan:
    from analysis.traces import plan_traces

    samples = len({glass.draw_id for glass in plan.glasses})
    return plan_traces(len(plan.session.assessors), samples)


def _ballot(session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    """Give every glass of a tray with its seconds; somebody reads them aloud from a watch."""
    seconds = session.kind.facts.prompts_s
    yield from paragraph(_sheet_said(session))
    yield "Somebody with a watch calls the seconds. Sip at 0 s, and write 0 to 9 at each."
    yield ""
    for glass in tray:
        yield f"Glass {glass.code}"
        yield "    " + "  ".join(f"{f'{second} s':>5}" for second in seconds)
        yield "    " + "  ".join("_____" for _ in seconds)
        yield ""


TRACED = HeldAs(
    line_faults=_line_faults,
    setting_faults=_setting_faults,
    most_words=_no_words,
    design=balanced,
    warnings=_warnings,
    work=_work,
    seat_lines=_seat_lines,
    lines_said=_lines_said,
    sheet_said=_sheet_said,
    fill=_fill,
    size_faults=_size_faults,
    can_tell=_can_tell,
    ballot=_ballot,
)
