"""The register of samples: litres of pure alcohol drawn, why, and what became of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import func, select, union

from panel.clock import site_date
from panel.kinds import KEY_IS_SECRET, SessionStatus
from panel.records.register import IN_REGISTER, says_too_little, untold_draws
from panel.session.liquids import liquids_of, strength_in_cask
from panel.session.volumes import Volume
from panel.store.casks import Filling
from panel.store.draws import Draw, RegisterReversal
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import number_setting, read_setting
from panel.store.key import KeyRow, PlannedDraw
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class RegisterLine:
    """What one cask gave for one sample.

    `lpa` is None where volume or strength is not on record; `lpa_reason` then says which.
    `bottle_ml` is the whole sample after water, if it was reduced, `poured_ml` what sessions took
    of it and `left_ml` what is there to pour: the figures that a plan goes by, but for sessions
    whose key is secret.
    """

    drawn_on: date | None
    sample: str
    kind: str
    cask: str
    filling: str
    millilitres: float | None
    abv_percent: float | None
    lpa: float | None
    lpa_reason: str | None
    reason: str | None
    fate: str | None
    reduced_to_percent: float | None
    bottle_ml: float | None
    poured_ml: float
    left_ml: float | None


@dataclass(frozen=True)
class ReversedLine:
    """A line as it stood, and when, by whom and why it was reversed.

    `of_sample` counts the reversals of one sample: it names the line that was reversed. `lpa` is
    that of the line as it stood, None where it had none.
    """

    reversed_on: date
    sample: str
    of_sample: int
    cask: str
    drawn_on: date | None
    millilitres: float | None
    lpa: float | None
    reason: str | None
    fate: str | None
    because: str
    by: str


@dataclass(frozen=True)
class Register:
    """All samples of a time."""

    first: date | None
    last: date | None
    lines: tuple[RegisterLine, ...]
    not_counted: tuple[str, ...] = ()
    """Sessions that are not revealed yet: what they poured would tell their key."""
    reversals: tuple[ReversedLine, ...] = ()
    """Lines that stood before and were reversed, oldest first; `lines` are those that stand."""

    json_keys = (
        *(("first", "from"), ("last", "to"), "lpa", "lines_without_lpa"),
        *(("open_lines", "lines_without_reason_or_fate"), "lines", "not_counted"),
        "reversals",
    )

    @property
    def lpa(self) -> float:
        """Litres of pure alcohol in all lines that have them."""
        return sum(line.lpa for line in self.lines if line.lpa is not None)

    @property
    def open_lines(self) -> int:
        """Lines of which nobody has said why or what became of them."""
        return sum(line.reason is None or line.fate is None for line in self.lines)

    @property
    def lines_without_lpa(self) -> int:
        """Lines whose alcohol is not known."""
        return sum(line.lpa is None for line in self.lines)


def sample_register(
    db: Session, *, first: date | None = None, last: date | None = None, as_of: date
) -> Register:
    """Return what was drawn from casks between two days, both counted in."""
    states = {state.filling_id: state for state in filling_states(db, as_of)}
    query = select(Draw).where(Draw.kind.in_(IN_REGISTER))
    draws = [draw for draw in db.scalars(query) if _within(draw.drawn_on, first, last)]
    draws.sort(key=lambda draw: (draw.drawn_on or date.min, draw.label))
    bottles = liquids_of(db, draws, as_of, only_revealed=True)
    known = _Known(states, as_of, number_setting(db, "regauge_old_years"))
    by_draw = {draw.id: _lines(draw, known, bottles[draw.id].volume) for draw in draws}
    lines = tuple(line for lines in by_draw.values() for line in lines)
    reversals = tuple(_reversals(db, by_draw))
    return Register(first, last, lines, _secret_sessions(db), reversals)


def _reversals(
    db: Session, by_draw: Mapping[int, Sequence[RegisterLine]]
) -> Iterator[ReversedLine]:
    zone = str(read_setting(db, "time_zone"))
    asked = select(RegisterReversal).order_by(RegisterReversal.reversed_at, RegisterReversal.id)
    counted: Counter[int] = Counter()
    for each in db.scalars(asked):
        counted[each.draw_id] += 1
        for line in by_draw.get(each.draw_id, ()):
            # Of a blend the amounts are those of its parts, which no reversal changes.
            ml = each.millilitres if each.draw.filling_id is not None else line.millilitres
            strength = line.abv_percent
            known = ml is not None and strength is not None
            yield ReversedLine(
                reversed_on=site_date(each.reversed_at, zone),
                sample=line.sample,
                of_sample=counted[each.draw_id],
                cask=line.cask,
                drawn_on=line.drawn_on,
                millilitres=ml,
                lpa=(ml or 0.0) * (strength or 0.0) / 100_000.0 if known else None,
                reason=each.reason,
                fate=each.fate,
                because=each.because,
                by=each.by_code,
            )


@dataclass(frozen=True)
class Untold:
    """A sample of a session of which it is not on record why it was drawn, or what became of it."""

    sample: str
    reason: str | None
    fate: str | None


def untold_samples(db: Session, session: str) -> tuple[Untold, ...]:
    """Return the samples poured in a session that say too little, by name; not which is which code.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    found = untold_draws(db, session)
    return tuple(Untold(draw.label, draw.reason, draw.fate) for draw in found)


