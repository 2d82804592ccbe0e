"""The matters of the stock on a day, each by the rule that stands elsewhere for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from analysis.bars import Bar, Bars
from panel.frames.bars import bar_rules, state_bars
from panel.frames.contents import dry_stores, gauged_of
from panel.kinds import DrawKind, SessionStatus
from panel.questions.gauge_flags import GaugeFinding, gauge_findings
from panel.questions.loss_limits import loss_rules
from panel.questions.review.matters import Lies, Matter, Reason
from panel.questions.store_losses import store_losses, store_of, stores_that_lose
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import number_setting
from panel.store.key import PlannedDraw
from panel.store.nosed import nosed_by_filling
from panel.store.releases import Release, ReleasePart
from panel.store.sessions import PanelSession
from panel.store.stories import reserves_on

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.ageing import Window


@dataclass(frozen=True)
class Lying:
    """What lies in the casks, with all that its records hold against using it."""

    states: Sequence[FillingState]
    bars: Mapping[int, Bars]
    as_of: date

    def holds(self, state: FillingState, bar: Bar) -> bool:
        """Tell whether a bar holds of a filling."""
        return any(each.bar is bar for each in self.bars[state.filling_id])


def lying_on(db: Session, as_of: date) -> Lying:
    """Return what lies in the casks on a day."""
    rules = bar_rules(db)
    states = [each for each in filling_states(db, as_of) if each.emptied_on is None]
    return Lying(states, {each.filling_id: state_bars(each, rules) for each in states}, as_of)


def of_the_records(db: Session, lying: Lying) -> Iterator[Matter]:
    """Give what the records of the casks alone tell: no session, no target."""
    by_id = {state.filling_id: state for state in lying.states}
    yield from _from_bars(lying)
    yield from _from_gauges(db, lying, by_id)
    yield from _falling(db, lying)
    yield from _held_over(db, by_id, lying.as_of)


def lies_of(state: FillingState) -> Lies:
    """Return where a filling lies and what it is told with."""
    place = state.place
    return Lies(place.site, place.warehouse, place.row, place.tier, state.owner, state.parcel)


def _matter(reason: Reason, state: FillingState, stands: date, **told: Any) -> Matter:
    about = (reason, state.filling_id, state.label, state.cask, lies_of(state), stands)
    return Matter(*about, **told)


def _from_bars(lying: Lying) -> Iterator[Matter]:
    for state in lying.states:
        if state.leaking_since is not None and lying.holds(state, Bar.LEAKING):
            since = state.leaking_since
            yield _matter(Reason.LEAKS, state, since, weight=state.lpa, since=since)
        if lying.holds(state, Bar.TWO_FILLINGS):
            others = ", ".join(state.others)
            yield _matter(
                Reason.TWO_FILLINGS, state, state.filled_on, weight=state.lpa, about=others
            )
        if lying.holds(state, Bar.STRENGTH):
            on = state.gauge.on
            weight = -state.abv
            yield _matter(Reason.WEAK, state, on, weight=weight, on=on)


def _from_gauges(db: Session, lying: Lying, by_id: Mapping[int, FillingState]) -> Iterator[Matter]:
    """What the last gauge of each cask shows: an older one has been looked at, or gauged again."""
    rules = loss_rules(db)
    like = store_losses(lying.states, rules)
    for found in gauge_findings(lying.states, lying.states, rules, like=like):
        state = by_id[found.filling_id]
        if found.late == state.gauge:
            yield from _shown(found, state)
    losing = {each.store: each for each in stores_that_lose(like, more_percent=rules.more_percent)}
    for state in lying.states:
        if (store := losing.get(store_of(state))) is not None:
            yield _matter(
                *(Reason.STORE_LOSES, state, state.gauge.on),
                weight=state.lpa,
                percent_a_year=store.percent_a_year,
                own_percent_a_year=store.reckoned_percent_a_year,
                on=state.gauge.on,
            )


def _shown(found: GaugeFinding, state: FillingState) -> Iterator[Matter]:
    from analysis.strength import RegaugeFlag

    days: dict[str, Any] = {"since": found.early.on, "on": found.late.on}
    if found.contradiction is not None:
        yield _matter(Reason.CONTRADICTS, state, found.late.on, weight=state.lpa, **days)
    if found.check is None:
        return
    rate = found.check.evaporation.lpa_percent_a_year_compound
    if found.has(RegaugeFlag.LEAK) and not found.repaired and state.leaking_since is None:
        own = None if found.excess is None else max(found.excess.own_percent_a_year, 0.0)
        lost = (rate - (own or 0.0)) * state.lpa
        told: dict[str, Any] = {"percent_a_year": rate, "own_percent_a_year": own}
        yield _matter(Reason.LOSES, state, found.late.on, weight=lost, **told, **days)
    if found.has(RegaugeFlag.GAIN):
        yield _matter(
            *(Reason.GAINS, state, found.late.on), weight=-rate, percent_a_year=-rate, **days
        )


def _falling(db: Session, lying: Lying) -> Iterator[Matter]:
    legal = bar_rules(db).legal_abv_percent
    if legal is None or not lying.states:
        return
    from analysis.strength.falling import DAYS_A_MONTH, falls_under

    ahead = int(number_setting(db, "review_strength_months"))
    gauged = gauged_of(lying.states, dry_stores=dry_stores(db))
    falls = falls_under(gauged, legal, months=2 * ahead)

    def day(months: float) -> date | None:
        if months > 2 * ahead:
            return None
        return lying.as_of + timedelta(days=round(months * DAYS_A_MONTH))

    for row, state in enumerate(lying.states):
        months = float(falls.expected[row])
        if months > ahead or lying.holds(state, Bar.STRENGTH):
            continue
        yield _matter(
            *(Reason.FALLS, state, state.gauge.on),
            weight=-months,
            on=day(months),
            since=day(months) if months < 0.0 else None,
            earliest=day(float(falls.earliest[row])),
            latest=day(float(falls.latest[row])),
        )


def _held_over(db: Session, by_id: Mapping[int, FillingState], as_of: date) -> Iterator[Matter]:
    over = select(Filling.id, Filling.hold_reason, Filling.hold_until).where(
        Filling.hold_reason.is_not(None), Filling.hold_until < as_of
    )
    for filling_id, why, until in db.execute(over):
        if filling_id in by_id and until is not None:
            state = by_id[filling_id]
            late = float((as_of - until).days)
            yield _matter(Reason.HOLD_OVER, state, until, weight=late, about=why, on=until)


def of_the_plans(
    db: Session, lying: Lying, windows: Sequence[Window], soon: date
) -> Iterator[Matter]:
    """Give what is promised, ready or wanted, and the gauges that hang on that."""
    by_id = {state.filling_id: state for state in lying.states}
    planned = _planned(db, lying.as_of, by_id)
    yield from _not_taken(db, lying, by_id)
    nosed = nosed_by_filling(db, lying.as_of)
    wanted = {filling_id: name for filling_id, (name, _, _) in planned.items()}
    ready: set[int] = set()
    by_label = {state.label: state for state in lying.states}
    for window in _best(windows):
        state = by_label.get(window.filling)
        if state is None:
            continue
        wanted.setdefault(state.filling_id, window.target)
        if window.n_draws and _passes(window, lying.as_of, soon):
            ready.add(state.filling_id)
            yield _ready(window, state)
    for filling_id, about in wanted.items():
        state = by_id[filling_id]
        if filling_id not in nosed:
            yield _matter(Reason.NEVER_NOSED, state, state.filled_on, weight=state.lpa, about=about)
    hangs = set(planned) | ready
    for state in lying.states:
        if lying.holds(state, Bar.GAUGE):
            on_plan = state.filling_id in hangs or state.reserved_l or state.reserved_whole
            yield _matter(
                *(Reason.OLD_GAUGE if on_plan else Reason.OLD_GAUGES, state, state.gauge.on),
                weight=state.gauge_age_years,
                about=wanted.get(state.filling_id) if on_plan else None,
                years=state.gauge_age_years,
                on=state.gauge.on,
            )


def _planned(
    db: Session, as_of: date, by_id: Mapping[int, FillingState]
) -> dict[int, tuple[str, FillingState, date | None]]:
    """Which fillings a release that was proposed by a day, and had not taken them, is made of."""
    parts = select(ReleasePart.filling_id, Release).join(
        Release, Release.id == ReleasePart.release_id
    )
    return {
        filling_id: (release.name, by_id[filling_id], release.bottling_on)
        for filling_id, release in db.execute(parts)
        if filling_id in by_id and reserves_on(release, as_of)
    }


def _not_taken(db: Session, lying: Lying, by_id: Mapping[int, FillingState]) -> Iterator[Matter]:
    for name, state, on in _planned(db, lying.as_of, by_id).values():
        if on is not None and on < lying.as_of:
            late = float((lying.as_of - on).days)
            yield _matter(Reason.PROMISED, state, on, weight=late, about=name, on=on)
    due = lying.as_of + timedelta(days=int(number_setting(db, "draw_notice_days")))
    draws = (
        select(Draw.filling_id, PanelSession.name, PanelSession.held_on)
        .join(PlannedDraw, PlannedDraw.draw_id == Draw.id)
        .join(PanelSession, PanelSession.id == PlannedDraw.session_id)
        .where(
            Draw.kind == DrawKind.CASK,
            Draw.drawn_on.is_(None),
            PanelSession.status == SessionStatus.DRAFT,
            PanelSession.held_on <= due,
        )
    )
    for filling_id, name, on in db.execute(draws):
        if filling_id is not None and filling_id in by_id and on is not None:
            late = float((lying.as_of - on).days)
            state = by_id[filling_id]
            yield _matter(Reason.PROMISED, state, on, weight=late, about=f"session {name}", on=on)


def _best(windows: Sequence[Window]) -> list[Window]:
    """The window of each cask that it meets its target in best; none that never opens."""
    best: dict[str, Window] = {}
    for window in windows:
        chance = window.best_chance or 0.0
        if window.opens is None:
            continue
        if window.filling not in best or chance > (best[window.filling].best_chance or 0.0):
            best[window.filling] = window
    return list(best.values())


def _passes(window: Window, as_of: date, soon: date) -> bool:
    """Tell whether a window is open and closes before long; one that may go on does not."""
    if window.opens is None or window.closes is None or window.note is not None:
        return False
    return window.opens <= as_of <= window.closes <= soon


def _ready(window: Window, state: FillingState) -> Matter:
    return _matter(
        *(Reason.READY, state, state.gauge.on),
        weight=window.now_chance or 0.0,
        about=window.target,
        latest=window.closes,
    )
