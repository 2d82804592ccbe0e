"""Planning a session: the names checked all at once, the draft written, the plan in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import PlanRefused, WrongState
from panel.figures import count
from panel.kinds import DrawKind, GlassKind, PeatOrder, SessionStatus
from panel.session.checks import plan_faults
from panel.session.codes import draw_seed, generator
from panel.session.drafts import remove_draft
from panel.session.kinds import HELD
from panel.session.laying import laid_trays
from panel.session.plan_parts import (
    AUTO,
    PlanParts,
    SessionPlan,
    current_versions,
    find_parts,
    lexicon_names,
    settled,
)
from panel.session.sizes import is_unpeated, n_duplicates
from panel.session.smoke import with_peat_order
from panel.session.summary import PlanSummary, summarise
from panel.session.tray_glass import TrayGlass
from panel.store.draws import Draw
from panel.store.house import number_setting, today_at_site
from panel.store.key import (
    KeySecret,
    PlannedDraw,
    PlannedFinding,
    PlannedServing,
    PlannedWay,
)
from panel.store.log import append_entry
from panel.store.sessions import PanelSession, SessionAssessor, SessionDescriptor
from panel.store.stage_lines import STAGED_FROM

__all__ = [
    "AUTO",
    "PlanSummary",
    "SecretBits",
    "SessionPlan",
    "current_versions",
    "draw_bits",
    "lexicon_names",
    "plan_session",
    "summarise",
]

KINDS = {DrawKind.TRIAL: GlassKind.TRIAL, DrawKind.MARKET: GlassKind.MARKET}


@dataclass(frozen=True)
class SecretBits:
    """The bits that codes and orders come from, where they are drawn before a plan is kept."""

    value: int = field(repr=False)


def draw_bits() -> SecretBits:
    """Draw them: what is tried with them and kept with them is the same plan."""
    return SecretBits(draw_seed())


def plan_session(
    db: Session, plan: SessionPlan, *, now: datetime, by: str, bits: SecretBits | None = None
) -> PlanSummary:
    """Write a draft; a draft of the same name gives way to it.

    `bits` are those that the plan was tried with; without them they are drawn here. The seed of a
    rehearsal takes their place.

    Raises
    ------
    PlanRefused
        The plan cannot be served; every reason stands in the message, one a line.
    WrongState
        The name belongs to a session that is sealed already.
    """
    plan = replace(plan, held_on=plan.held_on or today_at_site(db, now))
    seed = (bits or draw_bits()).value if plan.seed is None else plan.seed
    if fill := HELD[plan.kind].fill:
        plan = fill(db, plan, seed)
    plan = settled(plan)
    earlier = db.scalar(select(PanelSession).where(PanelSession.name == plan.name))
    if earlier is not None and earlier.status is not SessionStatus.DRAFT:
        raise WrongState(
            f"Session {plan.name!r} is {earlier.status.value}: its plan can no longer change. "
            "Plan another one under a name of its own."
        )
    parts = find_parts(db, plan)
    plan = with_peat_order(db, plan, parts)
    if faults := plan_faults(db, plan, parts):
        raise PlanRefused(_refusal(plan.name, faults))
    replaces = None
    if earlier is not None:
        replaces = _replaced_words(earlier)
        remove_draft(db, earlier)
    session = _write_draft(db, plan, parts, seed)
    summary = replace(summarise(db, plan.name, by=by), replaces=replaces)
    append_entry(
        db,
        at=now,
        by=by,
        action="session planned",
        details={
            "session": plan.name,
            "replaces_draft": earlier is not None,
            "rehearsal": session.rehearsal,
        },
    )
    return summary


def _replaced_words(draft: PanelSession) -> str:
    """Say that a draft gives way; true while the new plan is tried, and once it is kept."""
    day = f" of {draft.held_on}" if draft.held_on else ""
    people = count(len(draft.assessors), "assessor")
    return f"The draft {draft.name}{day}, for {people}, is replaced by this plan."


def _refusal(name: str, faults: list[str]) -> str:
    speaks = "one thing speaks" if len(faults) == 1 else f"{len(faults)} things speak"
    return "\n".join(
        [
            f"Session {name!r} was not planned: {speaks} against it.",
            *(f"  - {fault}" for fault in faults),
        ]
    )


def _write_draft(db: Session, plan: SessionPlan, parts: PlanParts, seed: int) -> PanelSession:
    session = _session_row(db, plan)
    session.pause_s = plan.pause_s if plan.pause_s is not None else _pause_s(db, parts)
    db.add(session)
    db.flush()
    db.add(KeySecret(session_id=session.id, seed_hex=f"{seed:032x}", nonce_hex=None))
    db.add_all(
        SessionAssessor(session_id=session.id, person_id=person.id, seat=seat)
        for seat, person in enumerate(parts.people, start=1)
    )
    if keep_plan := HELD[plan.kind].keep_plan:
        keep_plan(db, session, plan, parts)
    db.add_all(_sheet(session, plan, parts))
    if way := _way(session.id, plan):
        db.add(way)
    if finding := _finding(session.id, plan, parts):
        db.add(finding)
    if not (plan.assigned or plan.glasses_each):
        parts = _with_duplicates(plan, parts, seed)
    trays = (HELD[plan.kind].lay or laid_trays)(db, plan, parts, seed)
    of_each = plan.replicates * plan.kind.facts.of_each
    usual = {draw: of_each + (draw in parts.duplicates) for draw in parts.draws}
    in_turn = plan.kind.facts.marks_reference
    glasses = _most_of_each(trays) or usual
    db.add_all(_planned(session.id, parts, glasses, in_turn=in_turn))
    db.add_all(_on_trays(session.id, trays))
    db.flush()
    db.expire(session)
    return session


def _sheet(
    session: PanelSession, plan: SessionPlan, parts: PlanParts
) -> Iterator[SessionDescriptor]:
    scale = session.kind.facts.scale
    for place, version in enumerate(parts.versions, start=1):
        staged = version.descriptor.name in plan.stages
        yield SessionDescriptor(
            session_id=session.id,
            descriptor_version_id=version.id,
            place=place + (STAGED_FROM if staged else 0),
            scale_low=scale.low,
            scale_high=scale.high,
        )


def _session_row(db: Session, plan: SessionPlan) -> PanelSession:
    return PanelSession(
        name=plan.name,
        held_on=plan.held_on,
        site=plan.site,
        status=SessionStatus.DRAFT,
        manner=plan.manner,
        rehearsal=plan.seed is not None,
        may_go_back=plan.may_go_back,
        codes_per_assessor=plan.codes_per_assessor,
        pour_ml=plan.pour_ml or number_setting(db, "pour_ml"),
        nosing_abv=plan.nosing_abv or number_setting(db, "nosing_abv"),
        kind=plan.kind,
        most_words=HELD[plan.kind].most_words(db, plan),
    )


def _pause_s(db: Session, parts: PlanParts) -> int:
    """Return one pause for the evening, by its smokiest glass: one by glass would tell."""
    smokiest = max(liquid.phenol_ppm or 0.0 for liquid in parts.liquids.values())
    smoky = smokiest >= number_setting(db, "peated_from_ppm")
    return int(number_setting(db, "pause_peated_s" if smoky else "pause_s"))


def _with_duplicates(plan: SessionPlan, parts: PlanParts, seed: int) -> PlanParts:
    """Let the secret bits choose the duplicates that the lead left to them."""
    chosen, drawn = list(parts.duplicates), generator(seed, "duplicate")
    while len(chosen) < n_duplicates(plan):
        left = [draw for draw in parts.draws if draw not in chosen]
        left = [draw for draw in left if not plan.after_peat or is_unpeated(parts, draw)] or left
        chosen.append(left[int(drawn.random() * len(left))])
    return replace(parts, duplicates=chosen)


def _way(session_id: int, plan: SessionPlan) -> PlannedWay | None:
    """Return how the trays are to be laid, where that is not as usual."""
    peat = plan.peat or (PeatOrder.BALANCED if plan.kind.facts.in_sets else PeatOrder.RISING)
    way = (peat, plan.after_peat, plan.glasses_each, plan.search)
    if way == (PeatOrder.RISING, False, None, 1):
        return None
    return PlannedWay(
        session_id=session_id,
        peat=peat,
        after_peat=plan.after_peat,
        glasses_each=plan.glasses_each,
        search=plan.search,
    )


def _finding(session_id: int, plan: SessionPlan, parts: PlanParts) -> PlannedFinding | None:
    """Return what was asked before the first glass, where anything was."""
    stronger = next((draw.id for draw in parts.draws if draw.label == plan.stronger), None)
    if plan.alike_within is None and stronger is None:
        return None
    return PlannedFinding(
        session_id=session_id, alike_within=plan.alike_within, stronger_id=stronger
    )


def _most_of_each(trays: Sequence[TrayGlass]) -> dict[Draw, int]:
    """Return how many glasses of a draw stand on one tray at the most."""
    most: dict[Draw, int] = {}
    for glass in trays:
        most[glass.draw] = max(most.get(glass.draw, 0), glass.replicate)
    return most


def _on_trays(session_id: int, trays: Sequence[TrayGlass]) -> list[PlannedServing]:
    return [
        PlannedServing(
            session_id=session_id,
            seat=glass.seat,
            draw_id=glass.draw.id,
            replicate=glass.replicate,
            flight=glass.flight,
        )
        for glass in trays
    ]


def _planned(
    session_id: int, parts: PlanParts, glasses: Mapping[Draw, int], *, in_turn: bool
) -> list[PlannedDraw]:
    """Return what is to be poured; a reference stands once here and once in every flight.

    `in_turn`: where nobody named one, every draw is the reference in some sets.
    """
    references = [] if parts.reference is None else [parts.reference]
    if in_turn and not references:
        references = list(parts.draws)
    served: list[tuple[Draw, GlassKind, int]] = [
        (draw, KINDS.get(draw.kind, GlassKind.TEST), glasses[draw]) for draw in parts.draws
    ]
    served += [(draw, GlassKind.REFERENCE, 1) for draw in references]
    if parts.warm_up is not None:
        served.append((parts.warm_up, GlassKind.WARM_UP, 1))
    return [
        PlannedDraw(session_id=session_id, draw_id=draw.id, kind=kind, place=place, glasses=glasses)
        for place, (draw, kind, glasses) in enumerate(served, start=1)
    ]
