"""A plan of the stock put to the solver over the years, and one change beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.errors import EntriesAtFault, OakpanelError
from panel.questions.plan_changes import (
    NO_CHANGE,
    PlanChange,
    ReleaseMoved,
    change_faults,
    change_words,
    changed_record,
    moves_between,
    unused_casks,
)
from panel.questions.plan_question import plan_question
from panel.questions.plan_records import PlanRecord, plan_record, stored_plan
from panel.questions.plan_settled import (
    in_other_plans,
    settled_litres,
    settled_releases,
    taken_names,
)
from panel.records.plan_limits import release_asks
from panel.store.rules import rule_books

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.stock_plan import StockPlan

SECONDS = 180.0


@dataclass(frozen=True)
class PlanFound(AsJson):
    """What the solver found for a plan of the house.

    Attributes
    ----------
    changed
        What was changed of the plan as recorded, in words; empty where nothing was.
    moves
        What that does, release by release; only those that move. None are told where
        `moves_known` is not set: one of the two searches was cut short, so that what differs
        between them need not be owed to the change.
    unused
        Casks of the change that the plan as recorded does not use: held, they take nothing from it.
    nearer_anew
        Whether planning the change anew, and not from the last plan, may find a nearer one.
    checks
        What to know besides: rules of law, what was not foretold.
    whole
        What holds for the plan as a whole, as it is recorded.
    kept_bottles
        By release, bottles that are retained or the house's own; what each comes to is less them.
    settled
        Releases of the plan that were proposed since, with the step they stand at: their casks are
        theirs, and are chosen no more.
    """

    plan: str
    found: StockPlan
    changed: tuple[str, ...] = ()
    moves: tuple[ReleaseMoved, ...] = ()
    checks: tuple[str, ...] = ()
    kept_bottles: Mapping[str, int] = field(default_factory=dict)
    settled: Mapping[str, str] = field(default_factory=dict)
    nearer_anew: bool = False
    whole: str | None = None
    moves_known: bool = True
    unused: tuple[str, ...] = ()

    json_keys = (
        *(("found", "**"), "plan", "changed", "moves", "nearer_anew", "checks", "kept_bottles"),
        *("settled", "moves_known", "unused", "whole"),
    )


def house_plan(
    db: Session,
    name: str,
    *,
    as_of: date,
    change: PlanChange = NO_CHANGE,
    seconds: float = SECONDS,
    profile: Profile | None = None,
) -> PlanFound:
    """Choose casks for every release of a plan, each spent once; or see what one change moves.

    Raises
    ------
    UnknownRecord
        There is no such plan.
    EntriesAtFault
        The change names what is not there, or cannot be made; every fault is told.
    OakpanelError
        A rule in force forbids what is asked, or the plan has no release.
    LimitsError
        What is asked cannot be tried; every fault is told.
    """
    from panel.questions.profile import house_profile

    plan = stored_plan(db, name)
    whole = plan_record(plan)
    if not whole.lines:
        raise OakpanelError(f"Plan {name!r} has no release yet: give it one first.")
    settled = settled_releases(db, whole)
    if faults := change_faults(db, whole, change, as_of=as_of):
        raise EntriesAtFault(faults)
    record = replace(
        whole, lines=tuple(line for line in whole.lines if line.release not in settled)
    )
    if not record.lines:
        raise OakpanelError(
            f"Every release of plan {name!r} is proposed or further: {', '.join(settled)}."
        )
    taken = settled_litres(db, whole)
    known = profile or house_profile(db, as_of=as_of)
    found = _solved(db, record, as_of=as_of, seconds=seconds, profile=known, taken=taken)
    checks = (*taken_names(db, whole), *in_other_plans(db, whole), *found.checks)
    found = replace(found, settled=settled, checks=checks, whole=whole.limits)
    if not change:
        return found
    open_yet = found.found.unfinished  # a search to its end might use what this one does not
    unused = () if open_yet else unused_casks(record, found.found, change)
    told = replace(found, changed=tuple(change_words(change)), unused=unused)
    if not change.without(unused):
        return told  # nothing is taken from the plan, so it stands
    changed = changed_record(record, change)
    begin = None if change.anew else found
    after = _solved(
        *(db, changed),
        as_of=as_of,
        seconds=seconds,
        profile=known,
        taken=taken,
        change=change,
        begin=begin,
    )
    compared = not (found.found.unfinished or after.found.unfinished)
    moves = moves_between(found.found, after.found, anew=change.anew) if compared else []
    return replace(
        told,
        found=after.found,
        kept_bottles=after.kept_bottles,
        moves=tuple(moves),
        moves_known=compared,
        nearer_anew=compared and not change.anew and after.found.wide,
    )


class _EndedEarly(Exception):
    """A search that was stopped, with the best it had."""

    def __init__(self, found: PlanFound) -> None:
        super().__init__()
        self.found = found


def _solved(
    db: Session,
    record: PlanRecord,
    *,
    as_of: date,
    seconds: float,
    profile: Profile,
    taken: Mapping[int, float],
    change: PlanChange = NO_CHANGE,
    begin: PlanFound | None = None,
) -> PlanFound:
    from panel.frames import target_of
    from panel.kept.answers import kept_answer
    from panel.kept.stock_records import stock_state
    from panel.questions.mixing_rules import mixing_rule

    def reckoned() -> PlanFound:
        from analysis.stock_plan import Ended, plan_stock

        question, checks = plan_question(
            *(db, record), as_of=as_of, profile=profile, taken=taken, change=change
        )
        solved = plan_stock(question, seconds=seconds, begin=None if begin is None else begin.found)
        kept = {line.release: release_asks(line.limits)[0].kept_bottles for line in record.lines}
        kept = {name: bottles for name, bottles in kept.items() if bottles}
        found = PlanFound(record.plan, solved, checks=checks, kept_bottles=kept)
        if solved.ended is Ended.STOPPED:
            raise _EndedEarly(found)
        return found

    targets = sorted({line.target for line in record.lines})
    try:
        return kept_answer(
            db,
            "stock plan",
            options=[
                *(as_of, repr(replace(record, kept_on=None)), repr(change), seconds),
                *([repr(dict(taken))] if taken else []),
            ],
            reads=lambda: (
                stock_state(db, as_of),
                repr(mixing_rule(db)),
                repr(rule_books(db)),
                repr([target_of(db, each) for each in targets]),
            ),
            reckon=reckoned,
            profile=profile,
        )
    except _EndedEarly as early:  # what somebody stopped is no answer for the next who asks
        return early.found
