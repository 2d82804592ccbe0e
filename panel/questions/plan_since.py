"""Reality beside a plan: what has become of the casks that were kept with it, one by one."""

from __future__ import annotations

import json
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from analysis.bar_words import sentence
from analysis.bars import Bar
from panel.figures import in_digits
from panel.frames.bars import state_bars
from panel.questions.agreed import agreed_then, not_agreed
from panel.questions.come_between import come_between
from panel.questions.plan_records import plan_record
from panel.questions.plan_settled import releases_of_plan
from panel.store.filling_states import filling_states

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from datetime import date

    from sqlalchemy.orm import Session

    from panel.questions.agreed import AgreedThen
    from panel.questions.stock_plans import PlanFound
    from panel.store.filling_states import FillingState
    from panel.store.releases import Release
    from panel.store.stock_plans import PlannedPart, StoredPlan


class Since(StrEnum):
    """What has become of a cask since it was kept in a plan."""

    GONE = "emptied"
    HELD = "on hold"
    RESERVED = "reserved for another release"
    LEAKS = "leaking"
    LESS = "holds less"
    WEAKER = "is of another strength"
    BARRED = "barred"


_WHAT = {None: Since.GONE, Bar.GONE: Since.GONE, Bar.HOLD: Since.HELD, Bar.LEAKING: Since.LEAKS}


@dataclass(frozen=True)
class CaskSince(AsJson):
    """One cask of a plan that is not as it was when the plan was kept."""

    cask: str
    release: str
    what: Since
    sentence: str


ODD_SHARE = 0.03
"""A cask that holds so much less than it did, beside what a year takes, is told of."""
ODD_ABV = 0.5
USUAL_LOSS_A_YEAR = 0.02


def changed_since(db: Session, plan: StoredPlan, *, as_of: date) -> tuple[CaskSince, ...]:
    """Return every cask kept with a plan that is not as it was then; empty where none is.

    A release that is proposed by now has its own casks: of these it tells until they are drawn.
    """
    proposed = releases_of_plan(db, plan_record(plan))
    of_proposed = [said for each in proposed for said in _of_proposed(db, each, as_of)]
    if plan.kept_on is None:
        return tuple(of_proposed)
    names = {one.place: one.name for one in plan.releases}
    settled = {each.name for each in proposed}
    casks = [part.filling.cask.number for part in plan.parts]
    states = {state.filling_id: state for state in filling_states(db, as_of, only_casks=casks)}
    agreed = agreed_then(json.loads(plan.found_json or "{}"))
    years = max((as_of - plan.kept_on).days / 365.25, 0.0)
    kept = [
        CaskSince(part.filling.cask.number, release, what, said)
        for part in sorted(plan.parts, key=lambda part: (part.place, part.filling.label))
        for release in [names.get(part.place, "a release that was taken out of the plan")]
        if release not in settled
        for what, said in _of_part(part, states.get(part.filling_id), release, years, agreed)
    ]
    return (*of_proposed, *kept)


def _of_proposed(db: Session, release: Release, as_of: date) -> Iterator[CaskSince]:
    """Casks that a release has reserved and that something came between by now."""
    for one in come_between(db, release, as_of):
        said = f"Of {release.name}, proposed: {one.sentence}"
        yield CaskSince(one.cask, release.name, _WHAT.get(one.bar, Since.BARRED), said)


def kept_otherwise(plan: StoredPlan, found: PlanFound) -> tuple[str, ...]:
    """Return the releases for which other casks are kept than an answer now shows.

    What is kept is what is proposed from the plan, until it is kept anew.
    """
    if plan.kept_on is None or found.changed:
        return ()
    names = {one.place: one.name for one in plan.releases}
    kept: dict[str, set[str]] = {}
    for part in plan.parts:
        kept.setdefault(names.get(part.place, ""), set()).add(part.filling.label)
    shown = {
        release.name: {part.filling for part in release.mixture.parts}
        for release in found.found.releases
        if release.mixture is not None
    }
    return tuple(name for name, casks in shown.items() if kept.get(name, casks) != casks)


def _of_part(
    part: PlannedPart,
    state: FillingState | None,
    release: str,
    years: float,
    agreed: Collection[AgreedThen],
) -> Iterator[tuple[Since, str]]:
    cask = part.filling.cask.number
    if state is None or state.emptied_on is not None:
        on = "" if state is None else f" on {state.emptied_on}"
        yield Since.GONE, f"Cask {cask}, meant for {release}, was emptied{on}."
        return

    for barred in not_agreed(cask, state_bars(state), agreed):
        yield _WHAT.get(barred.bar, Since.BARRED), sentence(f"{cask}, meant for {release},", barred)
    others = [name for name, _ in state.promised if name != release]
    if others:
        yield (
            Since.RESERVED,
            f"Cask {cask}, meant for {release}, is reserved for {', '.join(others)}.",
        )
    content = state.content_on(state.as_of)
    usual = part.held_l * (1.0 - USUAL_LOSS_A_YEAR) ** years
    if content.bulk_l < usual * (1.0 - ODD_SHARE):
        yield (
            Since.LESS,
            f"Cask {cask}, meant for {release}, holds {content.bulk_l:.0f} L by its last gauge; "
            f"{part.held_l:.0f} L lay in it when the plan was kept.",
        )
    if abs(content.abv - part.abv) > ODD_ABV + years:
        yield (
            Since.WEAKER,
            f"Cask {cask}, meant for {release}, has {in_digits(content.abv, '.1f')} % vol; it had "
            f"{in_digits(part.abv, '.1f')}.",
        )
