"""A planned session in figures and words: what it takes from people, casks and the evening."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from shlex import quote
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.kinds import USUAL_KIND, GlassKind, SessionKind
from panel.session.blueprint import SPECIAL, Blueprint, blueprint_of
from panel.session.care import Sitting, sitting_minutes, tray_dose
from panel.session.design import Design
from panel.session.design_figures import DesignFigures
from panel.session.dose import CAUTIONS
from panel.session.kinds import HELD
from panel.session.plan_parts import AS_DRAFTED, AUTO
from panel.session.plan_warnings import plan_warnings
from panel.session.pours import PourNeed, UntoldNeed, pour_needs, tell_a_duplicate, untold
from panel.store.finding import find_session
from panel.store.stage_lines import in_order, staged_rows

if TYPE_CHECKING:
    from analysis.difference import DifferencePlan
    from analysis.ranking import RankingPlan
    from analysis.stages import StagePlan
    from analysis.traces import TracePlan
    from panel.session.plan_parts import SessionPlan

TELLS_TWICE = "how much of each to draw would tell which is poured twice"


@dataclass(frozen=True)
class TrayLine:
    """What stands before one assessor, where trays differ: draws to tell apart, each named once.

    `glasses` counts all of them: duplicates, references and the warm-up glass too.
    """

    assessor: str
    glasses: int
    flights: int
    draws: tuple[str, ...]

    json_keys = ("assessor", "glasses", "flights", "draws")


@dataclass(frozen=True)
class PlanSummary:
    """One session's plan. Doses are grams of ethanol of one assessor's whole tray, the largest."""

    session: str
    status: str
    held_on: date | None
    manner: str
    rehearsal: bool
    assessors: tuple[str, ...]
    descriptors: tuple[str, ...]
    draws: tuple[PourNeed, ...]
    glasses_an_assessor: int
    flights: int
    warm_up: bool
    pour_ml: float
    nosing_abv_percent: float
    pause_s: int
    minutes: float
    swallowed_grams: float
    spat_grams: float
    order_balance: tuple[str, ...]
    warnings: tuple[str, ...]
    kind: SessionKind = USUAL_KIND
    most_words: int | None = None
    draws_reason: str | None = None
    """Why it is not said how much each draw gives."""
    stages: tuple[str, ...] = ()
    """Descriptors that are scored at each stage."""
    trays: tuple[TrayLine, ...] = ()
    """Who gets which draws; empty where everybody gets all."""
    design: DesignFigures | None = None
    """How even the trays are."""
    can_tell: DifferencePlan | RankingPlan | TracePlan | StagePlan | None = None
    """What the session can find, where that is reckoned before a glass is poured."""
    replaces: str | None = None
    """The draft of the same name that gives way to it, told as it is planned and never later."""

    json_keys = (
        *("session", "status", "held_on", "manner", "rehearsal", "assessors", "descriptors"),
        *(
            "own_words",
            "most_words",
            ("told_draws", "draws"),
            "draws_reason",
            "glasses_an_assessor",
            "flights",
        ),
        *("warm_up", "pour_ml", "nosing_abv_percent", "pause_s", "minutes", "ethanol_an_assessor"),
        *("order_balance", "warnings", "cautions", "trays", "design", "can_tell"),
        *("stages",),
    )
    cautions = CAUTIONS

    @property
    def own_words(self) -> bool:
        """Whether each assessor scores lines of their own."""
        return self.kind.facts.own_lines

    @property
    def ethanol_an_assessor(self) -> dict[str, float]:
        """Grams on one tray: if all were swallowed, if spat, and as it is planned."""
        return {
            "if_swallowed_grams": self.swallowed_grams,
            "if_spat_grams": self.spat_grams,
            "as_planned_grams": 0.0 if self.manner == "nose" else self.spat_grams,
        }

    def without_pours(self) -> PlanSummary:
        """Return the plan without what tells which draw is poured twice, if one is."""
        return replace(self, draws_reason=TELLS_TWICE) if tell_a_duplicate(self.draws) else self

    def as_told_for(self, plan: SessionPlan) -> PlanSummary:
        """Return it as whoever asked for that plan may hear it: not what the secret bits chose."""
        chosen = {AUTO, AS_DRAFTED} & set(plan.duplicates)
        return self.without_pours() if chosen or plan.kind.facts.passes else self

    @property
    def told_draws(self) -> Sequence[PourNeed | UntoldNeed]:
        """The draws, without their amounts where these are not told."""
        return [untold(need) for need in self.draws] if self.draws_reason else self.draws

    def lines(self) -> list[str]:
        """Return the plan as a person reads it."""
        return [
            self._heading(),
            *([] if self.replaces is None else [self.replaces]),
            *(f"Look: {warning}" for warning in self.warnings),
            self._people(),
            self._glasses(),
            *map(tray_words, self.trays),
            HELD[self.kind].lines_said(self),
            *(self.can_tell.said() if self.can_tell is not None else ()),
            f"It takes each assessor about {self._minutes()}, with a pause of "
            f"{self.pause_s} s after every {self._stop}.",
            self._dose(),
            *self.order_balance,
            *map(draw_line, self.told_draws),
            *([self._pours_elsewhere()] if self.draws_reason else []),
            *CAUTIONS,
        ]

    def _minutes(self) -> str:
        minutes = max(1, round(self.minutes))
        return "a minute" if minutes == 1 else f"{minutes} minutes"

    def _heading(self) -> str:
        day = f", {self.held_on}" if self.held_on else ""
        rehearsal = ", a rehearsal" if self.rehearsal else ""
        return f"Session {self.session}{day}: {self.status}{rehearsal}."

    def _people(self) -> str:
        return f"Assessors ({len(self.assessors)}): {', '.join(self.assessors)}."

    @property
    def _stop(self) -> str:
        return "set" if self.kind.facts.in_sets else "glass"

    def _glasses(self) -> str:
        row = "set" if self.kind.facts.in_sets else "flight"
        flights = f"one {row}" if self.flights == 1 else f"{self.flights} {row}s"
        warm_up = ", a declared warm-up glass first" if self.warm_up else ""
        fewest = min((tray.glasses for tray in self.trays), default=self.glasses_an_assessor)
        range_ = f"{fewest} to " if fewest < self.glasses_an_assessor else ""
        return (
            f"{range_}{self.glasses_an_assessor} glasses each in {flights}{warm_up}; "
            f"{in_digits(self.pour_ml, 'g')} mL at {in_digits(self.nosing_abv_percent, 'g')} % vol."
        )

    def _pours_elsewhere(self) -> str:
        return (
            f"{TELLS_TWICE.capitalize()}: `oakpanel session show {quote(self.session)} --pours`, "
            "best by somebody who does not assess."
        )

    def _dose(self) -> str:
        use = "Nosed only, so no ethanol is counted" if self.manner == "nose" else "Tasted"
        return (
            f"{use}; one tray holds {in_digits(self.swallowed_grams, '.1f')} g if all were "
            "swallowed, counted "
            f"as {in_digits(self.spat_grams, '.1f')} g if spat."
        )


def tray_words(tray: TrayLine) -> str:
    """Return who gets which draws."""
    return f"{tray.assessor} gets {len(tray.draws)}: {', '.join(tray.draws)}."


def draw_line(need: PourNeed | UntoldNeed) -> str:
    """Return what to draw and to add for one draw."""
    casks = f" from {' and '.join(need.casks)}" if need.casks else ""
    if isinstance(need, UntoldNeed) or need.draw_ml is None or need.water_ml is None:
        return f"{need.draw}{casks}: {need.strength}."
    return (
        f"{need.draw}{casks}: {need.glasses} glasses; draw {need.draw_ml:.0f} mL, "
        f"{need.strength}; {need.spirit_ml:.0f} mL with {need.water_ml:.0f} mL of water"
        f"{_kept_back(need.draw_ml - (need.spirit_ml or 0.0))}."
    )


def _kept_back(ml: float) -> str:
    """What of a draw is neither poured nor reduced: the sample that is kept."""
    return f", {ml:.0f} mL kept back" if ml >= _LEAST_SAID_ML else ""


_LEAST_SAID_ML = 0.5


def summarise(db: Session, name: str, *, by: str | None = None) -> PlanSummary:
    """Return a planned session's summary; `by` is who looks at it (a lead who assesses is told).

    Raises
    ------
    UnknownRecord
        There is no such session, or it was loaded from a file and has no plan.
    """
    session = find_session(db, name)
    plan = blueprint_of(db, session)
    needs = tuple(pour_needs(db, plan))
    design = plan.design()
    sizes = design.sizes()
    dose = tray_dose(db, max(sizes), session.pour_ml, session.nosing_abv)
    return PlanSummary(
        session=session.name,
        status=session.status.value,
        held_on=session.held_on,
        manner=session.manner.value,
        rehearsal=session.rehearsal,
        assessors=tuple(seat.person.code for seat in session.assessors),
        descriptors=tuple(_descriptor_names(plan)),
        stages=tuple(_staged_names(plan)),
        draws=needs,
        glasses_an_assessor=max(sizes),
        flights=design.flights,
        warm_up=any(glass.kind is GlassKind.WARM_UP for glass in plan.glasses),
        pour_ml=session.pour_ml,
        nosing_abv_percent=session.nosing_abv,
        pause_s=session.pause_s,
        minutes=sitting_minutes(db, sitting_of(plan, design)),
        swallowed_grams=dose.swallowed_grams,
        spat_grams=dose.spat_grams,
        order_balance=design.words,
        warnings=tuple(plan_warnings(db, plan, needs, by)),
        kind=session.kind,
        most_words=session.most_words,
        trays=_trays(plan, design),
        design=design.figures,
        can_tell=HELD[session.kind].can_tell(plan),
    )


def _trays(plan: Blueprint, design: Design) -> tuple[TrayLine, ...]:
    """Return who gets what, where not everybody gets all."""
    if not HELD[plan.session.kind].tells_trays:
        return ()
    lines = tuple(_tray_lines(plan, design))
    return lines if len({line.draws for line in lines}) > 1 else ()


def _tray_lines(plan: Blueprint, design: Design) -> Iterator[TrayLine]:
    """Give what each gets, without references and without telling what stands there twice."""
    for seat, mine, size in zip(plan.session.assessors, design.trays, design.sizes(), strict=True):
        own = {plan.glasses[glass].draw_id for row in mine for glass in row}
        named = [row for row in plan.planned if row.kind not in SPECIAL and row.draw_id in own]
        yield TrayLine(
            assessor=seat.person.code,
            glasses=size,
            flights=len(mine),
            draws=tuple(row.draw.label for row in sorted(named, key=lambda row: row.place)),
        )


def sitting_of(plan: Blueprint, design: Design) -> Sitting:
    """Return what one tray is to an assessor: glasses, lines, pauses."""
    work = HELD[plan.session.kind].work(plan, design)
    return Sitting(
        glasses=max(design.sizes()) if work.stops is None else work.stops,
        flights=design.flights if work.flights is None else work.flights,
        lines=work.lines,
        pause_s=plan.session.pause_s,
        naming_glasses=work.naming_glasses,
        glass_setting=work.glass_setting,
        break_setting=work.break_setting,
    )


def _descriptor_names(plan: Blueprint) -> list[str]:
    lines = in_order(plan.session.descriptors)
    return [line.descriptor_version.descriptor.name for line in lines]


def _staged_names(plan: Blueprint) -> list[str]:
    staged = staged_rows(plan.session.descriptors)
    return [line.descriptor_version.descriptor.name for line in staged]
