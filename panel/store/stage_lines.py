"""Notes that are scored at each stage of a glass: the lines they make, and where each score lies.

The score at the stage that a descriptor belongs to in the lexicon is a score of that descriptor,
in every session alike: it is kept as such, and pools. What is scored at the other three stages is
an answer: no question for scores ever meets it, so that nothing of it pools.

Which notes are scored so is told by their place on the sheet, from `STAGED_FROM` on. In a booth a
line at another stage has a number below 0: that of its answer, negative.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.kinds import Stage
from panel.store.booth_tray import SPIT_S

if TYPE_CHECKING:
    from panel.store.sessions import PanelSession, SessionDescriptor

STAGED_FROM = 1000
"""From this place on a note of a sheet is scored at each stage; below, and everywhere else, once.
What is left above it is the place of the note among all of them."""
STAGES = tuple(Stage)
WHEN: dict[Stage, str] = {
    Stage.NOSE: "nosed, before any sip",
    Stage.ARRIVAL: "as the sip arrives in the mouth",
    Stage.DEVELOPMENT: "while the sip is held, up to spitting it",
    Stage.FINISH: "half a minute after it was spat",
}
LEAST_ML, MOST_ML = 5, 10
"""A sip that is held for ten seconds and spat."""


@dataclass(frozen=True)
class StageLine:
    """One line of the sheet: a note, and the stage it is scored at where that is one of four.

    `question` is the answer that its score is, None where it is a score of the descriptor.
    """

    row: SessionDescriptor
    stage: Stage
    staged: bool
    question: int | None

    @property
    def number(self) -> int:
        """The number of the line in a booth."""
        return self.row.descriptor_version_id if self.question is None else -self.question

    @property
    def name(self) -> str:
        """What stands on the sheet."""
        note = self.row.descriptor_version.descriptor.name
        return stage_name(note, self.stage) if self.staged else note

    @property
    def place(self) -> int:
        """By what the line is known wherever the session is nosed."""
        if self.question is None:
            return self.row.place
        return self.row.place + STAGED_FROM * (1 + STAGES.index(self.stage))


def stage_name(note: str, stage: Stage) -> str:
    """Return how a note at one stage is called."""
    return f"{note}, {stage.value}"


def is_staged(row: SessionDescriptor) -> bool:
    """Say whether a note of a sheet is scored at each stage."""
    return row.place >= STAGED_FROM


def order_of(row: SessionDescriptor) -> int:
    """Return where a note stands among all of its sheet, however it is scored."""
    return row.place % STAGED_FROM


def in_order(rows: Iterable[SessionDescriptor]) -> list[SessionDescriptor]:
    """Return the notes of a sheet in their order among all of it, however they are scored."""
    return sorted(rows, key=order_of)


def question_of(number: int, stage: Stage) -> int:
    """Return the question of a note at a stage, by the note's number among those by stages."""
    return 1 + number * len(STAGES) + STAGES.index(stage)


def staged_rows(rows: Iterable[SessionDescriptor]) -> list[SessionDescriptor]:
    """Return the notes that are scored at each stage, in their order."""
    return in_order(row for row in rows if is_staged(row))


def stage_lines(rows: Iterable[SessionDescriptor]) -> list[StageLine]:
    """Return the lines of a sheet in the order of a glass: all that is nosed, then the palate."""
    every = in_order(rows)
    staged = staged_rows(every)
    lines = [line for row in every for line in _lines_of(row, staged)]
    return sorted(lines, key=lambda line: (STAGES.index(line.stage), order_of(line.row)))


def _lines_of(row: SessionDescriptor, staged: list[SessionDescriptor]) -> Iterator[StageLine]:
    own = row.descriptor_version.stage
    if not is_staged(row):
        yield StageLine(row, own, False, None)
        return
    for stage in STAGES:
        question = None if stage is own else question_of(staged.index(row), stage)
        yield StageLine(row, stage, True, question)


def sheet_names(session: PanelSession) -> tuple[str, ...]:
    """Return the names of the lines that a sheet of the house's notes has, in its order."""
    if session.kind.facts.staged:
        return tuple(line.name for line in stage_lines(session.descriptors))
    return tuple(row.descriptor_version.descriptor.name for row in session.descriptors)


def told_of(session: PanelSession) -> str:
    """Return what everybody is told of a session's stages; nothing where it has none."""
    rows = staged_rows(session.descriptors) if session.kind.facts.staged else []
    return how_to_taste([row.descriptor_version.descriptor.name for row in rows]) if rows else ""


def how_to_taste(notes: Sequence[str]) -> str:
    """Return what everybody is told of notes by stages."""
    when = "; ".join(f"{stage.value} {WHEN[stage]}" for stage in STAGES)
    return (
        f"By stages: {', '.join(notes)}. {when[0].upper()}{when[1:]}. Nose first, then one sip of "
        f"{LEAST_ML} to {MOST_ML} mL, spat at {SPIT_S} s; nothing is swallowed. Whoever would "
        "rather not taste leaves those lines blank, and gives no reason."
    )
