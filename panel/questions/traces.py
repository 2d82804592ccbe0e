"""What traced sessions found: whether a note bursts or lingers, and in which sample more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from analysis.as_json import keys_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.agreement.verdict.words import Verdict
    from analysis.traces import CourseWord, Traces, TraceWord


@dataclass(frozen=True)
class TracesFound:
    """A note over a minute, as a revealed session tells it. Nothing in it is private."""

    result: Traces

    json_keys = (("result", "**"),)
    json_sometimes = ()

    @property
    def verdicts(self) -> tuple[Verdict[CourseWord | TraceWord], ...]:
        """What is said of pairs of samples, then of each sample; first what differs."""
        told: list[Verdict[CourseWord | TraceWord]] = []
        told += [pair.verdict for pair in sorted(self.result.pairs, key=lambda one: not one.differ)]
        told += [one.verdict for one in self.result.samples]
        return tuple(told)

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values."""
        return keys_of(self)


def traces_found(db: Session, name: str) -> TracesFound:
    """Return how the note of a traced session goes in each of its samples.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not revealed yet: which glasses are one sample is told by the key.
    """
    from analysis.traces import assess_traces
    from panel.frames.traces import traced_session, traces_frame
    from panel.questions.sets import note_of

    note = note_of(traced_session(db, name)) or ""
    return TracesFound(assess_traces(traces_frame(db, name), session=name, note=note))
