"""The register of samples: litres of pure alcohol drawn, why, and what became of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from panel.kinds import DrawKind
from panel.store.draws import Draw
from panel.store.filling_states import filling_states

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class RegisterLine:
    """What one cask gave for one sample.

    `lpa` is None where volume or strength is not on record; `lpa_reason` then says which.
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


@dataclass(frozen=True)
class Register:
    """All samples of a time."""

    first: date | None
    last: date | None
    lines: tuple[RegisterLine, ...]

    json_keys = (
        *(("first", "from"), ("last", "to"), "lpa", "lines_without_lpa"),
        *(("open_lines", "lines_without_reason_or_fate"), "lines"),
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
    strengths = {state.filling_id: state.abv for state in filling_states(db, as_of)}
    query = select(Draw).where(Draw.kind.in_([DrawKind.CASK, DrawKind.TRIAL]))
    draws = [draw for draw in db.scalars(query) if _within(draw.drawn_on, first, last)]
    draws.sort(key=lambda draw: (draw.drawn_on or date.min, draw.label))
    lines = [line for draw in draws for line in _lines(draw, strengths)]
    return Register(first, last, tuple(lines))


def _within(day: date | None, first: date | None, last: date | None) -> bool:
    if day is None:
        return first is None and last is None
    return (first is None or day >= first) and (last is None or day <= last)


def _lines(draw: Draw, strengths: dict[int, float]) -> list[RegisterLine]:
    if draw.filling is not None:
        return [_line(draw, draw.filling, draw.volume_ml, draw.abv, strengths)]
    return [_line(draw, part.filling, part.millilitres, None, strengths) for part in draw.parts]


def _line(
    draw: Draw, filling: Any, millilitres: float | None, abv: float | None, known: dict[int, float]
) -> RegisterLine:
    strength = abv if abv is not None else known.get(filling.id)
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
    )
