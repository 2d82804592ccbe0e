"""What holding a session of some kind takes: the shape of an entry in this room's registry."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.session.paper import paragraph
from panel.store.stage_lines import in_order, sheet_names

if TYPE_CHECKING:
    from datetime import datetime
    from typing import TypeAlias

    from sqlalchemy.orm import Session

    from analysis.difference import DifferencePlan
    from analysis.ranking import RankingPlan
    from analysis.stages import StagePlan
    from analysis.traces import TracePlan
    from panel.session.blueprint import Blueprint
    from panel.session.design import Design
    from panel.session.plan_parts import PlanParts, SessionPlan
    from panel.session.summary import PlanSummary
    from panel.session.tray_glass import TrayGlass
    from panel.store.sessions import PanelSession, Serving

    CanTell: TypeAlias = DifferencePlan | RankingPlan | TracePlan | StagePlan


@dataclass(frozen=True)
class SeatLines:
    """How many lines one assessor scores; `n_words` is None where they name none themselves."""

    n_lines: int
    n_words: int | None = None


@dataclass(frozen=True)
class LineWork:
    """Lines that an assessor scores on a glass, and glasses nosed before to find them.

    The settings are those of the seconds that a glass takes beside its lines (None: none), and of
    the minutes between two flights.

    Where glasses stand in sets, `stops` counts the sets, after each of which there is a pause, and
    `flights` those that have a break between them.
    """

    lines: int
    naming_glasses: int = 0
    glass_setting: str | None = None
    break_setting: str = "flight_break_min"
    stops: int | None = None
    flights: int | None = None


def nothing_to_tell(_plan: Blueprint) -> None:
    """Say of a kind that what it can tell is not reckoned before it is poured."""


NOTES_ON_PAPER = 8
"""Empty lines for words of one's own."""


def _scales_on_paper(session: PanelSession) -> Iterator[str]:
    """Say once what is written on the lines: numbers, with the words at both ends of each."""
    scale = session.kind.facts.scale
    if not session.descriptors:
        yield from paragraph(
            "Write what you find in your own words, one a line, and beside each a whole number "
            f"for how strong it is in this glass, {scale.low} to {scale.high}. The same thing in "
            "another glass has the same word."
        )
        return
    yield from paragraph(f"Whole numbers from {scale.low} to {scale.high}:")
    for line in in_order(session.descriptors):
        version = line.descriptor_version
        ends = f"{scale.low} {version.low_words}, {scale.high} {version.high_words}"
        yield from paragraph(f"{version.descriptor.name}: {ends}", bullet="  ")


def line_ballot(session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    """Give every glass of a tray with its lines, to be scored with a pen."""
    names = sheet_names(session)
    yield from _scales_on_paper(session)
    yield ""
    for glass in tray:
        yield f"Glass {glass.code}{' (warm-up)' if glass.warm_up else ''}"
        for name in names or [""] * NOTES_ON_PAPER:
            yield f"  {name.ljust(28, '_' if not name else '.')} _____"
        yield "  faults: ______________________"
        yield ""


@dataclass(frozen=True)
class HeldAs:
    """How sessions of a kind are planned, sealed, watched and printed.

    `line_faults` and `setting_faults` are what speaks against a plan, `warnings` what a lead should
    know before sealing; `most_words` goes into the records. `design` lays the trays. `work` is what
    a tray costs an assessor, `seat_lines` what each has to score, by number of the person.
    `lines_said` stands in the plan, `sheet_said` on printed sheets (None: nothing). `can_tell` is
    what the session can find, reckoned before a glass is poured. `ballot` is what one tray is
    answered on, on paper.

    What follows is None where a kind does as is usual: `fill` names the draws that the lead did not
    name one by one, `lay` says which glass stands in which flight of whose tray, `size_faults` what
    is too much for a day, `keep_plan` writes what the kind keeps beside its session, `at_reveal`
    does what marks of fault lead to and says it. Where `usual_warnings` does not hold, only those
    of the kind are given; where `tells_trays` does not, the plan does not say who gets what.
    """

    line_faults: Callable[[SessionPlan], Iterator[str]]
    setting_faults: Callable[[SessionPlan], Iterator[str]]
    most_words: Callable[[Session, SessionPlan], int | None]
    design: Callable[[Blueprint], Design]
    warnings: Callable[[Blueprint], Iterator[str]]
    work: Callable[[Blueprint, Design], LineWork]
    seat_lines: Callable[[Session, PanelSession], Mapping[int, SeatLines]]
    lines_said: Callable[[PlanSummary], str]
    sheet_said: Callable[[PanelSession], str | None]
    fill: Callable[[Session, SessionPlan, int], SessionPlan] | None = None
    lay: Callable[[Session, SessionPlan, PlanParts, int], tuple[TrayGlass, ...]] | None = None
    size_faults: Callable[[Session, SessionPlan, PlanParts], Iterator[str]] | None = None
    keep_plan: Callable[[Session, PanelSession, SessionPlan, PlanParts], None] | None = None
    at_reveal: Callable[[Session, PanelSession, datetime, str], list[str]] | None = None
    usual_warnings: bool = True
    tells_trays: bool = True
    can_tell: Callable[[Blueprint], CanTell | None] = nothing_to_tell
    ballot: Callable[[PanelSession, Sequence[Serving]], Iterator[str]] = line_ballot