def sessions_untold(db: Session) -> list[tuple[str, int]]:
    """Return the sessions that are over and have such samples, the newest first, and how many."""
    over = PanelSession.status.in_((SessionStatus.CLOSED, SessionStatus.REVEALED))
    poured = union(
        select(PlannedDraw.session_id, PlannedDraw.draw_id),
        select(KeyRow.session_id, KeyRow.draw_id),
    ).subquery()
    counted = (
        select(PanelSession.name, func.count(Draw.id))
        .join(poured, poured.c.session_id == PanelSession.id)
        .join(Draw, Draw.id == poured.c.draw_id)
        .where(over, *says_too_little())
        .group_by(PanelSession.id, PanelSession.name, PanelSession.held_on)
        .order_by(PanelSession.held_on.desc(), PanelSession.id.desc())
    )
    return [(name, count) for name, count in db.execute(counted)]


def _secret_sessions(db: Session) -> tuple[str, ...]:
    pouring = set(KEY_IS_SECRET) - {SessionStatus.DRAFT}
    held = select(PanelSession.name).where(PanelSession.status.in_(pouring))
    return tuple(db.scalars(held.order_by(PanelSession.id)))


@dataclass(frozen=True)
class _Known:
    states: dict[int, FillingState]
    as_of: date
    old_from_years: float

    def strength(self, draw: Draw, filling_id: int) -> float | None:
        """Of a cask when it was drawn from."""
        if filling_id not in self.states:
            return None
        day = draw.drawn_on or self.as_of
        state = self.states[filling_id]
        return strength_in_cask(state, day, self.as_of, self.old_from_years).abv_percent


def _within(day: date | None, first: date | None, last: date | None) -> bool:
    if day is None:
        return first is None and last is None
    return (first is None or day >= first) and (last is None or day <= last)


def _lines(draw: Draw, known: _Known, volume: Volume) -> list[RegisterLine]:
    parts = [(part.filling, part.millilitres) for part in draw.parts]
    whole = [(draw.filling, draw.volume_ml)] if draw.filling is not None else parts
    return [_line(draw, filling, ml, known, volume) for filling, ml in whole]


def _line(
    draw: Draw, filling: Filling, millilitres: float | None, known: _Known, volume: Volume
) -> RegisterLine:
    measured = draw.abv if draw.filling is not None else None
    strength = measured if measured is not None else known.strength(draw, filling.id)
    why = None
    if millilitres is None:
        why = "no volume is on record"
    elif strength is None:
        why = "no strength is on record"
    lpa = None if why else (millilitres or 0.0) * (strength or 0.0) / 100_000.0
    return RegisterLine(
        drawn_on=draw.drawn_on,
        sample=draw.label,
        kind=draw.kind.value,
        cask=filling.cask.number,
        filling=filling.label,
        millilitres=millilitres,
        abv_percent=strength,
        lpa=lpa,
        lpa_reason=why,
        reason=draw.reason,
        fate=draw.fate,
        reduced_to_percent=draw.reduced_to,
        bottle_ml=volume.made_ml,
        poured_ml=volume.poured_ml,
        left_ml=volume.left_ml,
    )
