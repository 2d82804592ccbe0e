"""Notes and people of a session as one list, with what is said of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.agreement_signs import with_sessions
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.figures import in_digits

if TYPE_CHECKING:
    from enum import StrEnum

    from analysis.agreement import Agreement, AssessorAgreement, Verdict


@dataclass(frozen=True)
class Judged:
    """What is said of one descriptor or one assessor, in the order of the page."""

    place: int
    about: str
    name: str
    verdict: Verdict[StrEnum]
    figure: str
    sentence: str


COLUMNS: tuple[Column[Judged], ...] = (
    Column("About", 10, lambda j: j.about, lambda j: j.place),
    Column("Name", 18, lambda j: j.name),
    Column("Verdict", 28, lambda j: j.verdict.label),
    Column("Figure", 20, lambda j: j.figure, stretch=True),
)


class JudgedTable(BigTable[Judged]):
    """Descriptors first, then assessors, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


def judged(result: Agreement) -> Iterator[Judged]:
    """Yield the descriptors, then the assessors."""
    for place, note in enumerate(result.descriptors):
        figure = _reliability(note.reliability, note.reliability_low)
        said = with_sessions(note)
        yield Judged(place, "descriptor", note.descriptor, note.verdict, figure, said)
    for place, person in enumerate(result.assessors, len(result.descriptors)):
        said = with_sessions(person)
        figure = _closeness(person)
        yield Judged(place, "assessor", person.assessor, person.verdict, figure, said)


def _reliability(value: float | None, low: float | None) -> str:
    from panel.words.answers import share

    if value is None:
        return ""
    least = "" if low is None else f" (≥ {in_digits(low, '.2f')})"
    return f"reliability {share(value)}{least}"


def _closeness(person: AssessorAgreement) -> str:
    if person.signal_share is not None:
        return f"signal share {in_digits(person.signal_share, '.2f')}"
    return (
        ""
        if person.correlation is None
        else (f"with others {in_digits(person.correlation, '.2f')}")
    )
