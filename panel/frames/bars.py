"""What the records hold against each filling: the facts of the store put to `analysis.bars`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sqlalchemy.orm import Session

from analysis.bars import BarRules, Bars, FillingFacts, Marks, bars_of
from panel.kinds import RuleKind
from panel.made_at_once import made_at_once
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import number_setting
from panel.store.rules import rules_in_force, strictest


def bar_rules(db: Session) -> BarRules:
    """Return what the law in force and the house ask of any filling."""
    least = strictest(rules_in_force(db), RuleKind.MINIMUM_STRENGTH)
    return BarRules(
        legal_abv_percent=least.value if least else None,
        gauge_most_years=number_setting(db, "regauge_old_years"),
    )


def state_bars(
    state: FillingState,
    rules: BarRules | None = None,
    *,
    weak_from: date | None = None,
    used_on: date | None = None,
) -> Bars:
    """Return all that the records hold against a filling.

    `weak_from` is when it falls under the legal strength (`panel.frames.contents`), `used_on` the
    day it is wanted for.
    """
    return bars_of(facts_of(state, weak_from=weak_from, used_on=used_on), rules)


def facts_of(
    state: FillingState, *, weak_from: date | None = None, used_on: date | None = None
) -> FillingFacts:
    """Return what bears on whether a filling may be used."""
    return made_at_once(
        FillingFacts,
        bulk_litres=state.bulk_l,
        abv_percent=state.abv if state.abv_certain else None,
        gone=state.emptied_on is not None,
        gone_on=state.emptied_on,
        others=state.others,
        leaking=state.leaking_since is not None,
        leaking_since=state.leaking_since,
        on_hold=state.hold_reason is not None,
        hold_reason=state.hold_reason,
        marks=tuple(Marks(each.faults, each.n_assessors, each.session) for each in state.marks),
        topped_on=state.topped_on,
        nosed_before_topping=state.nosed_before_topping,
        owner=state.owner,
        gauge_age_years=state.gauge_age_years,
        never_gauged=state.never_gauged,
        reserved_litres=state.reserved_l or 0.0,
        reserved_whole=state.reserved_whole,
        reserved_for=tuple(name for name, _ in state.promised),
        weak_from=weak_from,
        used_on=used_on,
    )


def bars_by_filling(
    db: Session,
    as_of: date,
    *,
    only_casks: Sequence[str] | None = None,
    besides_release: str | None = None,
) -> dict[str, tuple[FillingState, Bars]]:
    """Return by label every filling that is in its cask, with all that is held against it.

    `only_casks` and `besides_release` are as for `filling_states`.
    """
    rules = bar_rules(db)
    states = filling_states(db, as_of, only_casks=only_casks, besides_release=besides_release)
    return {
        state.label: (state, state_bars(state, rules))
        for state in states
        if state.emptied_on is None
    }
